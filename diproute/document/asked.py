"""The incident as it was understood: weather, helicopter, bucket, limits, and every default that decided something."""

from __future__ import annotations

from typing import Literal

from diproute.document.fields import (
    Hundredth,
    Index,
    Latitude,
    Longitude,
    MaybeHundredth,
    MaybeLatitude,
    MaybeLongitude,
    MaybeRate,
    MaybeShare,
    MaybeTenth,
    Part,
    Rate,
    Share,
    Tenth,
    Whole,
)
from diproute.document.findings import Finding
from diproute.document.geometry import Geometry


class WindLevel(Part):
    """The wind at one height."""

    altitude_m: Tenth
    from_deg: Tenth
    speed_m_s: Hundredth


class Air(Part):
    """Air and wind at the reporting station, at the plan's time."""

    temperature_k: Hundredth
    measured_at_m: Tenth
    qnh_pa: Whole
    dew_point_k: MaybeHundredth = None
    lapse_k_per_m: MaybeRate = None
    wind_from_deg: Tenth
    wind_m_s: Hundredth
    gust_m_s: MaybeHundredth = None
    wind_levels: tuple[WindLevel, ...]
    source: str
    cautions: tuple[Finding, ...] = ()


class Drop(Part):
    """A place where the water is wanted; of a line each site serves the end of its own loaded leg."""

    name: str
    lat: MaybeLatitude = None
    lon: MaybeLongitude = None
    share: Share


class Base(Part):
    """The helibase."""

    lat: Latitude
    lon: Longitude
    refuel_s: Tenth


class BurnRates(Part):
    """Fuel burnt [kg/s]."""

    hover: Rate
    loaded: Rate
    empty: Rate


class Speeds(Part):
    """With the full bucket, and with the empty one [m/s]."""

    loaded: Hundredth
    empty: Hundredth


class HoverCurve(Part):
    """One temperature of the hover chart."""

    temperature_k: Hundredth
    pressure_altitude_m: tuple[Tenth, ...]
    mass_kg: tuple[MaybeTenth, ...]


class RateTable(Part):
    """Rates of climb or descent by gross mass (columns) and density altitude (rows)."""

    mass_kg: tuple[Tenth, ...]
    density_altitude_m: tuple[Tenth, ...]
    rate_m_s: tuple[tuple[Hundredth, ...], ...]


class Helicopter(Part):
    """The flight-manual numbers, and how many fly."""

    name: str
    source: str
    type: Literal[1, 2, 3]
    count: Index
    crew_kg: Tenth
    fuel_share: MaybeShare = None
    rotor_diameter_m: Tenth
    equipped_kg: Tenth
    max_gross_external_kg: Tenth
    hook_limit_kg: Tenth
    weight_reduction_kg: Tenth
    fuel_capacity_kg: Tenth
    burn_kg_s: BurnRates
    airspeed_m_s: Speeds
    climb_m_s: Speeds
    descent_m_s: Speeds
    lift_m_s: Hundredth
    lower_m_s: Hundredth
    manoeuvre_s: Tenth
    turn_m_s: Hundredth | None = None
    turn_bank_deg: Tenth | None = None
    rotor_turns: Literal["counterclockwise", "clockwise"] | None = None
    empty_belly_m_s: MaybeHundredth = None  # most with the empty bucket
    empty_line_m_s: MaybeHundredth = None
    climb_table: RateTable | None = None
    descent_table: RateTable | None = None
    hoge: tuple[HoverCurve, ...]


class Bucket(Part):
    """The bucket."""

    name: str
    source: str
    capacity_l: Tenth
    empty_kg: Tenth
    gear_kg: Tenth
    length_m: Tenth
    depth_needed_m: Tenth
    fills: tuple[Share, ...]
    fill_asked: MaybeShare = None
    part_fill: bool
    fill_s: Tenth
    drop_s: Tenth


class Craft(Part):
    """Another kind of helicopter with its bucket."""

    helicopter: Helicopter
    bucket: Bucket


class DutySoFar(Part):
    """What the pilot has flown and worked."""

    flown_today_s: Tenth
    on_duty_s: Tenth
    flown_before_s: tuple[Tenth, ...]


class CarriedLine(Part):
    """A carried line; 0 m is the bucket on the belly hook."""

    length_m: Tenth
    mass_kg: Tenth
    settle_s: Tenth


class Limits(Part):
    """What the crew will and will not do."""

    reserve_s: Tenth
    tailwind_m_s: Hundredth
    crosswind_m_s: Hundredth
    shore_clearance_m: Tenth
    hover_circle_m: Tenth
    rotor_margin_m: Tenth
    side_slope: Share
    side_length_m: Tenth
    load_margin_m: Tenth
    wire_margin_m: Tenth
    departure_gradient: Share
    arrival_gradient: Share
    corridor_start_m: Tenth
    corridor_spread: Share
    corridor_length_m: Tenth
    least_lift_m: Tenth
    lift_limit_m: Tenth
    cruise_clearance_m: Tenth
    lateral_clearance_m: Tenth
    keep_apart_m: Tenth
    drop_height_m: Tenth
    drop_lift_limit_m: Tenth | None = None
    hover_margin_kg: MaybeTenth = None  # None: a share of the payload
    hover_margin_share: MaybeShare = None
    wind_m_s: Hundredth | None = None
    gust_spread_m_s: Hundredth | None = None
    vertical_descent_m_s: Hundredth | None = None
    turn_clearance_m: Tenth | None = None
    people_distance_m: Tenth | None = None
    surface: str
    weights: tuple[Share, Share, Share, Share]


class Search(Part):
    """How far was looked, and how many sites were assessed in full."""

    radius_m: Tenth
    keep: Index
    area: Geometry | None = None  # round all drops; None: a drop is a line, and so is not known


class Default(Part):
    """A number that nobody gave and that decided something, with where it comes from and how far to trust it."""

    key: str
    value: Share
    unit: str
    source: str
    trust: Literal["print", "restated", "memory", "computed", "practice", "assumption"]
