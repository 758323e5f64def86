"""What stands round a dip point: the line it takes, and the lift before moving off in each direction.

Every cell that touches a corridor counts, whatever its size, and counts at its nearest point. A corridor that holds
anything unknown, or leaves the known ground, is not known in that direction.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from diproute import constants as k
from diproute.errors import RangeError
from diproute.physics.geodesy import frame_of
from diproute.records import F64, Clearance, Ground
from diproute.sites.naming import Namer
from diproute.sites.relief import Circle, Found, Points, Relief, build_relief
from diproute.sites.rules import ClearanceRules
from diproute.sites.surfaces import Corridor
from diproute.threads import pool, threads


@dataclass(frozen=True, slots=True)
class Heights:
    """The ground made ready for sweeping: as it is, and with its wires raised by their own margin."""

    plain: Relief
    wires_raised: Relief  # the same object where there is no wire


def prepare(ground: Ground, rules: ClearanceRules) -> Heights:
    """Make a ground ready for sweeping, once for any number of surveys with the same rules."""
    plain = build_relief(ground.top)
    raised = ground.with_wire_margin(rules.wire_margin_m - rules.load_margin_m)
    return Heights(plain, plain if raised is ground.top else build_relief(raised))


@dataclass(frozen=True, slots=True)
class SurveyArrays:
    """The bare numbers of a survey: one row a point, one column a direction."""

    bearing_deg: F64  # (n,) true, outward
    line_needed_m: F64  # (points,) NaN: not known
    lift_out_m: F64  # (points, n) NaN: not known
    lift_in_m: F64  # (points, n) NaN: not known


class Sweeper:
    """The points of one survey in grid units, and the kernels run over them on all threads."""

    def __init__(self, ground: Ground, x_m: F64, y_m: F64, level_m: F64, n_directions: int) -> None:
        points = [np.atleast_1d(np.asarray(values, dtype=np.float64)) for values in (x_m, y_m, level_m)]
        self.x_m, self.y_m, level_m = (np.array(p) for p in np.broadcast_arrays(*points))
        if self.x_m.ndim != 1:
            raise RangeError(f"points of shape {self.x_m.shape}: wanted one list of x, y and water level")
        if n_directions < 4:
            raise RangeError(f"{n_directions} directions: wanted at least 4, 72 is usual")
        grid = ground.grid
        if ground.top.shape != grid.shape:
            raise RangeError(f"heights of shape {ground.top.shape} on a grid of {grid.rows} x {grid.cols} cells")
        self.cell_m = grid.cell_m
        self.bearing_deg: F64 = np.arange(n_directions, dtype=np.float64) * (360.0 / n_directions)
        convergence_deg = np.asarray(frame_of(grid).convergence_deg(self.x_m, self.y_m))
        self.convergence_deg = np.broadcast_to(convergence_deg, self.x_m.shape)
        self.points = Points(
            x=(self.x_m - grid.left_m) / grid.cell_m,
            y=(grid.top_m - self.y_m) / grid.cell_m,
            level=level_m,
            bearing=np.radians(self.bearing_deg - self.convergence_deg[:, None]),
        )

    def _run(self, work: Callable[[slice], None]) -> None:
        """Call a kernel on slices of the points, on as many threads as there may be (the kernels need no lock)."""
        n, workers = len(self.points.x), threads()
        step = max(8, -(-n // (4 * workers)))
        parts = [slice(i, i + step) for i in range(0, n, step)]
        if len(parts) <= 1 or workers == 1:
            work(slice(0, n))
            return
        with pool() as pooled:
            list(pooled.map(work, parts))

    def sweep(self, relief: Relief, corridor: Corridor, least_m: float) -> Found:
        """How far the highest thing in each direction's strip stands above its climbing line, at least `least_m`."""
        from diproute.sites import clearance_kernel

        found, strip = Found.room(self.points.bearing.shape), corridor.in_cells(self.cell_m)
        cell, least = float(self.cell_m), float(least_m)

        def work(part: slice) -> None:
            clearance_kernel.sweep(relief, self.points.part(part), strip, cell, least, found.part(part))

        self._run(work)
        return found

    def hover_room(self, relief: Relief, rules: ClearanceRules) -> Found:
        """How high the worst thing round the hover circle stands above the water, less the side surface's rise."""
        cell = float(self.cell_m)
        circle = Circle(
            radius=float(rules.hover_radius_m / cell),
            reach=float((rules.hover_radius_m + rules.side_length_m) / cell),
            side_slope=float(rules.side_slope * cell),
            stands=k.OBSTACLE_M.value,
        )
        return self.highest_in(relief, circle)

    def highest_in(self, relief: Relief, circle: Circle) -> Found:
        """How high the worst thing in a circle stands above the points' level, less the rise of the circle's side."""
        from diproute.sites import clearance_kernel

        found, cell = Found.room(self.points.x.shape), float(self.cell_m)

        def work(part: slice) -> None:
            clearance_kernel.hover_room(relief.top, self.points.part(part), circle, cell, found.part(part))

        self._run(work)
        return found

    def lifts(self, heights: Heights, rules: ClearanceRules) -> tuple[Found, Found]:
        """Sweep the departure and the arrival corridors; the answers are lifts."""
        out = self.lift(heights, rules, rules.departure)
        return out, out if rules.arrival == rules.departure else self.lift(heights, rules, rules.arrival)

    def lift(self, heights: Heights, rules: ClearanceRules, corridor: Corridor) -> Found:
        """Sweep one kind of corridor; the answers are lifts."""
        found = self.sweep(heights.wires_raised, corridor, rules.least_lift_m - rules.load_margin_m)
        np.add(found.over_m, rules.load_margin_m, out=found.over_m)
        return found

    def line(self, heights: Heights, rules: ClearanceRules) -> Found:
        """Line that the hover circle and its sides ask for."""
        found = self.hover_room(heights.wires_raised, rules)
        np.add(found.over_m, rules.rotor_margin_m - rules.bucket_length_m, out=found.over_m)
        np.maximum(found.over_m, 0.0, out=found.over_m)
        return found


def survey_arrays(
    ground: Ground, x_m: F64, y_m: F64, level_m: F64, rules: ClearanceRules, n_directions: int = 72,
    heights: Heights | None = None,
) -> SurveyArrays:  # fmt: skip
    """Measure many points quickly: the line and the lifts alone, without what asks for them.

    The definitions and the parameters are those of `survey`.

    Returns
    -------
    SurveyArrays
        The same numbers that `survey` gives in its records.
    """
    heights = heights or prepare(ground, rules)
    sweeper = Sweeper(ground, x_m, y_m, level_m, n_directions)
    out, into = sweeper.lifts(heights, rules)
    return SurveyArrays(sweeper.bearing_deg, sweeper.line(heights, rules).over_m, out.over_m, into.over_m)


def survey(
    ground: Ground, x_m: F64, y_m: F64, level_m: F64, rules: ClearanceRules, n_directions: int = 72,
    heights: Heights | None = None,
) -> list[Clearance]:  # fmt: skip
    """Measure what stands round each dip point.

    With ``z_w`` the water level, the lift in a direction is the greatest of ``top - z_w + load_margin - g·d`` over
    all cells whose square touches the corridor, ``d`` being the distance along the corridor of the cell's nearest
    point; at least ``least_lift``. The water itself counts here, as anything does. The line is the greatest of
    ``top - z_w + rotor_margin - b - side_slope·max(0, r - r0)`` over all cells that touch the circle of radius
    ``r0 + side_length``, ``r`` being the distance of the cell's nearest point; at least 0. For the line, what stands no
    more than `constants.OBSTACLE_M` above the water is the water, which needs no rotor margin. Source:
    the project's method, section 3; the side surface is 14 CFR 77.23's transitional surface.

    Parameters
    ----------
    ground
        The working grid.
    x_m, y_m
        Dip points in the working frame [m], shape (points,).
    level_m
        Water level at each [m AMSL], shape (points,) or a single value; NaN: nothing is known there.
    rules
        Margins and corridors.
    n_directions
        Directions all round, from true north, evenly spaced.
    heights
        The ground made ready by `prepare` with the same rules; None: made here.

    Returns
    -------
    list of Clearance
        One a point. ``surface_at_m`` is the distance from the dip point of the worst penetration, NaN where the
        surface is clear or not known. Nothing governs a lift that the water alone, or the least lift, asks for.

    Raises
    ------
    RangeError
        Points that are no list, fewer than 4 directions, or heights that do not fit their grid.
    """
    heights = heights or prepare(ground, rules)
    sweeper = Sweeper(ground, x_m, y_m, level_m, n_directions)
    out, into = sweeper.lifts(heights, rules)
    line = sweeper.line(heights, rules)
    surface = sweeper.sweep(heights.plain, rules.surface, 0.0)
    surface_at_m = _along(sweeper, surface, rules.surface)
    answers = []
    for p, (level, turned) in enumerate(zip(sweeper.points.level, sweeper.convergence_deg, strict=True)):
        name = Namer(ground, heights.wires_raised.top, sweeper.x_m[p], sweeper.y_m[p], level, turned)
        needed = float(line.over_m[p])
        answers.append(
            Clearance(
                bearing_deg=sweeper.bearing_deg,
                lift_out_m=out.over_m[p],
                lift_in_m=into.over_m[p],
                surface_m=surface.over_m[p],
                surface_at_m=surface_at_m[p],
                line_needed_m=needed,
                line_governing=name.governing(line.row[p], line.col[p]) if needed > 0 else None,
                lift_governing=name.each(out.row[p], out.col[p]),
                arrival_governing=() if into is out else name.each(into.row[p], into.col[p]),
            )
        )
    return answers


def _along(sweeper: Sweeper, found: Found, corridor: Corridor) -> F64:
    """Distance from the dip point, along the direction, of the cells that set the answers [m]; NaN where none does."""
    points = sweeper.points
    east = (found.col + 0.5 - points.x[:, None]) * sweeper.cell_m
    south = (found.row + 0.5 - points.y[:, None]) * sweeper.cell_m
    sin, cos = np.sin(points.bearing), np.cos(points.bearing)
    near = east * sin - south * cos - 0.5 * sweeper.cell_m * (np.abs(sin) + np.abs(cos))
    return np.where(found.row < 0, np.nan, np.maximum(near, corridor.start_m))
