"""Points of a water body where the bucket may go in: many at first, then the few worth judging in full."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.physics.geodesy import frame_of
from diproute.records import F64, DipPoint, Finding, Grid, Ground, Limits, Mixed, WaterBody
from diproute.sites.clearance import SurveyArrays

FEWEST: Final = 60  # a small water is sampled more closely, down to CLOSEST_M, to get about so many points
CLOSEST_M: Final = 10.0
UPWIND_DEG: Final = 30.0  # shelter is what stands within so much of the wind's direction


@dataclass(frozen=True, slots=True)
class Spread:
    """Points spread over one water body. Arrays have one entry a point."""

    water: WaterBody
    x_m: F64
    y_m: F64
    level_low_m: F64  # lift and line count from here [m AMSL]; NaN: not known
    level_high_m: F64  # the air is taken from here [m AMSL]; NaN: not known
    shore_m: F64  # to the nearest shore or island
    drop_m: F64  # to the nearest of the places it was spread round
    refused: Finding | None = None  # then the points are the widest place alone, or none


def spread(
    water: WaterBody, ground: Ground, shore_clearance_m: float, within: Sequence[tuple[float, float, float]],
    spacing_m: float = 50.0, most: int = 4000,
) -> Spread:  # fmt: skip
    """Spread points over the part of a water body where the bucket may go in.

    A regular grid, closer on a small water; the edge of the allowed part and a line half way inside it, so that no
    narrow arm is missed; the widest place (pole of inaccessibility); and the point nearest to each place served.
    A water too large for the spacing keeps it near those places and is sampled more widely beyond.

    Parameters
    ----------
    water
        The water body, its polygon valid, islands as holes.
    ground
        The working grid, for the level of flowing water.
    shore_clearance_m
        Least distance to any shore or island [m].
    within
        Places served, each with the radius to search: x, y, radius in the working frame [m].
    spacing_m
        Distance between neighbouring points [m].
    most
        About as many points as are wanted at most.

    Returns
    -------
    Spread
        Every point at least `shore_clearance_m` from the shore, measured exactly. Refused, with code
        ``shore-clearance`` and the widest place as its only point, when the water is too narrow; with
        ``out-of-reach`` and no point when none of it lies within the radius.

    Raises
    ------
    RangeError
        No place to search round, or a spacing of 0 or less.
    """
    import shapely

    if not within or not spacing_m > 0 or not shore_clearance_m >= 0:
        raise RangeError(f"{len(within)} places, spacing {spacing_m} m: wanted at least one place and sizes above 0")
    places = np.array([(x, y) for x, y, _ in within], dtype=np.float64)
    radii = [radius for _, _, radius in within]
    discs = shapely.union_all(shapely.buffer(shapely.points(places), radii, quad_segs=64))
    near = water.polygon.intersection(discs.buffer(2 * shore_clearance_m + 1.0))
    reached = near.intersection(discs)
    if reached.area == 0:
        far = Finding.of("out-of-reach", water=water.name)
        return _measured(water, ground, np.empty((0, 2)), places, far)
    shrunk = near.buffer(-(shore_clearance_m * (1 + 1e-4) + 1e-3), quad_segs=64).intersection(discs)
    if shrunk.area == 0:
        pole, _ = _pole(reached)
        only = _measured(water, ground, pole, places, None)
        shore_m = float(only.shore_m[0])
        narrow = Finding.of(
            "shore-clearance",
            water=water.name,
            shore_m=shore_m,
            short_m=max(0.1, shore_clearance_m - shore_m),
            needed_m=shore_clearance_m,
        )
        return _measured(water, ground, pole, places, narrow)
    pole, inside = _pole(shrunk)
    nearest = shapely.get_point(shapely.shortest_line(shrunk, shapely.points(places)), 0)
    rings = [shrunk, shrunk.buffer(-inside / 2)]
    found = np.concatenate([
        pole, shapely.get_coordinates(nearest), _lattice(shrunk, places, spacing_m, most),
        *(_ring_points(ring, spacing_m, most // 4) for ring in rings if not ring.is_empty),
    ])  # fmt: skip
    _, first = np.unique(np.round(found, 2), axis=0, return_index=True)
    every = _measured(water, ground, found[np.sort(first)], places, None)
    good = every.shore_m >= shore_clearance_m
    return Spread(
        water, every.x_m[good], every.y_m[good], every.level_low_m[good], every.level_high_m[good],
        every.shore_m[good], every.drop_m[good],
    )  # fmt: skip


def _pole(area: Any) -> tuple[F64, float]:
    """Point of an area farthest from its edge, shape (1, 2), and how far that is [m]."""
    import shapely

    line = shapely.maximum_inscribed_circle(area, tolerance=max(0.02, math.sqrt(area.area) / 1000))
    return shapely.get_coordinates(line)[:1], float(line.length)


def _lattice(area: Any, places: F64, spacing_m: float, most: int) -> F64:
    """Grid points inside an area, thinned far from the places served when there would be too many."""
    spacing = min(spacing_m, max(CLOSEST_M, math.sqrt(area.area / FEWEST)))
    if area.area <= most * spacing**2:
        return _grid_points(area, spacing)
    import shapely

    targets = shapely.points(places)
    ring = math.sqrt(most) * spacing / 2  # as wide a fringe as half the points would fill as a square
    fringe = shapely.union_all(shapely.buffer(targets, shapely.distance(targets, area) + ring))
    fine = _grid_points(area.intersection(fringe), spacing)
    fine = fine[np.argsort(_to_nearest(fine, places), kind="stable")[: most // 2]]
    return np.concatenate([fine, _grid_points(area, math.sqrt(area.area / (most / 2)))])


def _grid_points(area: Any, spacing: float) -> F64:
    import shapely

    if area.is_empty:
        return np.empty((0, 2))
    left, bottom, right, top = area.bounds
    x = np.arange(math.ceil(left / spacing), math.floor(right / spacing) + 1) * spacing
    y = np.arange(math.ceil(bottom / spacing), math.floor(top / spacing) + 1) * spacing
    xs, ys = (a.ravel() for a in np.meshgrid(x, y))
    shapely.prepare(area)
    inside = shapely.contains_xy(area, xs, ys)
    return np.column_stack([xs[inside], ys[inside]])


def _ring_points(area: Any, spacing_m: float, most: int) -> F64:
    """Points along the edge of an area, each ring from its start."""
    import shapely

    step = max(spacing_m, area.length / most)
    rings = shapely.get_rings(shapely.get_parts(area))
    along = [np.arange(0, ring.length, step) for ring in rings]
    return np.concatenate([
        shapely.get_coordinates(shapely.line_interpolate_point(ring, d)) for ring, d in zip(rings, along, strict=True)
    ])  # fmt: skip


def _to_nearest(points: F64, places: F64) -> F64:
    """Distance of each point to the nearest place [m]."""
    from scipy.spatial import cKDTree

    distance: F64 = cKDTree(places).query(points)[0]
    return distance


def _measured(water: WaterBody, ground: Ground, points: F64, places: F64, refused: Finding | None) -> Spread:
    """Measure points: level, exact distance to the shore, distance to the nearest place."""
    import shapely

    if len(points) == 0:
        none: F64 = np.empty(0)
        return Spread(water, none, none, none, none, none, none, refused)
    rings = shapely.get_rings(shapely.get_parts(water.polygon))
    sides = np.concatenate([np.stack([xy[:-1], xy[1:]], axis=1) for xy in map(shapely.get_coordinates, rings)])
    tree = shapely.STRtree(shapely.linestrings(sides))
    spots = shapely.points(points)
    (which, _), distance = tree.query_nearest(spots, return_distance=True, all_matches=False)
    shore = np.empty(len(points))
    shore[which] = distance
    x, y = points[:, 0].copy(), points[:, 1].copy()
    low, high = _levels(water, ground, (x, y), shore)
    return Spread(water, x, y, low, high, shore, _to_nearest(points, places), refused)


def _levels(water: WaterBody, ground: Ground, points: tuple[F64, F64], shore_m: F64) -> tuple[F64, F64]:
    """Give the low and the high end of the water level at points [m AMSL]: the body's own, or as the water flows.

    Flowing water lies between the lowest ground of the elevation's 3 x 3 cells round a point and the ground at the
    point. Where the shore is so near that the cells hold land as well it may lie lower still, see
    `records.Seen`. Still water whose ground strays does not slope, its layers do not match: the body's
    low level makes the shores tall.
    """
    if not water.flows:
        return np.full(len(shore_m), water.level_low_m), np.full(len(shore_m), water.level_high_m)
    grid, seen = ground.grid, ground.seen
    row, col = grid.rowcol(*points)

    def at(dr: int, dc: int) -> F64:
        return ground.ground[np.clip(row + dr, 0, grid.rows - 1), np.clip(col + dc, 0, grid.cols - 1)].astype(float)

    here = at(0, 0)
    lowest, highest = here, here
    reach = math.ceil(seen.cell_m / grid.cell_m - 0.01)
    for dr in range(-reach, reach + 1):
        for dc in range(-reach, reach + 1):
            lowest, highest = np.fmin(lowest, at(dr, dc)), np.fmax(highest, at(dr, dc))
    low, high = seen.mixed_level(Mixed(lowest, here, shore_m / seen.cell_m, lowest, highest))
    pure = shore_m >= seen.pure_m
    low, high = np.where(pure, lowest - seen.error_m, low), np.where(pure, here + seen.error_m, high)
    known = grid.holds(row, col) & np.isfinite(here)
    return np.where(known, low, np.nan), np.where(known, high, np.nan)


def openness(arrays: SurveyArrays, limits: Limits) -> F64:
    """Share of the directions open to both arrival and departure, wind aside, by point [0 to 1]."""
    both = (arrays.lift_out_m <= limits.lift_limit_m) & (arrays.lift_in_m <= limits.lift_limit_m)
    share: F64 = both.mean(axis=1)
    return share


def shelter(arrays: SurveyArrays, wind_from_deg: float) -> F64:
    """How much stands upwind of each point: the mean lift towards the wind [m], NaN where any of it is not known."""
    off = np.abs((arrays.bearing_deg - wind_from_deg + 180.0) % 360.0 - 180.0)
    upwind: F64 = arrays.lift_out_m[:, off <= UPWIND_DEG].mean(axis=1)
    return upwind


def representatives(
    points: Spread, value: F64, spacing_m: float, n: int, also: Mapping[str, F64] | None = None
) -> tuple[tuple[int, str], ...]:
    """Pick the few points of a water body that are worth judging in full.

    First the point of the greatest value, then the best by each further measure, then the next greatest values;
    always at least `spacing_m` from those already picked.

    Parameters
    ----------
    points
        Points of one water body.
    value
        Estimated water an hour [any unit, greater is better], shape (points,); NaN: not usable, picked only by a
        further measure.
    spacing_m
        Least distance between picked points [m].
    n
        How many at most.
    also
        Further measures, greater is better, by the words that say what the point is chosen for, in order; by default
        ``"nearest the drop"`` and ``"deepest inside"``.

    Returns
    -------
    tuple of (int, str)
        Index of the point and what it was chosen for, in the order of picking.

    Raises
    ------
    RangeError
        Arrays whose length is not the number of points.
    """
    measures = also if also is not None else {"nearest the drop": -points.drop_m, "deepest inside": points.shore_m}
    for name, array in {"value": value, **measures}.items():
        if np.shape(array) != points.x_m.shape:
            raise RangeError(f"{name}: {np.shape(array)} values for {len(points.x_m)} points; give each point one")
    xy = np.column_stack([points.x_m, points.y_m])
    worth = np.where(np.isnan(value), -np.inf, value)
    free = np.ones(len(xy), dtype=np.bool_)
    picked: list[tuple[int, str]] = []

    def greatest(measure: F64, among: npt.NDArray[np.bool_]) -> int | None:
        usable = np.flatnonzero(among & np.isfinite(measure))
        order = np.lexsort((-usable, worth[usable], measure[usable]))  # equals: by worth, then the first
        return int(usable[order[-1]]) if len(usable) else None

    def pick(i: int, words: str) -> None:
        picked.append((i, words))
        free[np.hypot(*(xy - xy[i]).T) < spacing_m] = False

    if (best := greatest(worth, free)) is not None:
        pick(best, "most water an hour")
    for words, measure in measures.items():
        best = greatest(measure, np.ones_like(free))
        if best is not None and free[best]:  # else a picked point stands for it
            pick(best, words)
    while len(picked) < n and (best := greatest(worth, free)) is not None:
        pick(best, "most water an hour")
    return tuple(picked[:n])


def dip_points(points: Spread, picked: Sequence[tuple[int, str]], grid: Grid) -> tuple[DipPoint, ...]:
    """Make the records of picked points, with their geographic positions.

    Parameters
    ----------
    points
        Points of one water body.
    picked
        Index of each and what it was chosen for, as `representatives` gives them.
    grid
        The working grid.
    """
    frame = frame_of(grid)
    made = []
    for i, words in picked:
        x, y = float(points.x_m[i]), float(points.y_m[i])
        lon, lat = frame.to_lonlat(x, y)
        low, high, shore = (float(v[i]) for v in (points.level_low_m, points.level_high_m, points.shore_m))
        made.append(DipPoint(points.water, x, y, float(lat), float(lon), low, high, shore, words))
    return tuple(made)
