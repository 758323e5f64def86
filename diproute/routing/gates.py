"""Gates: every direction in which an end of a leg, a dip, a drop or the base, may be left or reached, and how fast."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from diproute.constants import CORRIDOR_AIRSPEED_M_S
from diproute.records import F64, Corridors, Wind
from diproute.routing.speed_model import Flying, wind_vector

Place = Literal["dip", "drop", "base"]
SURVEYED_M: Final = (
    200.0,
    500.0,
)  # corridors surveyed beside the whole one: a lift for what lies past a turn is wasted
SLOWEST_M_S: Final = 3.0  # over the ground on a corridor


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


@dataclass(frozen=True, slots=True)
class GateEnds:
    """What the gates of one kind of end have in common."""

    place: Place
    departure: bool
    vertical_m_s: float  # of lift or lower
    lift_limit_m: float
    hanging_m: float  # the most that hangs below the aircraft, for the wind


def corridor_gradients(rate_m_s: float, airspeed_m_s: float, site_gradient: float) -> F64:
    """Give the gradients of the corridors to survey: what is flown at cruise, half way, and the site's own.

    Parameters
    ----------
    rate_m_s, airspeed_m_s
        Of climb or descent, and en route [m/s].
    site_gradient
        Of the survey.

    Returns
    -------
    numpy.ndarray
        One to three, rising. The steeper one is flown slower: ground speed and gradient make the rate together.
    """
    flat = rate_m_s / airspeed_m_s
    return np.unique(np.round([flat, 0.5 * (flat + site_gradient), site_gradient], 4))


def make_gates(
    corridors: Corridors, allowed: npt.NDArray[np.bool_], flying: Flying, wind: Wind, ends: GateEnds
) -> Gates:
    """Give the gates of some ends in a wind.

    Parameters
    ----------
    corridors
        As surveyed.
    allowed
        Directions that the survey and the wind leave open, (n, d).
    flying
        Airspeed, rates of climb and descent.
    wind
        By height; the one over each end counts on its corridors.
    ends
        Place, manner, vertical speed, limit of the lift.

    Returns
    -------
    Gates
        A corridor has no speed where it is not allowed, its lift is not known or over the limit, or its gradient could
        be flown only below `constants.CORRIDOR_AIRSPEED_M_S`.
    """
    rate = flying.climb_m_s if ends.departure else flying.descent_m_s
    sign = 1.0 if ends.departure else -1.0
    east, north = wind_vector(wind, np.nan_to_num(corridors.z_m, nan=0.0) + ends.hanging_m)
    bearing = corridors.grid_bearing_rad
    go_east, go_north = sign * np.sin(bearing), sign * np.cos(bearing)
    along = east[:, None] * go_east + north[:, None] * go_north
    across = east[:, None] * go_north - north[:, None] * go_east

    def over_ground(airspeed_m_s: float) -> F64:
        left = airspeed_m_s**2 - across**2
        return np.where(left > 0, along + np.sqrt(np.maximum(left, 0.0)), 0.0)

    cruise, least = over_ground(flying.airspeed_m_s), over_ground(CORRIDOR_AIRSPEED_M_S.value)
    speed = np.minimum(cruise[..., None], rate / corridors.gradient)
    flown = (speed >= least[..., None]) & (speed >= SLOWEST_M_S) & (cruise[..., None] > 0)
    opened = allowed[..., None] & (corridors.lift_m <= ends.lift_limit_m) & np.isfinite(corridors.z_m)[:, None, None]
    return Gates(
        ends.place, ends.departure, corridors.x_m, corridors.y_m, corridors.z_m, corridors.bearing_deg, bearing,
        corridors.gradient, corridors.surveyed_m, corridors.lift_m, np.where(opened & flown, speed, 0.0), east, north,
        ends.vertical_m_s, ends.lift_limit_m,
    )  # fmt: skip
