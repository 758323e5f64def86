"""The way in and the way out of a dip point: which directions are open, and the pair of courses for this wind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from diproute import constants as k
from diproute.errors import RangeError
from diproute.physics.wind import crosswind, headwind
from diproute.records import F64, Approach, Clearance, Course, Finding, Governing, Limits, Sector
from diproute.sites.clearance import SurveyArrays

Bools = npt.NDArray[np.bool_]
Numbers = F64 | float  # one for all points, or one a point
Around = Clearance | SurveyArrays


@dataclass(frozen=True, slots=True)
class DipWind:
    """The wind at a dip point, or at many: shape (points,) or one for all."""

    from_deg: Numbers  # true
    speed_m_s: Numbers  # steady; in a calm every course is flyable
    gust_m_s: float | None = None  # the tailwind and crosswind limits are held against it; None: a steady wind
    between_deg: tuple[float, float] | None = None  # clockwise: it may blow from anywhere there; (0, 360): anywhere


@dataclass(frozen=True, slots=True)
class LegEnds:
    """How the legs leave a dip point and come in, or many: shape (points,) or one for all.

    What a leg climbs or descends in turns over the dip in any case turns it as well: so much less is left to turn.
    """

    out_course_deg: Numbers  # true, on which the loaded leg wants to leave
    in_course_deg: Numbers  # true, on which the empty leg comes in
    out_turned_s: Numbers = 0.0  # the loaded leg climbs in turns at its start
    in_turned_s: Numbers = 0.0  # the empty leg descends in turns at its end


@dataclass(frozen=True, slots=True)
class VerticalSpeeds:
    """How fast the load is raised, and the empty bucket lowered, on the spot."""

    lift_m_s: float
    lower_m_s: float

    def __post_init__(self) -> None:
        if not (self.lift_m_s > 0 and self.lower_m_s > 0):
            raise RangeError(f"lift {self.lift_m_s} and lower {self.lower_m_s} m/s: wanted speeds above 0")


@dataclass(frozen=True, slots=True)
class Pairs:
    """The arrival and the departure chosen at many points, shape (points,); NaN: no pair."""

    arrival_lift_m: F64
    departure_lift_m: F64
    arrival_turn_s: F64
    departure_turn_s: F64


@dataclass(frozen=True, slots=True)
class _Air:
    """The wind as columns, one row a point, with the limits that it is held against."""

    from_deg: F64
    steady_m_s: F64
    strongest_m_s: F64
    between_deg: tuple[float, float] | None
    limits: Limits

    @classmethod
    def of(cls, wind: DipWind, limits: Limits) -> _Air:
        """Take the gusts as the strongest wind."""
        steady = _column(wind.speed_m_s)
        strongest = np.maximum(steady, wind.gust_m_s or 0.0)
        return cls(_column(wind.from_deg) % 360.0, steady, strongest, wind.between_deg, limits)

    def worst(self, course_deg: F64) -> tuple[F64, F64]:
        """Tailwind and crosswind of the strongest wind on a course, whatever direction it may take [m/s]."""
        strongest = self.strongest_m_s
        ends = () if self.between_deg is None else self.between_deg
        tails = [-np.asarray(headwind(course_deg, end, strongest)) for end in (self.from_deg, *ends)]
        sides = [np.abs(np.asarray(crosswind(course_deg, end, strongest))) for end in (self.from_deg, *ends)]
        tail, side = np.maximum.reduce(tails), np.maximum.reduce(sides)
        # gusts in a calm have no direction: they may come from behind and from the side of any course
        from_behind = (self.steady_m_s == 0) | self._may_come_from(course_deg + 180.0)
        from_beside = (self.steady_m_s == 0) | self._may_come_from(course_deg + 90.0)
        from_beside = from_beside | self._may_come_from(course_deg - 90.0)
        return np.where(from_behind, strongest, tail), np.where(from_beside, strongest, side)

    def _may_come_from(self, from_deg: F64) -> Bools:
        if self.between_deg is None:
            return np.zeros(np.shape(from_deg), bool)
        first, last = self.between_deg
        return np.asarray((from_deg - first) % 360.0 <= last - first + 360.0 * (last < first))


@dataclass(frozen=True, slots=True)
class _Joined:
    """How a leg joins one kind of course: its own course, what it turns in any case, the speed up or down."""

    course_deg: F64
    turned_s: F64
    speed_m_s: float


@dataclass(frozen=True, slots=True)
class _Courses:
    """All courses of one kind, a row a point, one column a corridor in the order of the outward bearings."""

    kind: Literal["in", "out"]
    course_deg: F64  # (n,)
    lift_m: F64
    headwind_m_s: F64
    crosswind_m_s: F64
    turn_s: F64
    seconds: F64  # lift and turn
    open: Bools  # the lift is allowed
    flyable: Bools  # and so is the wind


def choose(clearance: Clearance, wind: DipWind, limits: Limits, legs: LegEnds, speeds: VerticalSpeeds) -> Approach:
    """Choose arrival and departure among the open directions.

    A direction is open when the lift over its corridor is known and no more than ``lift_limit``, both for a departure
    along it and for an arrival over it. A course is flyable when its corridor allows it and the wind on it keeps
    to the tailwind and crosswind limits. The pair with the least time is taken: raising the load, lowering the bucket,
    and turning (`constants.TURN_RATE_DEG_S`) between the courses and those of the legs, less what the legs turn in any
    case where they climb or descend on the spot. Equal pairs are
    settled by the headwind (`constants.HEADWIND_WORTH_S`), then by the smaller bearing.

    Parameters
    ----------
    clearance
        What stands round the point.
    wind
        Wind at the dip point.
    limits
        Lift, tailwind and crosswind limits.
    legs
        How the loaded leg leaves and the empty one comes in.
    speeds
        Straight up with the load, straight down with the empty bucket.

    Returns
    -------
    Approach
        Open sectors and the chosen pair. ``arrival`` or ``departure`` is None when there is no such course, and
        ``refused`` says what closes it: ``no-way-in``, ``no-way-out`` (obstacles), ``wind-in``, ``wind-out``.
        Cautions: ``one-way``, ``directions-unknown``, ``surface-penetrated``, ``surface-unknown``.

    Raises
    ------
    RangeError
        A wind or a course that is not known.
    """
    asked = (wind.from_deg, wind.speed_m_s, legs.out_course_deg, legs.in_course_deg)
    if not all(np.isfinite(value).all() for value in asked):
        raise RangeError("wind or leg course not known: an approach cannot be chosen; give the wind, in a calm 0 kt")
    air = _Air.of(wind, limits)
    into, out = (_only_row(courses) for courses in _courses_of(clearance, air, legs, speeds))
    known = ~(np.isnan(clearance.lift_in_m) | np.isnan(clearance.lift_out_m))
    both = into.open & out.open
    sectors = open_sectors(clearance.bearing_deg, both)
    arrival, departure = (_best(clearance, courses) for courses in (into, out))
    return Approach(
        open=both,
        known=known,
        open_share=float(both.mean()),
        sectors=sectors,
        arrival=arrival,
        departure=departure,
        refused=tuple(_refusal(clearance, air, courses) for courses in (into, out) if not courses.flyable.any()),
        cautions=(
            *_unknown(known),
            *_one_way(sectors, into, out),
            *_surface("arrival", arrival),
            *_surface("departure", departure),
        ),
    )


def choose_many(arrays: SurveyArrays, wind: DipWind, limits: Limits, legs: LegEnds, speeds: VerticalSpeeds) -> Pairs:
    """Choose arrival and departure at many points at once, the same ones that `choose` takes.

    Parameters
    ----------
    arrays
        What stands round the points.
    wind, limits, legs, speeds
        As for `choose`, the wind and the legs one for all points or one a point.

    Returns
    -------
    Pairs
        NaN throughout at a point without an arrival, or without a departure, in this wind.
    """
    into, out = _courses_of(arrays, _Air.of(wind, limits), legs, speeds)
    at_in, at_out = _cheapest(into)[..., None], _cheapest(out)[..., None]

    def at(values: F64, course: npt.NDArray[np.int64]) -> F64:
        every = np.broadcast_to(values, arrays.lift_out_m.shape)
        found: F64 = np.take_along_axis(every, np.broadcast_to(course, (len(every), 1)), axis=-1)[:, 0]
        return found

    flies = into.flyable.any(axis=-1) & out.flyable.any(axis=-1)
    picked = (at(into.lift_m, at_in), at(out.lift_m, at_out), at(into.turn_s, at_in), at(out.turn_s, at_out))
    return Pairs(*(np.where(flies, values, np.nan) for values in picked))


def open_sectors(bearing_deg: F64, is_open: Bools) -> tuple[Sector, ...]:
    """Join neighbouring open directions into sectors, each direction reaching half way to the next.

    Parameters
    ----------
    bearing_deg
        Evenly spaced directions all round [deg true], shape (n,).
    is_open
        Which of them are open, shape (n,).

    Returns
    -------
    tuple of Sector
        Clockwise from the first that begins after north; one from 0 to 360 when every direction is open.
    """
    if is_open.all():
        return (Sector(0.0, 360.0),)
    half = 180.0 / len(bearing_deg)
    starts = np.flatnonzero(is_open & ~np.roll(is_open, 1))
    ends = np.flatnonzero(is_open & ~np.roll(is_open, -1))
    if len(starts) and ends[0] < starts[0]:  # the sector that runs through north ends first
        ends = np.roll(ends, -1)
    pairs = zip(bearing_deg[starts] - half, bearing_deg[ends] + half, strict=True)
    return tuple(Sector(float(a % 360.0), float(b % 360.0)) for a, b in pairs)


def width(sector: Sector) -> float:
    """Width of a sector [deg], 360 for the whole circle."""
    return (sector.to_deg - sector.from_deg) % 360.0 or 360.0


def _column(values: Numbers) -> F64:
    return np.atleast_1d(np.asarray(values, dtype=np.float64))[:, None]


def _courses_of(around: Around, air: _Air, legs: LegEnds, speeds: VerticalSpeeds) -> tuple[_Courses, _Courses]:
    """All arrivals and all departures."""
    into = _Joined(_column(legs.in_course_deg), _column(legs.in_turned_s), speeds.lower_m_s)
    out = _Joined(_column(legs.out_course_deg), _column(legs.out_turned_s), speeds.lift_m_s)
    return (
        _courses("in", (around.bearing_deg + 180.0) % 360.0, around.lift_in_m, air, into),
        _courses("out", around.bearing_deg, around.lift_out_m, air, out),
    )


def _courses(kind: Literal["in", "out"], course_deg: F64, lift_m: F64, air: _Air, leg: _Joined) -> _Courses:
    ahead = np.asarray(headwind(course_deg, air.from_deg, air.steady_m_s))
    across = np.asarray(crosswind(course_deg, air.from_deg, air.steady_m_s))
    tail, side = air.worst(course_deg)
    off = np.abs((course_deg - leg.course_deg + 180.0) % 360.0 - 180.0)
    turn_s = np.maximum(off / k.TURN_RATE_DEG_S.value - leg.turned_s, 0.0)
    is_open = lift_m <= air.limits.lift_limit_m  # NaN: not open
    hair = 1e-9  # a wind that stands at its limit is allowed, whatever the last digit of a cosine
    calm = (tail <= air.limits.tailwind_m_s + hair) & (side <= air.limits.crosswind_m_s + hair)
    seconds = lift_m / leg.speed_m_s + turn_s
    return _Courses(kind, course_deg, lift_m, ahead, across, turn_s, seconds, is_open, is_open & calm)


def _only_row(courses: _Courses) -> _Courses:
    """Take the one point's row off courses of one point."""
    return replace(
        courses,
        headwind_m_s=courses.headwind_m_s[0],
        crosswind_m_s=courses.crosswind_m_s[0],
        turn_s=courses.turn_s[0],
        seconds=courses.seconds[0],
        flyable=courses.flyable[0],
    )


def _governing(clearance: Clearance, courses: _Courses, i: int) -> Governing | None:
    arriving = courses.kind == "in" and clearance.arrival_governing
    return (arriving or clearance.lift_governing)[i]


def _cheapest(courses: _Courses) -> npt.NDArray[np.int64]:
    """Index the course with the least time, its headwind counted; of equal ones the smaller bearing."""
    cost = np.where(courses.flyable, courses.seconds - k.HEADWIND_WORTH_S.value * courses.headwind_m_s, np.inf)
    course: npt.NDArray[np.int64] = np.argmin(np.round(cost, 6), axis=-1)
    return course


def _best(clearance: Clearance, courses: _Courses) -> Course | None:
    if not courses.flyable.any():
        return None
    i = int(_cheapest(courses))
    return Course(
        course_deg=float(courses.course_deg[i]),
        lift_m=float(courses.lift_m[i]),
        headwind_m_s=float(courses.headwind_m_s[i]),
        crosswind_m_s=float(courses.crosswind_m_s[i]),
        surface_8_to_1_m=float(clearance.surface_m[i]),
        surface_at_m=float(clearance.surface_at_m[i]),
        governing=_governing(clearance, courses, i),
        turn_s=float(courses.turn_s[i]),
    )


def _refusal(clearance: Clearance, air: _Air, courses: _Courses) -> Finding:
    """Say why there is no course of one kind."""
    if courses.open.any():
        low, high = air.between_deg or (None, None)
        anywhere = air.between_deg == (0.0, 360.0)
        return Finding.of(
            f"wind-{courses.kind}",
            from_deg=float(air.from_deg[0, 0]),
            speed_m_s=float(air.steady_m_s[0, 0]),
            gust_m_s=float(gust) if (gust := air.strongest_m_s[0, 0]) > air.steady_m_s[0, 0] else None,
            low_deg=None if anywhere else low,
            high_deg=None if anywhere else high,
            anywhere=anywhere,
            tailwind_m_s=air.limits.tailwind_m_s,
            crosswind_m_s=air.limits.crosswind_m_s,
        )
    known = np.flatnonzero(~np.isnan(courses.lift_m))
    i = int(known[np.argmin(courses.lift_m[known])]) if known.size else None
    thing = None if i is None else _governing(clearance, courses, i)
    return Finding.of(
        f"no-way-{courses.kind}",
        lift_m=None if i is None else float(courses.lift_m[i]),
        limit_m=air.limits.lift_limit_m,
        thing=None if thing is None else thing.told,
    )


def _unknown(known: Bools) -> tuple[Finding, ...]:
    """Count the directions that nobody knows; a few of very many are still one in a hundred."""
    share = 1.0 - float(known.mean())
    return () if share == 0.0 else (Finding.of("directions-unknown", share=max(0.01, share)),)


def _one_way(sectors: tuple[Sector, ...], into: _Courses, out: _Courses) -> tuple[Finding, ...]:
    """Tell of a confined area with one narrow way, or with different ways in and out."""
    if len(sectors) == 1 and width(sectors[0]) <= k.ONE_WAY_SECTOR_DEG.value:
        only = sectors[0]
        return (Finding.of("one-way", width_deg=width(only), from_deg=only.from_deg, to_deg=only.to_deg),)
    if not sectors and into.open.any() and out.open.any():
        return (Finding.of("one-way", width_deg=None, from_deg=None, to_deg=None),)
    return ()


def _surface(name: Literal["arrival", "departure"], course: Course | None) -> tuple[Finding, ...]:
    """Tell of a published surface that is penetrated, or not known, on the chosen course."""
    if course is None or course.surface_8_to_1_m == 0.0:
        return ()
    if np.isnan(course.surface_8_to_1_m):
        return (Finding.of("surface-unknown", course=name),)
    return (
        Finding.of("surface-penetrated", course=name, depth_m=course.surface_8_to_1_m, distance_m=course.surface_at_m),
    )
