"""The way in and the way out of a dip point: which directions are open, and the pair of courses for this wind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from diproute import constants as k
from diproute.errors import RangeError
from diproute.physics.wind import crosswind, headwind
from diproute.records import F64, Approach, Clearance, Course, Display, Finding, Governing, Limits, Sector
from diproute.sites.clearance import SurveyArrays
from diproute.units import show, show_course

Bools = npt.NDArray[np.bool_]
Wide = F64 | np.float64  # one for all points, or a column of one a point
Around = Clearance | SurveyArrays
Winds = tuple[Wide, Wide, Wide]  # from [deg true], steady, and the strongest that the limits are held against [m/s]


@dataclass(frozen=True, slots=True)
class _Way:
    """All courses of one kind, one entry a corridor in the order of the outward bearings; a row a point, if several."""

    name: Literal["in", "out"]
    course_deg: F64
    lift_m: F64
    headwind_m_s: F64
    crosswind_m_s: F64
    turn_s: F64
    seconds: F64  # lift and turn
    open: Bools  # the lift is allowed
    flyable: Bools  # and so is the wind


def choose(
    clearance: Clearance, wind_from_deg: float, wind_m_s: float, limits: Limits, out_course_deg: float,
    in_course_deg: float, lift_speed_m_s: float, lower_speed_m_s: float,
    declination_deg: float | None = None, display: Display = "metric", gust_m_s: float | None = None,
    turned_s: tuple[float, float] = (0.0, 0.0),
) -> Approach:  # fmt: skip
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
    wind_from_deg, wind_m_s
        Wind at the dip point: from [deg true], speed [m/s]; in a calm every course is flyable.
    limits
        Lift, tailwind and crosswind limits.
    out_course_deg, in_course_deg
        Courses of the legs: in which the loaded one wants to leave, on which the empty one comes in [deg true].
    lift_speed_m_s, lower_speed_m_s
        Straight up with the load, straight down with the empty bucket [m/s].
    declination_deg
        For the words of findings: directions are then magnetic; None: true.
    display
        Units for the words of findings.
    gust_m_s
        Gusts [m/s], which the tailwind and crosswind limits are held against; None: a steady wind.
    turned_s
        Time that the loaded leg climbs in turns at its start, and the empty one descends in turns at its end [s].

    Returns
    -------
    Approach
        Open sectors and the chosen pair. ``arrival`` or ``departure`` is None when there is no such course, and
        ``refused`` says what closes it: ``no-way-in``, ``no-way-out`` (obstacles), ``wind-in``, ``wind-out``.
        Cautions: ``one-way``, ``directions-unknown``, ``surface-penetrated``, ``surface-unknown``.

    Raises
    ------
    RangeError
        A speed of 0 or less, or a wind or a course that is not known.
    """
    if not (lift_speed_m_s > 0 and lower_speed_m_s > 0):
        raise RangeError(f"lift {lift_speed_m_s} and lower {lower_speed_m_s} m/s: wanted speeds above 0")
    if not np.isfinite([wind_from_deg, wind_m_s, out_course_deg, in_course_deg]).all():
        raise RangeError("wind or leg course not known: an approach cannot be chosen; give the wind, in a calm 0 kt")
    strongest = max(wind_m_s, gust_m_s or 0.0) if wind_m_s > 0 else 0.0
    words = _Words(clearance, limits, wind_from_deg, strongest, declination_deg, display)
    wind = (np.float64(wind_from_deg % 360.0), np.float64(wind_m_s), np.float64(strongest))
    into = _way_in(clearance, wind, limits, np.float64(in_course_deg), lower_speed_m_s, np.float64(turned_s[1]))
    out = _way_out(clearance, wind, limits, np.float64(out_course_deg), lift_speed_m_s, np.float64(turned_s[0]))
    known = ~(np.isnan(clearance.lift_in_m) | np.isnan(clearance.lift_out_m))
    both = into.open & out.open
    sectors = open_sectors(clearance.bearing_deg, both)
    arrival, departure = (_best(clearance, way) for way in (into, out))
    return Approach(
        open=both,
        known=known,
        open_share=float(both.mean()),
        sectors=sectors,
        arrival=arrival,
        departure=departure,
        refused=tuple(words.refusal(way) for way in (into, out) if not way.flyable.any()),
        cautions=(
            *words.unknown(known),
            *words.one_way(sectors, into, out),
            *words.surface("arrival", arrival),
            *words.surface("departure", departure),
        ),
    )


def least_seconds(
    arrays: SurveyArrays, wind_from_deg: F64, wind_m_s: F64, limits: Limits, out_course_deg: F64, in_course_deg: F64,
    lift_speed_m_s: float, lower_speed_m_s: float, gust_m_s: float | None = None,
    out_turned_s: F64 | float = 0.0, in_turned_s: F64 | float = 0.0,
) -> F64:  # fmt: skip
    """Time of the best arrival and departure at many points, as `choose` would find it, but for its tie-break.

    Parameters
    ----------
    arrays
        What stands round the points.
    wind_from_deg, wind_m_s, out_course_deg, in_course_deg
        As for `choose`, one for all points or shape (points,).
    limits, lift_speed_m_s, lower_speed_m_s, gust_m_s
        As for `choose`.
    out_turned_s, in_turned_s
        The two of `choose`'s ``turned_s``, one for all points or shape (points,).

    Returns
    -------
    numpy.ndarray
        Lifting, lowering and turning [s], shape (points,); NaN: no arrival, or no departure, with this wind.
    """
    each = (np.atleast_1d(np.asarray(a, dtype=np.float64))[:, None]
            for a in (wind_from_deg, wind_m_s, out_course_deg, in_course_deg, out_turned_s, in_turned_s))  # fmt: skip
    wind_from, wind, out_course, in_course, out_turned, in_turned = each
    strongest = np.where(wind > 0, np.maximum(wind, gust_m_s or 0.0), 0.0)
    winds = (wind_from % 360.0, wind, strongest)
    ways = (
        _way_in(arrays, winds, limits, in_course, lower_speed_m_s, in_turned),
        _way_out(arrays, winds, limits, out_course, lift_speed_m_s, out_turned),
    )
    into, out = (np.where(way.flyable, way.seconds, np.inf).min(axis=-1) for way in ways)
    total: F64 = np.where(np.isfinite(into + out), into + out, np.nan)
    return total


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


def _way_in(
    around: Around, winds: Winds, limits: Limits, leg_course_deg: Wide, speed_m_s: float, turned_s: Wide
) -> _Way:
    courses = (around.bearing_deg + 180.0) % 360.0
    return _way("in", courses, around.lift_in_m, winds, limits, leg_course_deg, speed_m_s, turned_s)


def _way_out(
    around: Around, winds: Winds, limits: Limits, leg_course_deg: Wide, speed_m_s: float, turned_s: Wide
) -> _Way:
    return _way("out", around.bearing_deg, around.lift_out_m, winds, limits, leg_course_deg, speed_m_s, turned_s)


def _way(
    name: Literal["in", "out"], course_deg: F64, lift_m: F64, winds: Winds, limits: Limits,
    leg_course_deg: Wide, speed_m_s: float, turned_s: Wide,
) -> _Way:  # fmt: skip
    from_deg, steady, strongest = winds
    ahead = np.asarray(headwind(course_deg, from_deg, steady))
    across = np.asarray(crosswind(course_deg, from_deg, steady))
    tail = -np.asarray(headwind(course_deg, from_deg, strongest))
    side = np.abs(np.asarray(crosswind(course_deg, from_deg, strongest)))
    off = np.abs((course_deg - leg_course_deg + 180.0) % 360.0 - 180.0)
    turn_s = np.maximum(off / k.TURN_RATE_DEG_S.value - turned_s, 0.0)
    is_open = lift_m <= limits.lift_limit_m  # NaN: not open
    hair = 1e-9  # a wind that stands at its limit is allowed, whatever the last digit of a cosine
    calm = (tail <= limits.tailwind_m_s + hair) & (side <= limits.crosswind_m_s + hair)
    return _Way(name, course_deg, lift_m, ahead, across, turn_s, lift_m / speed_m_s + turn_s, is_open, is_open & calm)


def _governing(clearance: Clearance, way: _Way, i: int) -> Governing | None:
    arriving = way.name == "in" and clearance.arrival_governing
    return (arriving or clearance.lift_governing)[i]


def _best(clearance: Clearance, way: _Way) -> Course | None:
    if not way.flyable.any():
        return None
    cost = np.where(way.flyable, way.seconds - k.HEADWIND_WORTH_S.value * way.headwind_m_s, np.inf)
    i = int(np.argmin(np.round(cost, 6)))
    return Course(
        course_deg=float(way.course_deg[i]),
        lift_m=float(way.lift_m[i]),
        headwind_m_s=float(way.headwind_m_s[i]),
        crosswind_m_s=float(way.crosswind_m_s[i]),
        surface_8_to_1_m=float(clearance.surface_m[i]),
        surface_at_m=float(clearance.surface_at_m[i]),
        governing=_governing(clearance, way, i),
        turn_s=float(way.turn_s[i]),
    )


@dataclass(frozen=True, slots=True)
class _Words:
    """The findings of an approach, in the reader's units and in magnetic directions where the declination is known."""

    clearance: Clearance
    limits: Limits
    wind_from_deg: float
    wind_m_s: float
    declination_deg: float | None
    display: Display

    def direction(self, true_deg: float) -> str:
        if self.declination_deg is None:
            return f"{show_course(true_deg)} true"
        return f"{show_course(true_deg - self.declination_deg)} magnetic"

    def metres(self, value_m: float) -> str:
        return show(value_m, "height", self.display)

    def thing(self, governing: Governing | None) -> str:
        if governing is None:
            return "the margin over the water"
        away = show(governing.distance_m, "height", self.display)
        return f"{governing.what}, {away} out on {self.direction(governing.bearing_deg)}"

    def refusal(self, way: _Way) -> Finding:
        """Say why there is no course of one kind."""
        what = "arrival" if way.name == "in" else "departure"
        if way.open.any():
            wind = show(self.wind_m_s, "wind", self.display)
            tail = show(self.limits.tailwind_m_s, "wind", self.display)
            cross = show(self.limits.crosswind_m_s, "wind", self.display)
            return Finding(
                f"wind-{way.name}",
                f"wind {show_course(self.wind_from_deg)} true {wind}: every open {what} would have a tailwind above "
                f"{tail} or a crosswind above {cross}",
            )
        code = f"no-way-{way.name}"
        if np.isnan(way.lift_m).all():
            return Finding(code, f"no {what} is known: every corridor holds or leaves unknown ground")
        i = int(np.nanargmin(way.lift_m))
        return Finding(
            code,
            f"the lowest lift for any {what} is {self.metres(float(way.lift_m[i]))}, more than the limit of "
            f"{self.metres(self.limits.lift_limit_m)}: {self.thing(_governing(self.clearance, way, i))}",
        )

    def unknown(self, known: Bools) -> tuple[Finding, ...]:
        """Count the directions that nobody knows."""
        share = 1.0 - float(known.mean())
        if share == 0.0:
            return ()
        return (
            Finding(
                "directions-unknown",
                f"{max(1, round(100 * share))} % of the directions are not known (ground missing), and count as closed",
            ),
        )

    def one_way(self, sectors: tuple[Sector, ...], into: _Way, out: _Way) -> tuple[Finding, ...]:
        """Tell of a hole with one narrow way, or with different ways in and out."""
        if len(sectors) == 1 and width(sectors[0]) <= k.ONE_WAY_SECTOR_DEG.value:
            a, b = self.direction(sectors[0].from_deg), self.direction(sectors[0].to_deg)
            return (
                Finding(
                    "one-way",
                    f"one way in and out: the only open sector is {width(sectors[0]):.0f}° wide, from {a} to {b}",
                ),
            )
        if not sectors and into.open.any() and out.open.any():
            return (Finding("one-way", "no direction is open both ways: the way in cannot be used to leave"),)
        return ()

    def surface(self, what: str, course: Course | None) -> tuple[Finding, ...]:
        """Tell of a published surface that is penetrated, or not known, on the chosen course."""
        if course is None or course.surface_8_to_1_m == 0.0:
            return ()
        if np.isnan(course.surface_8_to_1_m):
            return (Finding("surface-unknown", f"the {what} surface is not known: its ground is missing in part"),)
        deep, away = self.metres(course.surface_8_to_1_m), self.metres(course.surface_at_m)
        return (Finding("surface-penetrated", f"the {what} surface is penetrated by {deep}, {away} from the dip"),)
