"""Flown on paper: loads, legs, cycles, fuel cycles, and the lines compared."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diproute.records.base import F64, Finding


@dataclass(frozen=True, slots=True)
class LoadLine:
    """One line of a load calculation, in the order of the form."""

    name: str
    mass_kg: float
    note: Finding | None = None


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
class Gate:
    """How one end of a leg is left, or reached, in the order of flight."""

    place: Literal["dip", "drop", "base"]
    kind: Literal["departure", "arrival"]
    course_deg: float  # true, flown on the straight corridor
    lift_m: float  # straight up before moving off, or straight down at the end
    gradient: float  # of the corridor, climbing away or coming down, 0 or more
    ground_speed_m_s: float  # on the corridor
    straight_m: float  # flown straight, before the first arc or after the last one
    surveyed_m: float  # length of the corridor that the lift was surveyed for
    headwind_m_s: float
    crosswind_m_s: float  # positive: from the right


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a leg that is flown in one manner: points ``first`` to ``last`` of its arrays, both included."""

    kind: Literal["lift", "corridor", "arc", "straight", "orbits", "lower"]
    first: int
    last: int
    gate: bool = False  # belongs to one of the leg's gates: corridor, first or last arc, orbits
    radius_m: float = math.nan  # of an arc or an orbit
    turn_deg: float = 0.0  # to the right positive; whole circles for orbits


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg as flown, with its profile: lift, corridor, arcs, straights and orbits, corridor, lower.

    Arrays run along the leg in the order of flight, one entry a point; the first is the start with the bucket as it
    hangs there, the second the top of the lift. Points on arcs and orbits are at most 25 m apart. Height changes only
    while distance grows, but for the lift and the lower. ``pieces`` follow one another without a gap and cover all.
    """

    drop: str
    leg: Literal["loaded", "empty", "ferry"]
    x_m: F64
    y_m: F64
    lon_deg: F64
    lat_deg: F64
    distance_m: F64  # along the leg
    ground_m: F64
    top_m: F64
    floor_m: F64  # lowest height of the aircraft that keeps every clearance there
    altitude_m: F64  # of the aircraft, AMSL
    time_s: F64  # from the start of the leg
    crossings: tuple[Crossing, ...]
    pieces: tuple[Piece, ...]
    departure: Gate
    arrival: Gate
    cautions: tuple[Finding, ...] = ()
    hanging_m: float = 0.0  # hook to bucket's bottom: line and bucket

    @property
    def waypoints(self) -> tuple[int, ...]:
        """Indices of the points where the manner of flight changes, ends included."""
        return tuple(sorted({0, *(piece.last for piece in self.pieces)}))

    @property
    def clearance_m(self) -> F64:
        """Bucket's bottom over everything, point by point [m]."""
        return self.altitude_m - self.hanging_m - self.top_m

    @property
    def gradient(self) -> F64:
        """Climb (+) or descent (−) between the points, 0 in the lift and the lower; one fewer than points."""
        run = np.diff(self.distance_m)
        rise = np.diff(self.altitude_m)
        return np.divide(rise, run, out=np.zeros_like(run), where=run > 0)

    @property
    def length_m(self) -> float:
        """Length over the ground [m]."""
        return float(self.distance_m[-1])

    @property
    def seconds(self) -> float:
        """Time of the leg, lift and lower included [s]."""
        return float(self.time_s[-1])

    @property
    def lift_s(self) -> float:
        """Time of the lift [s]."""
        return self.seconds_of("lift")

    @property
    def lower_s(self) -> float:
        """Time of the lower [s]."""
        return self.seconds_of("lower")

    @property
    def transit_s(self) -> float:
        """Time between the lift and the lower [s]."""
        return self.seconds - self.lift_s - self.lower_s

    def seconds_of(self, kind: str) -> float:
        """Time of all pieces of one kind [s]."""
        return float(sum(self.time_s[p.last] - self.time_s[p.first] for p in self.pieces if p.kind == kind))

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
    note: Finding | None = None
    margins_kg: tuple[float, ...] = ()  # left under the limits at each lift, as fuel burns off


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Water an hour for one fill setting and starting fuel."""

    fill: float
    fuel_kg: float
    litres_per_hour: float  # NaN: not allowed
    margin_kg: float
    cycles: int  # flown on this fuel; 0: the first lift is too heavy


@dataclass(frozen=True, slots=True)
class LineChoice:
    """What one carried line would mean at a site."""

    length_m: float
    chosen: bool
    litres_per_hour: float  # NaN: cannot be used here
    cycle_s: float  # NaN: cannot be used here
    margin_kg: float  # under the limit at the first lift with its load
    why: Finding


@dataclass(frozen=True, slots=True)
class GoNoGo:
    """What hovers at a site: for temperatures and fuels, the greatest fill setting that every limit allows.

    Temperatures are those over the dip (as `AssessedSite.temperature_k`), fuels those at the lift. A setting is 0 where
    none hovers and NaN where the hover chart gives no answer.
    """

    temperature_k: tuple[float, ...]  # rising
    fuel_kg: tuple[float, ...]  # rising
    fill: tuple[tuple[float, ...], ...]  # one row a temperature, one column a fuel
    row: int  # of the plan's own temperature
    column: int  # of the plan's own fuel
    holds_to_k: float  # the plan's first load hovers up to this temperature over the dip, as `row`; NaN: not known
    holds_to_m: float  # and up to this density altitude [m]; NaN: not known
    edge: bool  # True: it ends at the hover chart's own edge, where nobody knows
