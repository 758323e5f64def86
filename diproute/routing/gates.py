"""Gates: every direction in which an end of a leg, a dip, a drop or the base, may be left or reached, and how fast."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from diproute.records import F64

Place = Literal["dip", "drop", "base"]


@dataclass(frozen=True, slots=True)
class Gates:
    """The gates of n ends of one kind: d directions outward from the end, k kinds of corridor.

    Directions run outward and gradients rise outward for arrivals as well: an arrival is a departure built outward,
    with the wind's sign and the rates swapped.
    """

    place: Place
    departure: bool
    x_m: F64  # (n,)
    y_m: F64  # (n,)
    z_m: F64  # (n,) of the bucket's bottom, before the lift or after the lower [m AMSL]
    bearing_deg: F64  # (d,) true, outward
    bearing: F64  # (n, d) over the grid, outward [rad]
    gradient: F64  # (k,)
    surveyed_m: F64  # (k,) beyond it the floor counts
    lift_m: F64  # (n, d, k)
    speed_m_s: F64  # (n, d, k) over the ground on the corridor; 0: not open, or not in this wind
    wind_east_m_s: F64  # (n,) motion of the air at the ends, steady
    wind_north_m_s: F64  # (n,)
    vertical_m_s: float  # of lift or lower
    lift_limit_m: float

    def some(self, which: npt.NDArray[np.int64] | slice) -> Gates:
        """Give a part of the ends."""
        return replace(
            self, x_m=self.x_m[which], y_m=self.y_m[which], z_m=self.z_m[which], bearing=self.bearing[which],
            lift_m=self.lift_m[which], speed_m_s=self.speed_m_s[which],
            wind_east_m_s=self.wind_east_m_s[which], wind_north_m_s=self.wind_north_m_s[which],
        )  # fmt: skip
