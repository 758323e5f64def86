"""Numbers from print, and the planning assumptions, each with its source.

``trust`` says how far a number may be believed: ``"print"`` was read in the document, ``"restated"`` was read in
somebody else's restatement, ``"memory"`` is remembered and not checked in print, ``"computed"`` follows from
other constants, ``"practice"`` is common practice with no published source, ``"assumption"`` is a planning
assumption of this project that the incident file may change.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Trust = Literal["print", "restated", "memory", "computed", "practice", "assumption"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from."""

    title: str
    year: int | None
    locator: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Constant:
    """One number, its SI unit and its source."""

    value: float
    unit: str
    source: Source


_ICAO = Source("ICAO Doc 7488/3, Manual of the ICAO Standard Atmosphere", 1993, "section 2", "memory")
_SP811 = Source("NIST SP 811, Guide for the Use of the SI", 2008, "Appendix B", "memory")

# --- the standard atmosphere ---------------------------------------------------------------------------------
T0_K: Final = Constant(288.15, "K", _ICAO)
P0_PA: Final = Constant(101325.0, "Pa", _ICAO)
RHO0_KG_M3: Final = Constant(1.225, "kg/m3", _ICAO)
G0_M_S2: Final = Constant(9.80665, "m/s2", _ICAO)
R_AIR_J_KG_K: Final = Constant(287.05287, "J/(kg K)", _ICAO)
LAPSE_K_M: Final = Constant(0.0065, "K/m", _ICAO)
DRY_LAPSE_K_M: Final = Constant(
    0.0098, "K/m", Source("dry adiabatic lapse rate g/cp of dry air, rounded", None, "9.8 K/km", "memory")
)

WATER_AIR_MASS_RATIO: Final = Constant(
    0.62198, "1", Source("molar masses of water 18.0153 and dry air 28.9644 g/mol", 1976, "their ratio", "memory")
)

# --- units ---------------------------------------------------------------------------------------------------
FT_M: Final = Constant(0.3048, "m", _SP811)
US_SURVEY_FT_M: Final = Constant(1200 / 3937, "m", _SP811)
NM_M: Final = Constant(1852.0, "m", _SP811)
LB_KG: Final = Constant(0.45359237, "kg", _SP811)
US_GAL_L: Final = Constant(3.785411784, "L", _SP811)
IMP_GAL_L: Final = Constant(4.54609, "L", _SP811)
INHG_PA: Final = Constant(3386.389, "Pa", _SP811)

# --- liquids -------------------------------------------------------------------------------------------------
FRESH_WATER_KG_L: Final = Constant(
    0.9991, "kg/L", Source("IAPWS-95 density of water at 15 degC", 1995, "as tabulated in the CRC Handbook", "memory")
)
SEA_WATER_KG_L: Final = Constant(
    1.025, "kg/L", Source("usual mean density of surface sea water", None, "1025 kg/m3", "memory")
)

# --- the magnetic field --------------------------------------------------------------------------------------
_WMM = Source("The US/UK World Magnetic Model for 2025-2030, technical report", 2025, "warning zones", "print")
MAGNETIC_BLACKOUT_NT: Final = Constant(2000.0, "nT", _WMM)
MAGNETIC_CAUTION_NT: Final = Constant(6000.0, "nT", _WMM)

# --- rules ---------------------------------------------------------------------------------------------------
RESERVE_S: Final = Constant(1200.0, "s", Source("14 CFR 91.151(b), VFR fuel, rotorcraft", 2026, "20 minutes", "print"))

_FAR77 = Source("14 CFR 77.23, heliport imaginary surfaces", 2026, "civil approach surface", "print")
SURFACE_SLOPE: Final = Constant(0.125, "1", _FAR77)
SURFACE_LENGTH_M: Final = Constant(4000.0 * 0.3048, "m", _FAR77)
SURFACE_END_WIDTH_M: Final = Constant(500.0 * 0.3048, "m", _FAR77)
SIDE_SLOPE: Final = Constant(0.5, "1", _FAR77)
SIDE_LENGTH_M: Final = Constant(250.0 * 0.3048, "m", _FAR77)

_ANNEX14 = Source("ICAO Annex 14 Volume II, Table 4-1", 2013, "slope categories A, B and C", "memory")
ICAO_A_SLOPE: Final = Constant(0.045, "1", _ANNEX14)
ICAO_A_LENGTH_M: Final = Constant(3386.0, "m", _ANNEX14)
ICAO_B_SLOPE: Final = Constant(0.08, "1", _ANNEX14)
ICAO_B_BEND_M: Final = Constant(245.0, "m", _ANNEX14)
ICAO_B_SLOPE_BEYOND: Final = Constant(0.16, "1", _ANNEX14)
ICAO_B_LENGTH_M: Final = Constant(1075.0, "m", _ANNEX14)
ICAO_C_SLOPE: Final = Constant(0.125, "1", _ANNEX14)
ICAO_C_LENGTH_M: Final = Constant(1220.0, "m", _ANNEX14)
ICAO_DIVERGENCE: Final = Constant(0.10, "1", _ANNEX14)
ICAO_OUTER_ROTORS: Final = Constant(7.0, "1", _ANNEX14)
OBSTACLE_M: Final = Constant(
    18 * 0.0254,
    "m",
    Source("US Army helicopter-landing-zone material", None, "18 in high is an obstacle; print not seen", "memory"),
)

_SAFETY_CIRCLE = Source("NWCG 6 Minutes for Safety, helicopter landing zone selection", None, "safety circle", "print")
HOVER_CIRCLE_TYPE_1_M: Final = Constant(110 * 0.3048, "m", _SAFETY_CIRCLE)
HOVER_CIRCLE_TYPE_2_M: Final = Constant(90 * 0.3048, "m", _SAFETY_CIRCLE)
HOVER_CIRCLE_TYPE_3_M: Final = Constant(75 * 0.3048, "m", _SAFETY_CIRCLE)

_LZ_WIND = Source("USMC ground-combat-element reference, landing-zone section", None, "wind limits", "restated")
TAILWIND_M_S: Final = Constant(5 * 1852 / 3600, "m/s", _LZ_WIND)


def _assumed(why: str) -> Source:
    return Source("planning assumption of this project", 2026, why, "assumption")


CROSSWIND_M_S: Final = Constant(15 * 1852 / 3600, "m/s", _assumed("steady crosswind on the chosen course"))
SHORE_CLEARANCE_M: Final = Constant(10.0, "m", _assumed("dip point to the nearest shore or island"))
ROTOR_MARGIN_M: Final = Constant(5.0, "m", _assumed("hook and rotor above the highest thing in the hover circle"))
LOAD_MARGIN_M: Final = Constant(5.0, "m", _assumed("bucket bottom above everything in the corridor"))
WIRE_MARGIN_M: Final = Constant(10.0, "m", _assumed("bucket bottom above a wire, which sways, sags and is hard to see"))
CORRIDOR_START_M: Final = Constant(15.0, "m", _assumed("half-width of the corridor at the dip point"))
CORRIDOR_SPREAD: Final = Constant(
    0.10, "1", Source("ICAO Annex 14 Volume II, Table 4-1", 2013, "divergence 10 % by day", "memory")
)
LEAST_LIFT_M: Final = Constant(3.0, "m", _assumed("bucket bottom above the water before moving off"))
LIFT_LIMIT_M: Final = Constant(60.0, "m", _assumed("highest vertical lift before moving off"))
ONE_WAY_SECTOR_DEG: Final = Constant(60.0, "deg", _assumed("one open sector this wide or less is a one-way site"))
HEADWIND_WORTH_S: Final = Constant(0.1, "s per m/s", _assumed("breaks ties between equal courses, into wind first"))
CRUISE_CLEARANCE_M: Final = Constant(45.0, "m", _assumed("bucket bottom over everything en route"))
KEEP_APART_M: Final = Constant(
    150.0, "m", _assumed("between the loaded and the empty leg when more than one helicopter flies")
)
DROP_HEIGHT_M: Final = Constant(
    15.0,
    "m",
    Source(
        "USFS MTDC ground-pattern tests 0057-2829 and others", 2000, "flown at 25 to 120 ft, bucket bottom", "print"
    ),
)
LATERAL_CLEARANCE_M: Final = Constant(60.0, "m", _assumed("sideways distance to anything that stands up, en route"))
WIRE_DETOUR_M: Final = Constant(400.0, "m", _assumed("longer way accepted for one wire crossing less"))
CORRIDOR_LENGTH_M: Final = Constant(
    1220.0, "m", Source("ICAO Annex 14 Volume II, Table 4-1", 2013, "slope category C, 1220 m", "memory")
)
HOVER_MARGIN_SHARE: Final = Constant(
    0.10, "1", _assumed("of the payload kept in hand; EU construction lifts keep a tenth of the sling capacity")
)
SCORE_WEIGHT: Final = Constant(25.0, "1", _assumed("the four criteria weigh the same"))
LINE_MASS_KG_M: Final = Constant(0.8, "kg/m", _assumed("mass of a long line when the incident file does not say"))
LINE_SETTLE_S_M: Final = Constant(0.2, "s/m", _assumed("time each metre of line adds to a fill"))
TREND_S: Final = Constant(
    7200.0, "s", Source("ICAO Annex 3", None, "6.3.1, a trend forecast holds for two hours", "memory")
)
REPORT_AGE_S: Final = Constant(7200.0, "s", _assumed("a weather report further from the plan's time is flagged"))
SEARCH_RADIUS_M: Final = Constant(12000.0, "m", _assumed("search radius round the drops"))
SEARCH_KEEP: Final = Constant(40.0, "1", _assumed("sites assessed in full"))
REFUEL_S: Final = Constant(720.0, "s", _assumed("landing, refuelling and lifting off again"))

# --- layers --------------------------------------------------------------------------------------------------
CELLS_AT_MOST: Final = Constant(16e6, "1", _assumed("cells of the working grid, performance bar of this project"))
CELL_AT_MOST_M: Final = Constant(30.0, "m", _assumed("cell of the working grid over coarse elevation"))
EXTENT_MARGIN_M: Final = Constant(500.0, "m", _assumed("ground read beyond the search radius and the corridor"))
BASE_MARGIN_M: Final = Constant(2000.0, "m", _assumed("ground read round the base"))
HIGHEST_GROUND_M: Final = Constant(
    8849.0, "m", Source("height of Mount Everest, 2020 survey, rounded up", 2020, "8848.86 m", "memory")
)
TALLEST_TREE_M: Final = Constant(
    116.0, "m", Source("height of the tallest known living tree, a coast redwood", 2019, "116 m", "memory")
)
LEVEL_SPREAD_M: Final = Constant(3.0, "m", _assumed("ground inside still water that strays more than this slopes"))
WIRE_HALF_WIDTH_M: Final = Constant(10.0, "m", _assumed("conductors and mapping error beside a wire's mapped line"))
POINT_ACCURACY_M: Final = Constant(20.0, "m", _assumed("place of an obstacle whose accuracy nobody states"))
CATENARY_REACH_M: Final = Constant(300.0, "m", _assumed("half a long span, round the one point an obstacle file gives"))
AVOID_DISTANCE_M: Final = Constant(30.0, "m", _assumed("sideways from a road or a point that gives no distance"))
STOREY_M: Final = Constant(4.0, "m", _assumed("a storey of a building that gives its levels only"))
ROOF_M: Final = Constant(6.0, "m", _assumed("what stands above a building's top storey"))
OBSTACLE_FILE_DAYS: Final = Constant(
    56.0,
    "d",
    Source("FAA Digital Obstacle File read-me, as restated by public parsers", 2019, "56-day cycle", "restated"),
)

# cautious heights above ground for what is mapped without one, by kind; a taller one may stand
ASSUMED_HEIGHT_M: Final[dict[str, Constant]] = {
    kind: Constant(height, "m", _assumed(f"{kind} mapped without a height"))
    for kind, height in {
        "power line 300 kV and more": 80.0, "power line 200 kV and more": 65.0, "power line 100 kV and more": 45.0,
        "power line 30 kV and more": 30.0, "power line under 30 kV": 20.0, "power line": 65.0,
        "minor power line": 20.0, "telephone line": 15.0, "railway contact line": 15.0, "cable car": 100.0,
        "gondola": 60.0, "goods cableway": 100.0, "zip line": 100.0, "chair lift": 40.0, "drag lift": 20.0,
        "cableway": 100.0, "wire": 65.0, "catenary": 100.0, "power tower": 65.0, "power pole": 20.0, "portal": 40.0,
        "cableway pylon": 60.0, "wind turbine": 250.0, "mast": 150.0, "tower": 120.0, "communications tower": 300.0,
        "chimney": 200.0, "crane": 120.0, "antenna": 100.0, "cooling tower": 200.0, "water tower": 60.0,
        "storage tank": 40.0, "silo": 60.0, "lighthouse": 60.0, "windmill": 40.0, "flagpole": 30.0, "pole": 20.0,
        "bridge": 30.0, "suspension bridge": 150.0, "dam": 15.0, "building": 20.0, "tree": 50.0, "obstacle": 120.0,
    }.items()
}  # fmt: skip

HIGH_DENSITY_ALTITUDE_M: Final = Constant(
    10000 * 0.3048,
    "m",
    Source("NTSB accident summary 20070808X01146", 2007, "settling with power at 10 221 ft", "print"),
)

# --- the flight as flown --------------------------------------------------------------------------------------
_US_HELICOPTER = Source("NWCG PMS 510, Standards for Helicopter Operations", None, "wind limits below 500 ft", "memory")
_HFH = Source("FAA-H-8083-21B, Helicopter Flying Handbook", 2019, "chapters 2, 10 and 11", "print")
TURN_SPEED_M_S: Final = Constant(55 * 1852 / 3600, "m/s", _assumed("true airspeed in turns with a bucket on"))
TURN_BANK_DEG: Final = Constant(20.0, "deg", _assumed("bank in turns with a bucket on"))
TURN_CLEARANCE_M: Final = Constant(15.0, "m", _assumed("bucket bottom over everything in the gates' arcs and orbits"))
ARC_CLIMB: Final = Constant(0.85, "1", _assumed("share of the climb or descent rate that is kept in a turn"))
CORRIDOR_AIRSPEED_M_S: Final = Constant(15.0, "m/s", _assumed("least airspeed on a corridor, above effective lift"))
CORRIDOR_STRAIGHT_M: Final = Constant(100.0, "m", _assumed("flown straight before the first and after the last turn"))
DROP_LIFT_LIMIT_M: Final = Constant(30.0, "m", _assumed("highest climb-out over a drop; more is another drop height"))
HOVER_TURN_DEG_S: Final = Constant(15.0, "deg/s", _assumed("pedal turn in the hover between arrival and departure"))
WIND_TYPE_3_M_S: Final = Constant(30 * 1852 / 3600, "m/s", _US_HELICOPTER)
WIND_TYPE_1_2_M_S: Final = Constant(40 * 1852 / 3600, "m/s", _US_HELICOPTER)
GUST_SPREAD_M_S: Final = Constant(15 * 1852 / 3600, "m/s", _US_HELICOPTER)
VERTICAL_DESCENT_M_S: Final = Constant(250 * 0.3048 / 60, "m/s", _assumed("below the onset of vortex ring, 300 ft/min"))
VORTEX_RING_M_S: Final = Constant(300 * 0.3048 / 60, "m/s", _HFH)
EFFECTIVE_LIFT_M_S: Final = Constant(24 * 1852 / 3600, "m/s", _HFH)
STEEP_APPROACH_DEG: Final = Constant(13.0, "deg", _HFH)
# relative wind from the nose clockwise, for a rotor that turns counterclockwise; the last says: only up to
# YAW_WIND_MOST
YAW_SECTORS_DEG: Final = ((285.0, 315.0, True), (120.0, 240.0, False), (210.0, 330.0, False))  # FAA-H-8083-21B ch. 11
YAW_CLOCKWISE: Final = "clockwise"  # the sectors are mirrored (from memory)
YAW_WIND_LEAST_M_S: Final = Constant(10 * 1852 / 3600, "m/s", _HFH)
YAW_WIND_MOST_M_S: Final = Constant(30 * 1852 / 3600, "m/s", _HFH)
PEOPLE_ROTORS: Final = Constant(
    3.0, "1", Source("FAA Aeronautical Information Manual 7-4-7", 2024, "rotor outwash, diameters", "print")
)
PEOPLE_LEAST_M: Final = Constant(
    200 * 0.3048, "m", Source("FAA Aeronautical Information Manual 10-2-3", 2024, "people at a landing zone", "print")
)

THIN_AIR_M: Final = Constant(5000 * 0.3048, "m", _assumed("with nothing in hand thin air is told from here"))
MARGIN_AMPLE: Final = Constant(0.2, "1", _assumed("of the water's mass in hand: thin air is told as late as it may be"))
TIED_CASES: Final = Constant(0.10, "1", _assumed("cases in which a site is at least as good: it shares the band"))
TIED_LOSS: Final = Constant(
    0.10, "1", _assumed("share of the leader's water that a site of its band may lose in the middle case")
)

# --- duty and flow -------------------------------------------------------------------------------------------
_CARDING = Source("NWCG 6 Minutes for Safety, Aircraft and Pilot Carding", None, "pilot limits", "print")
FLIGHT_DAY_S: Final = Constant(8 * 3600.0, "s", _CARDING)
DUTY_DAY_S: Final = Constant(14 * 3600.0, "s", _CARDING)
FLIGHT_SIX_DAYS_S: Final = Constant(36 * 3600.0, "s", _CARDING)
DIP_SPACING_S: Final = Constant(30.0, "s", _assumed("from one helicopter leaving the dip to the next entering it"))

# --- daylight ------------------------------------------------------------------------------------------------
DAYLIGHT_MARGIN_S: Final = Constant(
    1800.0,
    "s",
    Source("NWCG PMS 510, Standards for Helicopter Operations", None, "daylight hours, single engine", "memory"),
)
SUN_GLARE_ELEVATION_DEG: Final = Constant(20.0, "deg", _assumed("a sun lower than this can blind on the arrival"))
SUNRISE_ELEVATION_DEG: Final = Constant(
    -0.833, "deg", Source("Astronomical Almanac", None, "34' of refraction and 16' of half the sun's width", "memory")
)
SUN_GLARE_SIDE_DEG: Final = Constant(30.0, "deg", _assumed("sun within this angle of the arrival course"))

# --- uncertainty ---------------------------------------------------------------------------------------------
UNCERTAIN_TEMPERATURE_K: Final = Constant(3.0, "K", _assumed("how far the temperature at the dip may be off"))
UNCERTAIN_WIND_M_S: Final = Constant(5 * 1852 / 3600, "m/s", _assumed("how far the wind speed may be off"))
UNCERTAIN_WIND_DEG: Final = Constant(20.0, "deg", _assumed("how far the wind direction may be off"))
UNCERTAIN_GUST_M_S: Final = Constant(5 * 1852 / 3600, "m/s", _assumed("how far the gusts over the wind may be off"))
UNCERTAIN_TIMES: Final = Constant(0.20, "1", _assumed("how far fill, drop and manoeuvre times may be off"))
UNCERTAIN_CASES: Final = Constant(400.0, "1", _assumed("enough that the shares are good to a few per cent"))

# --- reading: what is refused, flagged or taken for no data --------------------------------------------------
VARIABLE_WIND_M_S: Final = Constant(
    6 * 1852 / 3600,
    "m/s",
    Source("US coding of METAR, as restated in training pages", None, "VRB stands alone up to 6 kt", "memory"),
)
ROW_HOLE_S: Final = Constant(3 * 3600.0, "s", _assumed("rows of an hourly table further apart than this are flagged"))
LEAST_QNH_PA: Final = Constant(87000.0, "Pa", _assumed("an altimeter setting lower than this is a slip"))
MOST_QNH_PA: Final = Constant(108500.0, "Pa", _assumed("an altimeter setting higher than this is a slip"))
QNH_DISAGREE_PA: Final = Constant(200.0, "Pa", _assumed("two settings of one report that differ by more are refused"))
LEAST_TEMPERATURE_K: Final = Constant(213.15, "K", _assumed("a station's temperature lower than -60 degC is a slip"))
MOST_TEMPERATURE_K: Final = Constant(331.15, "K", _assumed("higher than 58 degC is a slip; the record is 56.7 degC"))
MOST_WIND_M_S: Final = Constant(78.0, "m/s", _assumed("a wind stronger than this, or 150 kt, is a slip"))
COARSE_ELEVATION_M: Final = Constant(45.0, "m", _assumed("elevation with heights further apart than this is flagged"))
GEOID_MOST_M: Final = Constant(
    106.0, "m", Source("EGM2008 geoid heights", 2008, "-106 m south of India, +86 m at New Guinea", "memory")
)
LEVEL_PERCENTILE: Final = Constant(5.0, "%", _assumed("of the ground inside a shore: the low end of a water level"))
LEVEL_HIGH: Final = Constant(50.0, "%", _assumed("of the ground inside a shore: the high end of a still water's level"))
LEVEL_SPREAD_LOW: Final = Constant(10.0, "%", _assumed("lower percentile of the ground inside, for its spread"))
LEVEL_SPREAD_HIGH: Final = Constant(90.0, "%", _assumed("upper percentile of the ground inside, for its spread"))
LEVEL_KNOWN_SHARE: Final = Constant(0.5, "1", _assumed("share of the cells inside that a level needs to be known"))

# --- routing: what closes a leg, and what is said of it ------------------------------------------------------
STRONGEST_WIND: Final = Constant(0.6, "1", _assumed("share of the airspeed: where more wind blows no leg is flown"))
WIRE_OBLIQUE_DEG: Final = Constant(45.0, "deg", _assumed("a wire crossed at less than this angle is a caution"))
WIRE_RIGHT_ANGLE_DEG: Final = Constant(75.0, "deg", _assumed("from here on a wire is crossed at a right angle"))
WIRE_RIGHT_ANGLE_WORTH: Final = Constant(0.02, "1", _assumed("share of a leg that a right-angled crossing may cost"))
LONG_WAIT_S: Final = Constant(5.0, "s", _assumed("a climb or descent in turns that takes longer is told"))
SEPARATION_PRICE: Final = Constant(3.0, "1", _assumed("factor on the time near the leg to keep away from"))
SEPARATION_ENDS: Final = Constant(2.0, "1", _assumed("distances from a shared end within which legs may meet"))
SEPARATION_SHARE: Final = Constant(0.05, "1", _assumed("share of a leg too near the other one from which it is told"))

# --- reading: what elevation and canopy do not know ----------------------------------------------------------
LOWEST_LAND_M: Final = Constant(-500.0, "m", _assumed("no land lies lower; the shore of the Dead Sea is at -430 m"))
ABSURD_HEIGHT_M: Final = Constant(9000.0, "m", _assumed("no ground is higher; the number stands for no data"))
SMEAR_CELLS: Final = Constant(2.0, "1", _assumed("cells beside a hole that resampling may have mixed with it"))
SMEAR_M: Final = Constant(60.0, "m", _assumed("a cell beside a hole that strays more from the ground is mixed"))
SMEAR_RISE: Final = Constant(2.0, "1", _assumed("the same in cells, where that is more"))
VOID_RIM_SHARE: Final = Constant(0.02, "1", _assumed("share of a flat patch's rim that must lead down to it"))
VOID_RIM_LEAST: Final = Constant(3.0, "1", _assumed("pairs of cells across a rim that say anything of a patch"))
VOID_CELLS: Final = Constant(25.0, "1", _assumed("cells from which a flat patch of any number may be a hole"))
VOID_STEP_M: Final = Constant(60.0, "m", _assumed("drop all round a flat patch that makes it a hole"))
VOID_STEP_RISE: Final = Constant(3.0, "1", _assumed("the same in cells, where that is more"))
VOID_HABIT_STEP_M: Final = Constant(25.0, "m", _assumed("the same for a number that often stands for no data"))
VOID_DRY_STEP_M: Final = Constant(3.0, "m", _assumed("the same where the mapped water has nothing flat to show"))
TREE_LEAST_M: Final = Constant(-0.5, "m", _assumed("a canopy lower than this is no height of trees"))
TREE_STANDS_M: Final = Constant(0.5, "m", _assumed("from here on something stands in a canopy"))
CANOPY_ABSURD_M: Final = Constant(
    90.0, "m", _assumed("hardly a tree is higher; a canopy with more than a few such is none")
)
GAP_NEAR_M: Final = Constant(100.0, "m", _assumed("within this a surface model shows the ground somewhere"))
CANOPY_ABSURD_SHARE: Final = Constant(0.01, "1", _assumed("share of what stands that may be higher than that"))
CANOPY_COVER: Final = Constant(1.5, "m", _assumed("a canopy nowhere higher than this is a share of cover"))

# --- reading: how high water lies ----------------------------------------------------------------------------
LEVEL_CELLS: Final = Constant(4.0, "1", _assumed("cells of the elevation wholly water that a level is read from"))
LEVEL_PURE_CELLS: Final = Constant(1.75, "1", _assumed("cells of the elevation from the shore on which land mixes in"))
LEVEL_FLAT_M: Final = Constant(0.3, "m", _assumed("cells inside a shore that agree so closely show the water itself"))
LEVEL_MIXED_SHARE: Final = Constant(0.8, "1", _assumed("of a cell's value from two by two cells round it"))
LEVEL_BANK_M: Final = Constant(1.0, "m", _assumed("a bank beside water that a coarse ground model does not show"))
LEVEL_TREE_M: Final = Constant(40.0, "m", _assumed("a tall tree beside water that a surface model shows"))
LEVEL_CELL_RISE: Final = Constant(0.7, "1", _assumed("ground beside water rises so much of a cell's width at most"))
LEVEL_WIDE_M: Final = Constant(10.0, "m", _assumed("a water level less sure than this is a caution"))
SAME_WATER_SHARE: Final = Constant(0.6, "1", _assumed("of the smaller of two drawings that overlap: the same water"))
SAME_WATER_M: Final = Constant(15.0, "m", _assumed("outlines that agree so closely draw the same water"))
SLIVER_M2: Final = Constant(1.0, "m2", _assumed("pieces of water smaller than this are left by cutting"))
SHORE_BELOW_SHARE: Final = Constant(25.0, "%", _assumed("of a shore below its lake: the elevation there is wrong"))

# --- reading: layers held against each other -----------------------------------------------------------------
CROSS_LEAST: Final = Constant(8.0, "1", _assumed("things to compare before two layers are said to disagree"))
CROSS_LEAST_HEIGHT_M: Final = Constant(20.0, "m", _assumed("ground nearer to sea level says nothing of a ratio"))
RATIO_ALIKE: Final = Constant(0.06, "1", _assumed("a ratio this near to that of two units is taken for it"))
DATUMS_APART_M: Final = Constant(10.0, "m", _assumed("layers this far apart all over are in two vertical datums"))
FOOT_OFF_M: Final = Constant(15.0, "m", _assumed("an obstacle whose foot is this far off the ground is told"))
STATION_OFF_M: Final = Constant(30.0, "m", _assumed("a weather station this far off the ground is told"))
SLOPE_REFUSED: Final = Constant(1.2, "1", _assumed("half of a country is nowhere steeper: decimetres"))
SLOPE_DOUBTED: Final = Constant(0.75, "1", _assumed("half of a country is seldom steeper: feet"))
SLOPE_BASE_M: Final = Constant(60.0, "m", _assumed("slopes are taken over this, beyond treetops and roofs"))
SLOPE_CELLS: Final = Constant(1e6, "1", _assumed("slopes that are looked at, evenly spread"))
SLOPE_LEAST_SHARE: Final = Constant(0.25, "1", _assumed("of the known ground that must not be level to say so"))
SLOPE_LEAST_CELLS: Final = Constant(100.0, "1", _assumed("slopes to look at before anything is said of them"))

# --- reading: what is taken for a slip ---------------------------------------------------------------------------
DROPS_APART_M: Final = Constant(100_000.0, "m", _assumed("drops farther from their middle are no one incident"))
LENGTH_AT_MOST_M: Final = Constant(10_000.0, "m", _assumed("no height, width, depth or distance of a mapped thing"))
