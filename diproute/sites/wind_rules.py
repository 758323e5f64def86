"""What the wind allows over a dip, a drop or the base, and what a pilot should know of it on a course."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.constants import (
    EFFECTIVE_LIFT_M_S,
    STEEP_APPROACH_DEG,
    YAW_CLOCKWISE,
    YAW_SECTORS_DEG,
    YAW_WIND_LEAST_M_S,
    YAW_WIND_MOST_M_S,
)
from diproute.errors import RangeError
from diproute.physics.wind import crosswind, headwind
from diproute.records import F64, Finding, Gate, Helicopter, Incident, Wind

Bools = npt.NDArray[np.bool_]
Numbers = F64 | float  # one for all points, or one a point
HAIR_M_S: Final = 1e-9  # a wind that stands at its limit is allowed, whatever the last digit of a cosine


@dataclass(frozen=True, slots=True)
class DipWind:
    """The wind at a place, or at many: shape (points,) or one for all."""

    from_deg: Numbers  # true
    speed_m_s: Numbers  # steady; in a calm every course is flyable
    gust_m_s: float | None = None  # the limits are held against it; None: a steady wind
    between_deg: tuple[float, float] | None = None  # clockwise: it may blow from anywhere there; (0, 360): anywhere


@dataclass(frozen=True, slots=True)
class WindLimits:
    """The winds in which a place is worked."""

    tailwind_m_s: float
    crosswind_m_s: float
    most_m_s: float  # total, gusts included
    gust_spread_m_s: float  # gusts over the steady wind

    @classmethod
    def of(cls, incident: Incident) -> WindLimits:
        """Take an incident's."""
        limits = incident.limits
        return cls(limits.tailwind_m_s, limits.crosswind_m_s, incident.most_wind_m_s, limits.gust_spread_m_s)


@dataclass(frozen=True, slots=True)
class CoursesInWind:
    """The courses over n places and for d directions, in the order of the outward bearings."""

    departure: bool
    course_deg: F64  # (d,) true, as flown
    headwind_m_s: F64  # (n, d) steady
    crosswind_m_s: F64  # (n, d) steady, positive: from the right
    allowed: Bools  # (n, d) the strongest wind keeps to every limit
    into_wind: Bools  # (n, d) no tailwind in the steady wind
    steady_m_s: F64  # (n,)
    strongest_m_s: F64  # (n,)
    wind: DipWind
    limits: WindLimits

    def refused(self, i: int) -> Finding:
        """Say why the wind leaves no open course at a place; one row may stand for all places."""
        i = min(i, len(self.steady_m_s) - 1)
        steady, strongest, limits = float(self.steady_m_s[i]), float(self.strongest_m_s[i]), self.limits
        if strongest > limits.most_m_s + HAIR_M_S:
            return Finding.of("wind-too-strong", strongest_m_s=strongest, limit_m_s=limits.most_m_s)
        if strongest - steady > limits.gust_spread_m_s + HAIR_M_S:
            return Finding.of("gusts-too-wide", spread_m_s=strongest - steady, limit_m_s=limits.gust_spread_m_s)
        between = self.wind.between_deg
        low, high = between or (None, None)
        anywhere = between == (0.0, 360.0)
        from_deg = np.broadcast_to(np.asarray(self.wind.from_deg, np.float64), self.steady_m_s.shape)
        return Finding.of(
            "wind-out" if self.departure else "wind-in",
            from_deg=float(from_deg[i] % 360.0),
            speed_m_s=steady,
            gust_m_s=strongest if strongest > steady else None,
            low_deg=None if anywhere else low,
            high_deg=None if anywhere else high,
            anywhere=anywhere,
            tailwind_m_s=limits.tailwind_m_s,
            crosswind_m_s=limits.crosswind_m_s,
        )


def courses_in_wind(bearing_deg: F64, wind: DipWind, limits: WindLimits, *, departure: bool) -> CoursesInWind:
    """Tell which courses the wind allows.

    Gusts, and a wind that may swing, count with their worst direction. In a calm gusts have no direction: they may come
    from behind and from the side of any course.

    Parameters
    ----------
    bearing_deg
        Directions outward from the places [deg true], shape (d,).
    wind
        Over the places.
    limits
        Tailwind, crosswind, total wind and gust spread.
    departure
        True: courses outward; False: inward.

    Raises
    ------
    RangeError
        A wind that is not known.
    """
    from_deg, steady = (np.atleast_1d(np.asarray(v, np.float64)) for v in (wind.from_deg, wind.speed_m_s))
    from_deg, steady = (np.array(v) for v in np.broadcast_arrays(from_deg % 360.0, steady))
    if not (np.isfinite(from_deg).all() and np.isfinite(steady).all()):
        raise RangeError("wind not known: an approach cannot be chosen; give the wind, in a calm 0 kt")
    course = bearing_deg if departure else (bearing_deg + 180.0) % 360.0
    strongest = np.maximum(steady, wind.gust_m_s or 0.0)
    ahead = np.asarray(headwind(course, from_deg[:, None], steady[:, None]))
    across = np.asarray(crosswind(course, from_deg[:, None], steady[:, None]))
    tail, side = _worst(course, (from_deg[:, None], steady[:, None], strongest[:, None]), wind.between_deg)
    within = (strongest <= limits.most_m_s + HAIR_M_S) & (strongest - steady <= limits.gust_spread_m_s + HAIR_M_S)
    allowed = (tail <= limits.tailwind_m_s + HAIR_M_S) & (side <= limits.crosswind_m_s + HAIR_M_S) & within[:, None]
    return CoursesInWind(departure, course, ahead, across, allowed, ahead >= -HAIR_M_S, steady, strongest, wind, limits)


def _worst(course: F64, air: tuple[F64, F64, F64], between_deg: tuple[float, float] | None) -> tuple[F64, F64]:
    """Tailwind and crosswind of the strongest wind on each course, whatever direction it may take [m/s]."""
    from_deg, steady, strongest = air
    ends = () if between_deg is None else between_deg
    tails = [-np.asarray(headwind(course, end, strongest)) for end in (from_deg, *ends)]
    sides = [np.abs(np.asarray(crosswind(course, end, strongest))) for end in (from_deg, *ends)]
    tail, side = np.maximum.reduce(tails), np.maximum.reduce(sides)
    from_behind = (steady == 0) | _may_come_from(course + 180.0, between_deg)
    from_beside = (
        (steady == 0) | _may_come_from(course + 90.0, between_deg) | _may_come_from(course - 90.0, between_deg)
    )
    return np.where(from_behind, strongest, tail), np.where(from_beside, strongest, side)


def _may_come_from(from_deg: F64, between_deg: tuple[float, float] | None) -> Bools:
    if between_deg is None:
        return np.zeros(np.shape(from_deg), np.bool_)
    first, last = between_deg
    return np.asarray((from_deg - first) % 360.0 <= last - first + 360.0 * (last < first))


def gate_cautions(gate: Gate, craft: Helicopter, wind: Wind, *, loaded: bool) -> tuple[Finding, ...]:
    """Tell what the wind means on a course that is flown.

    A loaded departure, a loaded arrival or a steep one with a tailwind; a steep approach with any tailwind (settling
    with power, FAA-H-8083-21B chapter 11); and the relative winds of unanticipated yaw while the airspeed is below
    effective translational lift (the same chapter; AC 90-95), for the way the rotor turns, or for both where nobody
    says it.

    Parameters
    ----------
    gate
        The course with its wind.
    craft
        For the way the rotor turns.
    wind
        For the gusts.
    loaded
        Whether the bucket is full on it.
    """
    found: list[Finding] = []
    tail = -gate.headwind_m_s
    steep = np.degrees(np.arctan(gate.gradient)) > STEEP_APPROACH_DEG.value
    if tail > HAIR_M_S and loaded:
        found.append(Finding.of("tailwind-loaded", manner=gate.kind, place=gate.place, tailwind_m_s=tail))
    if tail > HAIR_M_S and gate.kind == "arrival" and steep:
        slope = float(np.degrees(np.arctan(gate.gradient)))
        found.append(Finding.of("steep-tailwind", place=gate.place, slope_deg=slope, tailwind_m_s=tail))
    found += _yaw(gate, craft, wind)
    return tuple(found)


def _yaw(gate: Gate, craft: Helicopter, wind: Wind) -> Iterator[Finding]:
    steady = float(np.hypot(gate.headwind_m_s, gate.crosswind_m_s))
    strongest = max(steady, wind.gust_m_s or 0.0)
    if strongest < YAW_WIND_LEAST_M_S.value:
        return
    first, width = _off_the_nose(gate, wind, steady)
    told = craft.rotor_turns
    for low, high, only_to_most in YAW_SECTORS_DEG:
        if only_to_most and steady > YAW_WIND_MOST_M_S.value:
            continue
        for turning in (told,) if told is not None else ("counterclockwise", YAW_CLOCKWISE):
            start, end = (low, high) if turning != YAW_CLOCKWISE else (360.0 - high, 360.0 - low)
            from_first = (start - first) % 360.0
            within = (first - start) % 360.0 <= end - start
            if within or from_first <= width:
                yield Finding.of(
                    "yaw-sector", manner=gate.kind, place=gate.place, relative_deg=first if within else start,
                    from_deg=start, to_deg=end,
                    below_m_s=EFFECTIVE_LIFT_M_S.value, stated=told is not None,
                )  # fmt: skip
                return


def _off_the_nose(gate: Gate, wind: Wind, steady_m_s: float) -> tuple[float, float]:
    """Give where the wind may come from, clockwise from the nose: the first direction, and how far it may swing."""
    if steady_m_s <= HAIR_M_S:
        return 0.0, 360.0
    if wind.between_deg is None:
        return float(np.degrees(np.arctan2(gate.crosswind_m_s, gate.headwind_m_s)) % 360.0), 0.0
    first, last = wind.between_deg
    return (first - gate.course_deg) % 360.0, 360.0 if (first, last) == (0.0, 360.0) else (last - first) % 360.0
