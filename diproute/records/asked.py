"""What is asked: the incident with its layers, drops, weather, helicopter, bucket and limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from diproute import constants as k
from diproute.records.base import Display, Finding


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
    folder: Path | None = None  # of the incident file; None: not known, files are named without theirs


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
    between_deg: tuple[float, float] | None = None  # clockwise: it may blow from anywhere there; (0, 360): anywhere


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
    file: Path | None = None  # the table that it was read from
    station: tuple[float, float] | None = None  # latitude and longitude of where it was measured; None: not said


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
class RateTable:
    """Rates of climb, or of descent, from the flight manual by gross mass and density altitude."""

    mass_kg: tuple[float, ...]  # rising
    density_altitude_m: tuple[float, ...]  # rising
    rate_m_s: tuple[tuple[float, ...], ...]  # one row a density altitude, one column a mass; above 0


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
    manoeuvre_s: float  # slowing, lining up and settling, in a whole cycle; turns and lifts are in the legs
    hoge: HoverChart
    turn_speed_m_s: float = k.TURN_SPEED_M_S.value  # true airspeed in turns and orbits, never above that of the leg
    turn_bank_deg: float = k.TURN_BANK_DEG.value
    rotor_turns: Literal["counterclockwise", "clockwise"] | None = None  # seen from above; None: not stated
    empty_belly_m_s: float | None = None  # most with the empty bucket on the belly hook; None: not stated
    empty_line_m_s: float | None = None  # most with the empty bucket on a line; None: not stated
    climb_table: RateTable | None = None  # instead of the two numbers for climb
    descent_table: RateTable | None = None

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
    keep_apart_m: float | None = None  # between the loaded and the empty leg; None: `Incident.keep_apart_m`
    drop_height_m: float = k.DROP_HEIGHT_M.value  # bucket bottom over everything at the drop
    drop_lift_limit_m: float = k.DROP_LIFT_LIMIT_M.value  # highest climb-out over the drop before moving off
    hover_margin_kg: float | None = None  # power in hand wanted on top of the chart, as mass; None: the share below
    hover_margin_share: float = k.HOVER_MARGIN_SHARE.value  # the same as a share of the allowable payload
    wind_m_s: float | None = None  # most total wind, gusts included, at a dip, drop or base; None: by helicopter type
    gust_spread_m_s: float = k.GUST_SPREAD_M_S.value  # most that gusts may stand above the steady wind
    vertical_descent_m_s: float = k.VERTICAL_DESCENT_M_S.value  # fastest straight down, whatever the file says
    turn_clearance_m: float = k.TURN_CLEARANCE_M.value  # bucket bottom over everything in the gates' arcs and orbits
    people_distance_m: float | None = None  # hover to areas with people; None: `Incident.people_distance_m`
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

    @property
    def keep_apart_m(self) -> float:
        """Sideways distance between the loaded and the empty leg [m]; 0: they may share a way."""
        asked = self.limits.keep_apart_m
        several = self.count + sum(craft.count for craft in self.more) > 1
        return asked if asked is not None else k.KEEP_APART_M.value if several else 0.0

    @property
    def most_wind_m_s(self) -> float:
        """Most total wind, gusts included, in which the helicopter hovers [m/s]."""
        asked = self.limits.wind_m_s
        by_type = k.WIND_TYPE_3_M_S if self.helicopter.type == 3 else k.WIND_TYPE_1_2_M_S
        return by_type.value if asked is None else asked

    @property
    def people_distance_m(self) -> float:
        """Least distance of a hover, dip or drop to areas with people [m]."""
        asked = self.limits.people_distance_m
        rotors = k.PEOPLE_ROTORS.value * self.helicopter.rotor_diameter_m
        return max(rotors, k.PEOPLE_LEAST_M.value) if asked is None else asked
