"""The frozen records that pass between the rooms.

SI throughout, the unit in the name: metres, kilograms, seconds, pascals, kelvin, metres a second; litres for
volumes of water and fuel tanks; directions in degrees, true unless the name says ``magnetic``. What is not known
is None in a record and NaN in an array, never 0 and never a cheerful guess. ``x_m, y_m`` are metres in the
working transverse Mercator, whose centre is ``Grid.lat_deg, Grid.lon_deg``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from diproute import constants as k

F32 = npt.NDArray[np.float32]
F64 = npt.NDArray[np.float64]
U16 = npt.NDArray[np.uint16]
Display = Literal["us", "metric"]


# ---------------------------------------------------------------------------------------------- findings
@dataclass(frozen=True, slots=True)
class Finding:
    """One refusal or caution: a short stable code, and the sentence of why."""

    code: str  # "line-too-short", "depth-unknown"
    because: str


@dataclass(frozen=True, slots=True)
class Criterion:
    """One part of a site's score."""

    name: Literal["distance", "altitude", "obstacles", "approach"]
    points: float  # 0..100
    weight: float
    because: str


# ---------------------------------------------------------------------------------------------- what is asked
@dataclass(frozen=True, slots=True)
class Layers:
    """The files an incident names, each already resolved against the incident file's folder.

    A vector entry may pick one layer of a container: ``("water.gpkg", "lakes")`` as path and layer name.
    """

    elevation: tuple[Path, ...]
    elevation_is: Literal["ground", "surface"]
    water: tuple[tuple[Path, str | None], ...]
    canopy: tuple[Path, str | None] | None = None
    obstacles: tuple[tuple[Path, str | None], ...] = ()
    avoid: tuple[tuple[Path, str | None], ...] = ()
    elevation_unit: Literal["m", "ft"] | None = None
    elevation_error_m: float | None = None  # vertical error of the elevation, 90 % or as the source states
    canopy_error_m: float | None = None


@dataclass(frozen=True, slots=True)
class Drop:
    """A place where the water is wanted: a point, or a line or edge of which each site serves the best point."""

    name: str
    lat_deg: float | None
    lon_deg: float | None
    share: float = 1.0
    along: Path | None = None


@dataclass(frozen=True, slots=True)
class Base:
    """Where the helicopter takes fuel."""

    lat_deg: float
    lon_deg: float
    refuel_s: float = k.REFUEL_S.value


@dataclass(frozen=True, slots=True)
class Air:
    """The air at the reporting station."""

    temperature_k: float
    measured_at_m: float
    qnh_pa: float
    dew_point_k: float | None = None
    lapse_k_per_m: float | None = None  # None: the warmer of the standard and the dry adiabatic answer


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind by height, from true degrees. One level means one wind everywhere."""

    altitude_m: tuple[float, ...]
    from_deg: tuple[float, ...]
    speed_m_s: tuple[float, ...]
    gust_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """The weather of one hour of a table or a forecast."""

    when: datetime
    air: Air
    wind: Wind


@dataclass(frozen=True, slots=True)
class Weather:
    """The air and wind of the plan's time, with the words of where they come from."""

    air: Air
    wind: Wind
    source: str  # "incident file", "METAR KXYZ 1453Z", "forecast.csv, 15:00"
    hourly: tuple[HourlyWeather, ...] = ()
    cautions: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class HoverCurve:
    """One temperature of a HOGE chart: gross mass against pressure altitude."""

    temperature_k: float
    pressure_altitude_m: tuple[float, ...]  # rising
    mass_kg: tuple[float, ...]  # same length; NaN: the chart gives no answer there


@dataclass(frozen=True, slots=True)
class HoverChart:
    """The flight manual's limit for hovering out of ground effect, as curves of rising temperature."""

    curves: tuple[HoverCurve, ...]


@dataclass(frozen=True, slots=True)
class Helicopter:
    """The flight-manual numbers of one helicopter."""

    name: str
    source: str
    type: Literal[1, 2, 3]
    rotor_diameter_m: float
    equipped_kg: float
    max_gross_external_kg: float
    hook_limit_kg: float
    weight_reduction_kg: float
    fuel_capacity_l: float
    fuel_density_kg_l: float
    burn_hover_kg_s: float
    burn_loaded_kg_s: float
    burn_empty_kg_s: float
    speed_loaded_m_s: float  # true airspeed with the full bucket on
    speed_empty_m_s: float
    climb_loaded_m_s: float
    climb_empty_m_s: float
    descent_loaded_m_s: float
    descent_empty_m_s: float
    lift_speed_m_s: float
    lower_speed_m_s: float
    manoeuvre_s: float
    hoge: HoverChart

    @property
    def fuel_capacity_kg(self) -> float:
        """Mass of full tanks [kg]."""
        return self.fuel_capacity_l * self.fuel_density_kg_l


@dataclass(frozen=True, slots=True)
class Bucket:
    """The bucket: what it holds, what it weighs, how long it hangs."""

    name: str
    source: str
    capacity_l: float
    empty_kg: float
    length_m: float
    depth_needed_m: float
    fills: tuple[float, ...]  # fractions, falling from 1.0
    fill_s: float
    drop_s: float
    gear_kg: float = 0.0  # foam, pumps and the like carried with it
    part_fill: bool = False  # True: the pilot can dip less than the setting


@dataclass(frozen=True, slots=True)
class Line:
    """A carried line; 0 m is the bucket straight on the belly hook."""

    length_m: float
    mass_kg: float = 0.0
    settle_s: float = 0.0  # what it adds to a fill


@dataclass(frozen=True, slots=True)
class Limits:
    """What the crew will and will not do; every default's source is in `constants`."""

    reserve_s: float = k.RESERVE_S.value
    tailwind_m_s: float = k.TAILWIND_M_S.value
    crosswind_m_s: float = k.CROSSWIND_M_S.value
    shore_clearance_m: float = k.SHORE_CLEARANCE_M.value
    hover_circle_m: float | None = None  # None: by helicopter type
    rotor_margin_m: float = k.ROTOR_MARGIN_M.value
    side_slope: float = k.SIDE_SLOPE.value
    side_length_m: float = k.SIDE_LENGTH_M.value
    load_margin_m: float = k.LOAD_MARGIN_M.value
    wire_margin_m: float = k.WIRE_MARGIN_M.value  # instead of load_margin over a wire, where it is the larger
    departure_gradient: float = k.SURFACE_SLOPE.value
    arrival_gradient: float = k.SURFACE_SLOPE.value
    corridor_start_m: float = k.CORRIDOR_START_M.value
    corridor_spread: float = k.CORRIDOR_SPREAD.value
    corridor_length_m: float = k.CORRIDOR_LENGTH_M.value
    least_lift_m: float = k.LEAST_LIFT_M.value
    lift_limit_m: float = k.LIFT_LIMIT_M.value
    cruise_clearance_m: float = k.CRUISE_CLEARANCE_M.value
    lateral_clearance_m: float = k.LATERAL_CLEARANCE_M.value
    keep_apart_m: float = k.KEEP_APART_M.value  # between the loaded and the empty leg; 0: they may share a way
    drop_height_m: float = k.DROP_HEIGHT_M.value  # bucket bottom over everything at the drop
    hover_margin_kg: float = k.HOVER_MARGIN_KG.value  # power in hand wanted on top of the chart, as mass
    surface: str = "8:1"  # the published approach surface looked at: "8:1", "icao-a", "icao-b", "icao-c"
    weights: tuple[float, float, float, float] = (k.SCORE_WEIGHT.value,) * 4  # distance, altitude, obstacles, approach


@dataclass(frozen=True, slots=True)
class Search:
    """How far to look and how many sites to assess in full."""

    radius_m: float = k.SEARCH_RADIUS_M.value
    keep: int = int(k.SEARCH_KEEP.value)


@dataclass(frozen=True, slots=True)
class Craft:
    """More helicopters of another kind, with their bucket."""

    helicopter: Helicopter
    crew_kg: float
    fuel: float | None
    count: int
    bucket: Bucket
    fill: float | None


@dataclass(frozen=True, slots=True)
class Duty:
    """What the pilot has flown and worked so far."""

    flown_today_s: float = 0.0
    on_duty_s: float = 0.0
    flown_before_s: tuple[float, ...] = ()  # each of the days before, the latest first


@dataclass(frozen=True, slots=True)
class Incident:
    """Everything an incident file asks for, in SI."""

    title: str
    display: Display
    when: datetime
    layers: Layers
    drops: tuple[Drop, ...]
    base: Base | None
    weather: Weather
    helicopter: Helicopter
    crew_kg: float
    fuel: float | None  # fraction of full tanks; None: diproute chooses
    count: int
    bucket: Bucket
    fill: float | None  # fraction; None: diproute chooses
    lines: tuple[Line, ...]  # shortest first
    limits: Limits
    search: Search
    invented: bool = False  # demo data that says so wherever it is shown
    more: tuple[Craft, ...] = ()
    duty: Duty = Duty()

    @property
    def hover_circle_m(self) -> float:
        """Diameter kept clear of anything at rotor height [m]."""
        default = {1: k.HOVER_CIRCLE_TYPE_1_M, 2: k.HOVER_CIRCLE_TYPE_2_M, 3: k.HOVER_CIRCLE_TYPE_3_M}
        asked = self.limits.hover_circle_m
        return default[self.helicopter.type].value if asked is None else asked


# ---------------------------------------------------------------------------------------------- the ground
@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up grid of square cells in the working transverse Mercator (WGS 84, scale 1 at its centre).

    Cell ``(r, c)`` covers ``left_m + c·cell_m <= x < left_m + (c+1)·cell_m`` and
    ``top_m - (r+1)·cell_m < y <= top_m - r·cell_m``.
    """

    lat_deg: float
    lon_deg: float
    left_m: float
    top_m: float
    cell_m: float
    rows: int
    cols: int

    @property
    def right_m(self) -> float:
        """Eastern edge [m]."""
        return self.left_m + self.cols * self.cell_m

    @property
    def bottom_m(self) -> float:
        """Southern edge [m]."""
        return self.top_m - self.rows * self.cell_m


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A thing that stands up: a tower, a span of wire, a mast."""

    name: str  # "power line, 110 kV", "mast"
    kind: str  # "wire", "tower", "mast", "tree", "building", …
    height_m: float  # above ground, as used
    height_assumed: bool
    verified: bool | None  # None: the source does not say
    accuracy_m: float | None  # horizontal
    geometry: Any  # shapely point or line in working x, y
    source: str
    is_wire: bool = False
    top_m: float | None = None  # AMSL, when the source states it beside the height
    vertical_error_m: float | None = None  # already added to what `Ground.top` shows of it


@dataclass(frozen=True, slots=True)
class Ground:
    """The working grid with what is known of the earth and of everything on it.

    ``cause[r, c]`` says what ``top`` is there: 0 bare ground (or a surface model), 1 trees,
    ``i + 2`` the obstacle ``obstacles[i]``.
    """

    grid: Grid
    ground: F32  # (rows, cols), NaN where not known
    top: F32  # (rows, cols), NaN where not known
    cause: U16  # (rows, cols)
    obstacles: tuple[Obstacle, ...]
    vertical_datum: str  # "EGM2008 height", "not stated"
    vertical_error_m: float | None
    elevation_is: Literal["ground", "surface"]
    canopy_known: bool
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...] = ()

    def with_wire_margin(self, extra_m: float) -> F32:
        """Give `top` with the cells whose top is a wire raised by what a wire's margin has over the load's.

        Parameters
        ----------
        extra_m
            Wire margin minus load margin [m]; 0 or less changes nothing.

        Returns
        -------
        numpy.ndarray
            Heights [m AMSL], shape (rows, cols); `top` itself where there is no wire to raise.
        """
        is_wire = np.array([False, False, *(obstacle.is_wire for obstacle in self.obstacles)])
        if extra_m <= 0 or not is_wire.any():
            return self.top
        top = self.top.copy()
        flat = np.flatnonzero(self.cause >= 2)
        top.ravel()[flat[is_wire[self.cause.ravel()[flat]]]] += np.float32(extra_m)
        return top


@dataclass(frozen=True, slots=True)
class AvoidArea:
    """An area that a slung load must not cross (``hard``), or crosses at a price."""

    name: str
    because: str
    hard: bool
    extra_cost: float  # multiplies the time inside when not hard; 1: none
    geometry: Any  # shapely polygon in working x, y
    floor_m: float | None = None  # AMSL; None: from the ground up
    ceiling_m: float | None = None  # AMSL; None: no upper end


@dataclass(frozen=True, slots=True)
class WaterBody:
    """One stretch of open water."""

    id: str
    name: str
    kind: str  # "lake", "pond", "reservoir", "river", "sea", …
    polygon: Any  # shapely polygon in working x, y, islands as holes
    salt: bool
    level_m: float  # NaN: not known
    level_spread_m: float  # how far the ground inside strays from level; NaN: not known
    depth_m: float | None
    source: str
    cautions: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A water feature that no bucket can use, and why."""

    name: str
    because: str
    geometry: Any  # shapely geometry in working x, y


@dataclass(frozen=True, slots=True)
class DipPoint:
    """A place in the water where the bucket may go in."""

    water: WaterBody
    x_m: float
    y_m: float
    lat_deg: float
    lon_deg: float
    level_m: float
    shore_clearance_m: float  # to the nearest shore or island
    chosen_for: str  # "deepest inside", "nearest the drop", "most open", "most sheltered", "most water an hour"


# ---------------------------------------------------------------------------------------------- a site judged
@dataclass(frozen=True, slots=True)
class Governing:
    """The one thing that asks for a line or a lift."""

    what: str  # "trees", "terrain", "power line, height assumed 45 m"
    distance_m: float
    bearing_deg: float  # true, from the dip point
    height_m: float  # its top above the water level
    obstacle: int | None  # index into Ground.obstacles


@dataclass(frozen=True, slots=True)
class Clearance:
    """What stands round a dip point. Arrays have one entry a direction of flight."""

    bearing_deg: F64  # (n,) true direction in which the corridor runs outward from the dip point
    lift_out_m: F64  # (n,) lift before leaving in that direction; NaN: not known
    lift_in_m: F64  # (n,) lift needed when arriving over that corridor (flying towards the dip); NaN: not known
    surface_m: F64  # (n,) worst penetration of the published approach surface, 0 clear; NaN: not known
    surface_at_m: F64  # (n,) its distance
    line_needed_m: float  # NaN: not known
    line_governing: Governing | None
    lift_governing: tuple[Governing | None, ...]  # (n,) what asks for lift_out_m
    arrival_governing: tuple[Governing | None, ...] = ()  # (n,) what asks for lift_in_m; empty: the same


@dataclass(frozen=True, slots=True)
class Course:
    """The chosen arrival or departure."""

    course_deg: float  # true, the way the aircraft flies
    lift_m: float
    headwind_m_s: float
    crosswind_m_s: float
    surface_8_to_1_m: float
    surface_at_m: float
    governing: Governing | None
    turn_s: float  # turning between this course and the leg's own


@dataclass(frozen=True, slots=True)
class Sector:
    """An open sector, clockwise from one true bearing to another."""

    from_deg: float
    to_deg: float


@dataclass(frozen=True, slots=True)
class Approach:
    """The open directions of a dip point and the pair of courses chosen among them."""

    open: npt.NDArray[np.bool_]  # (n,) by outward bearing: open to arrival and departure, wind aside
    known: npt.NDArray[np.bool_]  # (n,)
    open_share: float
    sectors: tuple[Sector, ...]
    arrival: Course | None  # None: no pair with this wind
    departure: Course | None
    refused: tuple[Finding, ...] = ()
    cautions: tuple[Finding, ...] = ()

    @property
    def pair(self) -> tuple[Course, Course] | None:
        """Arrival and departure; None where either is missing."""
        return (self.arrival, self.departure) if self.arrival and self.departure else None


# ---------------------------------------------------------------------------------------------- flight
@dataclass(frozen=True, slots=True)
class LoadLine:
    """One line of a load calculation, in the order of the form."""

    name: str
    mass_kg: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    """What can be carried, and what decides it."""

    water_l: float
    water_kg: float
    fill: float
    fuel_kg: float  # at the first lift of the fuel cycle from the base, or at the dip with no base
    governed_by: str  # "hover limit", "hook limit", "certificated mass", "fill setting"
    place: str  # "dip", "drop", …
    hoge_limit_kg: float
    margin_kg: float  # left under the limit at the governing place with this load
    lines: tuple[LoadLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Crossing:
    """A wire that a route crosses."""

    name: str
    lat_deg: float
    lon_deg: float
    top_m: float  # AMSL, as used
    height_assumed: bool
    clearance_m: float  # bucket bottom above it
    angle_deg: float  # 90: squarely


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg as flown, with its profile. Arrays run along the leg, one entry a point."""

    drop: str
    leg: Literal["loaded", "empty", "ferry"]
    x_m: F64
    y_m: F64
    lon_deg: F64
    lat_deg: F64
    distance_m: F64  # along the leg
    ground_m: F64
    top_m: F64
    floor_m: F64  # lowest height of the aircraft that keeps every clearance
    altitude_m: F64  # of the aircraft, AMSL
    time_s: F64  # from the start of the leg
    crossings: tuple[Crossing, ...]
    waypoints: tuple[int, ...]  # indices of the turning points, ends included
    cautions: tuple[Finding, ...] = ()
    hanging_m: float = 0.0  # hook to bucket's bottom: line and bucket

    @property
    def clearance_m(self) -> F64:
        """Bucket's bottom over everything, point by point [m]."""
        return self.altitude_m - self.hanging_m - self.top_m

    @property
    def gradient(self) -> F64:
        """Climb (+) or descent (−) between the points, 0 where done in a turn on the spot; one fewer than points."""
        run = np.diff(self.distance_m)
        rise = np.diff(self.altitude_m)
        return np.divide(rise, run, out=np.zeros_like(run), where=run > 0)

    @property
    def length_m(self) -> float:
        """Length over the ground [m]."""
        return float(self.distance_m[-1])

    @property
    def seconds(self) -> float:
        """Time of the leg [s]."""
        return float(self.time_s[-1])

    @property
    def highest_m(self) -> float:
        """Highest point of the aircraft [m AMSL]."""
        return float(self.altitude_m.max())


@dataclass(frozen=True, slots=True)
class Route:
    """The legs between a site and the drops (loaded out, empty back), and to and from the base."""

    loaded: tuple[Leg, ...]  # one a drop
    empty: tuple[Leg, ...]
    from_base: Leg | None = None
    to_base: Leg | None = None


@dataclass(frozen=True, slots=True)
class CyclePart:
    """One part of a cycle in flying order."""

    name: str
    seconds: float
    burn_kg: float


@dataclass(frozen=True, slots=True)
class Cycle:
    """One round trip."""

    parts: tuple[CyclePart, ...]

    @property
    def seconds(self) -> float:
        """Time of the round trip [s]."""
        return sum(part.seconds for part in self.parts)

    @property
    def burn_kg(self) -> float:
        """Fuel of the round trip [kg]."""
        return sum(part.burn_kg for part in self.parts)


@dataclass(frozen=True, slots=True)
class Sortie:
    """A fuel cycle: from lifting off with fuel to being ready to lift off again."""

    cycles: int
    seconds: float
    litres: float
    litres_per_hour: float
    first_drop_s: float
    reserve_kg: float
    loads_l: tuple[float, ...]  # load by load
    note: str = ""
    margins_kg: tuple[float, ...] = ()  # left under the limits at each lift, as fuel burns off


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Water an hour for one fill setting and starting fuel."""

    fill: float
    fuel_kg: float
    litres_per_hour: float  # NaN: not allowed
    margin_kg: float
    because: str


@dataclass(frozen=True, slots=True)
class LineChoice:
    """What one carried line would mean at a site."""

    length_m: float
    chosen: bool
    litres_per_hour: float  # NaN: cannot be used here
    cycle_s: float  # NaN: cannot be used here
    margin_kg: float  # under the limit at the first lift with its load
    because: str


@dataclass(frozen=True, slots=True)
class SiteHour:
    """One site in one hour."""

    litres_per_hour: float  # NaN: does not work in this hour
    fill: float  # NaN likewise
    fuel_kg: float
    margin_kg: float  # under the limit at the first lift
    line_m: float
    density_altitude_m: float
    because: str  # why it does not work; empty when it does


@dataclass(frozen=True, slots=True)
class Hour:
    """All sites in one hour, in the order of ``Plan.sites``."""

    when: datetime
    temperature_k: float  # at the station
    wind_from_deg: float
    wind_m_s: float
    sites: tuple[SiteHour, ...]
    best: int | None  # index into `sites`; None: none works


@dataclass(frozen=True, slots=True)
class Day:
    """The hours of a forecast, the light, and what changes, in sentences."""

    hours: tuple[Hour, ...]
    sunrise: datetime | None
    sunset: datetime | None
    last_departure: datetime | None  # from the base for a whole fuel cycle at the best site, home in the window
    story: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stray:
    """How far a site's water an hour may stray, over draws of the things that nobody knows exactly."""

    low: float  # L/h, one draw in twenty is lower
    high: float  # L/h, one draw in twenty is higher
    works: float  # share of the draws in which the site works at all
    first: float  # share of the draws in which it is the best


@dataclass(frozen=True, slots=True)
class Doubt:
    """Whether the ranking holds. ``sites`` is in the order of ``Plan.sites``; None: refused."""

    draws: int
    seed: int
    sites: tuple[Stray | None, ...]
    because: str  # what was drawn, and whether the first place holds


@dataclass(frozen=True, slots=True)
class Shared:
    """One site's part in sharing out several helicopters: those of one kind."""

    site: int  # index into Plan.sites
    helicopter: str
    helicopters: int
    litres_per_hour: float
    wait_s: float  # of each helicopter for the hole, in every cycle


@dataclass(frozen=True, slots=True)
class FleetPlan:
    """Where several helicopters together deliver the most."""

    count: int
    sites: tuple[Shared, ...]
    litres_per_hour: float
    because: str


@dataclass(frozen=True, slots=True)
class DutyPlan:
    """What still fits into the pilot's day at the best site."""

    flight_left_s: float
    duty_left_s: float
    fuel_cycles: int
    litres: float
    because: str


# ---------------------------------------------------------------------------------------------- the plan
@dataclass(frozen=True, slots=True)
class SitePlan:
    """A dip site with everything found out about it. What could not be computed is None."""

    id: str
    name: str
    point: DipPoint
    rank: int | None
    temperature_k: float
    pressure_altitude_m: float
    density_altitude_m: float
    clearance: Clearance
    approach: Approach | None
    line: Line | None
    load: Load | None
    route: Route | None
    cycle: Cycle | None
    sortie: Sortie | None
    criteria: tuple[Criterion, ...]
    curve: tuple[CurvePoint, ...]
    refused: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    line_choices: tuple[LineChoice, ...] = ()
    blocked: Any = None  # what stands in the way of a refused route, shapely in working x, y

    @property
    def score(self) -> float:
        """Weighted mean of the criteria's points, 0 to 100."""
        weight = sum(c.weight for c in self.criteria)
        return sum(c.points * c.weight for c in self.criteria) / weight if weight else 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole answer, ready to be written or drawn."""

    incident: Incident
    made_with: str
    ground: Ground
    waters: tuple[WaterBody, ...]
    left_out: tuple[LeftOut, ...]
    avoid: tuple[AvoidArea, ...]
    declination_deg: float
    declination_sigma_deg: float
    sites: tuple[SitePlan, ...]  # ranked first, then the refused ones
    cautions: tuple[Finding, ...] = field(default=())
    day: Day | None = None  # None: no hourly weather
    doubt: Doubt | None = None  # None: no usable site
    fleet: FleetPlan | None = None  # None: one helicopter
    duty: DutyPlan | None = None  # None: no usable site

    @property
    def usable(self) -> tuple[SitePlan, ...]:
        """The sites that pass every limit, best first."""
        return tuple(site for site in self.sites if site.rank is not None)
