"""A dip point judged: what stands round it, and the way in and out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diproute.records.base import F64, Finding


@dataclass(frozen=True, slots=True)
class Governing:
    """The one thing that asks for a line or a lift."""

    what: str  # "trees", "terrain", "power line, 110 kV"
    distance_m: float
    bearing_deg: float  # true, from the dip point
    height_m: float  # its top above the water level
    obstacle: int | None  # index into Ground.obstacles
    assumed_m: float | None = None  # its height above ground, where that is assumed
    unverified: bool = False  # its source doubts place and height

    @property
    def told(self) -> Finding:
        """The thing, how far and where, to stand in a sentence."""
        return Finding.of(
            "thing",
            what=self.what,
            distance_m=self.distance_m,
            bearing_deg=self.bearing_deg,
            height_m=self.height_m,
            assumed_m=self.assumed_m,
            unverified=self.unverified,
        )


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
    gradient: float  # of the straight corridor, as flown
    straight_m: float  # flown straight on this course


@dataclass(frozen=True, slots=True)
class Corridors:
    """Straight corridors surveyed round the ends of legs: n ends, d directions outward, k kinds of corridor.

    A kind is a gradient, rising outward, and the length over which it was surveyed. A lift is what the bucket's bottom
    must be raised over ``z_m`` so that everything which touches the corridor stays under the rising line by its margin.
    """

    x_m: F64  # (n,)
    y_m: F64  # (n,)
    z_m: F64  # (n,) of the bucket's bottom [m AMSL]; NaN: not known
    bearing_deg: F64  # (d,) true, outward
    grid_bearing_rad: F64  # (n, d) the same over the grid
    gradient: F64  # (k,)
    surveyed_m: F64  # (k,)
    lift_m: F64  # (n, d, k) 0 or more; NaN: not known

    def some(self, which: npt.NDArray[np.int64] | slice) -> Corridors:
        """Give a part of the ends."""
        return replace(
            self, x_m=self.x_m[which], y_m=self.y_m[which], z_m=self.z_m[which],
            grid_bearing_rad=self.grid_bearing_rad[which], lift_m=self.lift_m[which],
        )  # fmt: skip


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
