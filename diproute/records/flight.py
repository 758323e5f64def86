"""Flown on paper: loads, legs, cycles, fuel cycles, and the lines compared."""

from __future__ import annotations

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
