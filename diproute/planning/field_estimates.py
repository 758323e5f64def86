"""What the travel-time fields say of many points before any leg is flown: rough times and courses, for choosing.

No number from here is reported.
"""

from __future__ import annotations

import numpy as np

from diproute.planning.prepared import Places
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64
from diproute.routing.travel_time import Field

ROUNDABOUT = 1.5  # of the straight line, where the first solve found no way


def rough_seconds(fields: TravelFields, x_m: F64, y_m: F64, bottom_m: F64) -> tuple[F64, F64]:
    """Estimate the loaded and the empty leg of many points.

    Where the first solve found no way, the straight line at the slower airspeed with half as much again stands in: a
    point is never given up before its own fine solve.

    Parameters
    ----------
    fields
        The fields.
    x_m, y_m
        The points [m], shape (n,).
    bottom_m
        Height at which the bucket's bottom leaves them or comes in [m AMSL], shape (n,).

    Returns
    -------
    loaded, empty : numpy.ndarray
        To each drop and back [s], shape (drops, n).
    """
    craft = fields.prepared.incident.helicopter
    out = []
    for some, rate_m_s in ((fields.loaded, craft.climb_loaded_m_s), (fields.empty, craft.descent_empty_m_s)):
        seconds = []
        for field, drop in zip(some, fields.prepared.drops, strict=True):
            known = _with_climb(field, x_m, y_m, bottom_m, rate_m_s)
            seconds.append(np.where(np.isnan(known), _straight_s(field, drop, x_m, y_m), known))
        out.append(np.array(seconds))
    return out[0], out[1]


def rough_ferries(fields: TravelFields, x_m: F64, y_m: F64) -> tuple[F64, F64] | None:
    """Estimate the ways from the base to many points, and home from the drop that lies farthest from it.

    Returns
    -------
    tuple of numpy.ndarray or None
        Out and home [s], shape (n,); None: no base.
    """
    base = fields.prepared.base
    if fields.from_base is None or fields.to_base is None or base is None:
        return None
    known = fields.from_base.seconds(x_m, y_m)
    out = np.where(np.isnan(known), _straight_s(fields.from_base, base, x_m, y_m), known)
    farthest = 0.0
    for drop in fields.prepared.drops:
        there = np.isfinite(drop.bottom_m)
        x, y = drop.x_m[there], drop.y_m[there]
        known = fields.to_base.seconds(x, y)
        each = np.where(np.isnan(known), _straight_s(fields.to_base, base, x, y), known)
        farthest = max(farthest, float(each.max()))
    return out, np.full(x_m.shape, farthest)


def _straight_s(field: Field, places: Places, x_m: F64, y_m: F64) -> F64:
    """Time of a roundabout way from points to the nearest of some places [s]."""
    away = np.min(np.hypot(x_m[:, None] - places.x_m, y_m[:, None] - places.y_m), axis=1)
    seconds: F64 = ROUNDABOUT * away / field.flying.airspeed_m_s
    return seconds


def _with_climb(field: Field, x_m: F64, y_m: F64, bottom_m: F64, rate_m_s: float) -> F64:
    """Time along the steepest way down the field, at least what climbing from the point to each height on it takes.

    The field itself knows only the climb or descent at the drop's end, which is the same for every point.
    """
    seconds = field.seconds(x_m, y_m)
    cell, rules = field.first.level.cell_m, field.airspace.rules
    cols = field.time.shape[1]
    time, floor = field.time.ravel(), field.first.height.ravel()
    around = np.array([dr * cols + dc for dr in (-1, 0, 1) for dc in (-1, 0, 1) if dr or dc])
    moving = np.flatnonzero(np.isfinite(seconds))
    row, col = field.first.level.grid.rowcol(x_m[moving], y_m[moving])
    at = row * cols + col
    gone_m = 0.0  # at most, so that the lower floor near the point is never given up too early
    while moving.size:
        lower = rules.cruise_clearance_m - rules.load_margin_m if gone_m < rules.corridor_length_m else 0.0
        climb = (floor[at] - lower - bottom_m[moving]) / rate_m_s
        seconds[moving] = np.fmax(seconds[moving], time[at] + climb)
        beside = at[:, None] + around
        after = beside[np.arange(at.size), np.argmin(time[beside], axis=1)]
        down = time[after] < time[at]
        moving, at = moving[down], after[down]
        gone_m += cell
    return seconds


def rough_courses(fields: TravelFields, x_m: F64, y_m: F64) -> tuple[F64, F64]:
    """Estimate the true courses on which the loaded leg leaves and the empty leg comes in, to and from the main drop.

    The course is down (loaded) or up (empty) the travel-time field, the straight one where the field has no slope.
    """
    main = fields.prepared.main_drop
    drop = fields.prepared.drops[main]
    nearest = np.argmin(np.hypot(x_m[:, None] - drop.x_m, y_m[:, None] - drop.y_m), axis=1)
    east, north = drop.x_m[nearest] - x_m, drop.y_m[nearest] - y_m
    convergence = np.asarray(fields.prepared.opened.frame.convergence_deg(x_m, y_m))
    courses = []
    for field, sign in ((fields.loaded[main], 1.0), (fields.empty[main], -1.0)):
        step = 2 * field.first.level.cell_m
        down_x = field.seconds(x_m - step, y_m) - field.seconds(x_m + step, y_m)
        down_y = field.seconds(x_m, y_m - step) - field.seconds(x_m, y_m + step)
        sloped = np.isfinite(down_x + down_y) & (np.hypot(down_x, down_y) > 0)
        grid_course = np.degrees(
            np.arctan2(sign * np.where(sloped, down_x, east), sign * np.where(sloped, down_y, north))
        )
        courses.append((grid_course + convergence) % 360)
    return courses[0], courses[1]
