"""The way in and the way out of a dip point: which directions are open, and the courses that its legs fly."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from diproute import constants as k
from diproute.records import F64, Approach, Clearance, Course, Finding, Gate, Governing, Limits, Sector
from diproute.sites.wind_rules import CoursesInWind, DipWind, WindLimits, courses_in_wind

Bools = npt.NDArray[np.bool_]
Kind = Literal["in", "out"]


def open_of(clearance: Clearance, limits: Limits) -> tuple[Bools, Bools]:
    """Tell which directions the survey leaves open to arrivals and to departures, (n,) each; not known: closed."""
    return clearance.lift_in_m <= limits.lift_limit_m, clearance.lift_out_m <= limits.lift_limit_m


def approach_of(
    clearance: Clearance, wind: DipWind, limits: tuple[Limits, WindLimits], arrival: Gate | None, departure: Gate | None
) -> Approach:
    """Give the approach of a dip point as its legs fly it.

    A direction is open when the lift over its whole corridor is known and no more than ``lift_limit``, both for a
    departure along it and for an arrival over it. The courses are those of the legs' gates, which take none but such
    directions.

    Parameters
    ----------
    clearance
        What stands round the point.
    wind
        Over the dip point.
    limits
        Of the lift, and of the wind.
    arrival, departure
        Gates of the empty leg that comes in and of the loaded one that leaves; None: there is none.

    Returns
    -------
    Approach
        ``refused`` says what closes it: ``no-way-in``, ``no-way-out`` (obstacles), ``wind-in``, ``wind-out``,
        ``wind-too-strong``, ``gusts-too-wide``. Cautions: ``one-way``, ``directions-unknown``,
        ``surface-penetrated``, ``surface-unknown``.

    Raises
    ------
    RangeError
        A wind that is not known.
    """
    lifts, winds = limits
    open_in, open_out = open_of(clearance, lifts)
    known = ~(np.isnan(clearance.lift_in_m) | np.isnan(clearance.lift_out_m))
    both = open_in & open_out
    sectors = open_sectors(clearance.bearing_deg, both)
    refused: list[Finding] = []
    kinds: tuple[tuple[Kind, Bools, F64], ...] = (
        ("in", open_in, clearance.lift_in_m), ("out", open_out, clearance.lift_out_m),
    )  # fmt: skip
    for kind, is_open, lift_m in kinds:
        courses = courses_in_wind(clearance.bearing_deg, wind, winds, departure=kind == "out")
        why = _refusal(clearance, kind, (is_open, lift_m, lifts.lift_limit_m), courses)
        refused += [why] if why is not None else []
    into, out = _course(clearance, "in", arrival), _course(clearance, "out", departure)
    return Approach(
        open=both,
        known=known,
        open_share=float(both.mean()),
        sectors=sectors,
        arrival=into,
        departure=out,
        refused=tuple(dict.fromkeys(refused)),
        cautions=(
            *_unknown(known),
            *_one_way(sectors, open_in, open_out),
            *_surface("arrival", into),
            *_surface("departure", out),
        ),
    )


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


def _governing(clearance: Clearance, kind: Kind, i: int) -> Governing | None:
    return ((kind == "in" and clearance.arrival_governing) or clearance.lift_governing)[i]


def _course(clearance: Clearance, kind: Kind, gate: Gate | None) -> Course | None:
    """Give a leg's course with what the survey says of its direction."""
    if gate is None:
        return None
    outward = gate.course_deg if kind == "out" else (gate.course_deg + 180.0) % 360.0
    off = np.abs((clearance.bearing_deg - outward + 180.0) % 360.0 - 180.0)
    i = int(np.argmin(off))
    return Course(
        course_deg=gate.course_deg,
        lift_m=gate.lift_m,
        headwind_m_s=gate.headwind_m_s,
        crosswind_m_s=gate.crosswind_m_s,
        surface_8_to_1_m=float(clearance.surface_m[i]),
        surface_at_m=float(clearance.surface_at_m[i]),
        governing=_governing(clearance, kind, i),
        gradient=gate.gradient,
        straight_m=gate.straight_m,
    )


def _refusal(
    clearance: Clearance, kind: Kind, lifts: tuple[Bools, F64, float], courses: CoursesInWind
) -> Finding | None:
    """Say why there is no course of one kind; None where there is."""
    is_open, lift_m, limit_m = lifts
    if is_open.any():
        return None if (is_open & courses.allowed[0]).any() else courses.refused(0)
    known = np.flatnonzero(~np.isnan(lift_m))
    i = int(known[np.argmin(lift_m[known])]) if known.size else None
    thing = None if i is None else _governing(clearance, kind, i)
    return Finding.of(
        f"no-way-{kind}",
        lift_m=None if i is None else float(lift_m[i]),
        limit_m=limit_m,
        thing=None if thing is None else thing.told,
    )


def _unknown(known: Bools) -> tuple[Finding, ...]:
    """Count the directions that nobody knows; a few of very many are still one in a hundred."""
    share = 1.0 - float(known.mean())
    return () if share == 0.0 else (Finding.of("directions-unknown", share=max(0.01, share)),)


def _one_way(sectors: tuple[Sector, ...], open_in: Bools, open_out: Bools) -> tuple[Finding, ...]:
    """Tell of a confined area with one narrow way, or with different ways in and out."""
    if len(sectors) == 1 and width(sectors[0]) <= k.ONE_WAY_SECTOR_DEG.value:
        only = sectors[0]
        return (Finding.of("one-way", width_deg=width(only), from_deg=only.from_deg, to_deg=only.to_deg),)
    if not sectors and open_in.any() and open_out.any():
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
