"""The air over the ground as a slung load may use it: the floor, what is closed, what costs extra.

A hard area is closed to loaded and empty legs alike: an empty bucket on its line is still a slung load. Areas with a
floor are flown under where the aircraft can stay below them, areas with a ceiling are flown over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock
from typing import Any

import numpy as np
import numpy.typing as npt

from diproute.constants import WIRE_DETOUR_M
from diproute.records import F32, F64, AvoidArea, Grid, Ground, Limits
from diproute.routing.floor import coarsen, spread_top

U8 = npt.NDArray[np.uint8]
COARSE_M = 40.0  # cell of the first, quick solve
AREA_GROWN_M = 0.3  # so that no cell which a hard area only grazes is missed
FINE_CELLS = 300_000  # grids up to this many cells are solved as they are
_ONE_AT_A_TIME = Lock()  # rasterio silences a warning of its own in a way that threads undo for each other


@dataclass(frozen=True, slots=True)
class RouteRules:
    """The clearances that a route keeps."""

    cruise_clearance_m: float  # bucket's bottom over everything within the lateral clearance
    turn_clearance_m: float  # the same in the arcs and orbits of the gates
    lateral_clearance_m: float
    load_margin_m: float  # bucket's bottom over everything inside a corridor's width
    wire_margin_m: float  # over a wire, wherever it is more than the margin over other things
    corridor_start_m: float  # half-width of the corridor at its end
    corridor_spread: float
    corridor_length_m: float
    vertical_error_m: float = 0.0  # of the elevation and canopy, added to every margin
    hanging_m: float = 0.0  # the most that hangs below the aircraft: line and bucket

    @classmethod
    def of(cls, limits: Limits, vertical_error_m: float | None, hanging_m: float) -> RouteRules:
        """Take the incident's limits, the layers' vertical error, and the longest line with its bucket."""
        return cls(
            cruise_clearance_m=limits.cruise_clearance_m,
            turn_clearance_m=limits.turn_clearance_m,
            lateral_clearance_m=limits.lateral_clearance_m,
            load_margin_m=limits.load_margin_m,
            wire_margin_m=limits.wire_margin_m,
            corridor_start_m=limits.corridor_start_m,
            corridor_spread=limits.corridor_spread,
            corridor_length_m=limits.corridor_length_m,
            vertical_error_m=vertical_error_m or 0.0,
            hanging_m=hanging_m,
        )


@dataclass(frozen=True, slots=True)
class Level:
    """The airspace on one grid, fine or coarse.

    Ways are counted in its cells: column and row from the upper left corner, a cell's middle at +0.5.
    """

    grid: Grid
    factor: int  # fine cells on a side of a cell
    floor: F32  # (rows, cols) of the bucket's bottom [m AMSL], NaN: closed
    cost: U8 | None  # (rows, cols) index into Airspace.costs; None: no area costs extra

    @property
    def cell_m(self) -> float:
        """Side of a cell [m]."""
        return self.grid.cell_m

    def nodes(self, x_m: npt.ArrayLike, y_m: npt.ArrayLike) -> F64:
        """Give places [working x, y] as nodes of a way, (n, 2) column and row."""
        x, y = np.atleast_1d(np.asarray(x_m, np.float64)), np.atleast_1d(np.asarray(y_m, np.float64))
        return np.column_stack([(x - self.grid.left_m) / self.cell_m, (self.grid.top_m - y) / self.cell_m])

    def places(self, nodes: F64) -> tuple[F64, F64]:
        """Give the nodes of a way as places, x and y in the working frame [m]."""
        return self.grid.xy(nodes[:, 1] - 0.5, nodes[:, 0] - 0.5)


@dataclass(frozen=True, slots=True)
class Airspace:
    """Where a slung load may fly, on the fine grid and on a coarser one."""

    ground: Ground
    rules: RouteRules
    avoid: tuple[AvoidArea, ...]
    known: F32  # (rows, cols) floor before any area was closed [m AMSL], NaN: not known
    fine: Level
    coarse: Level  # the same object as `fine` where its cells are wide already
    costs: tuple[float, ...]  # rising, the first is 1
    near_top: F32  # (rows, cols) top with its wires raised by what their margin has over the load's, for corridors
    ceilings: F32 | None = None  # (rows, cols) of hard areas flown over [m AMSL], -inf: none; None: no such area
    roofs: F32 | None = None  # (rows, cols) highest for the bucket's bottom under hard areas, +inf: none; None: no such
    turns: F32 | None = None  # (rows, cols) floor in the gates' arcs and orbits; None: `fine` less `turn_relief_m`

    @property
    def grid(self) -> Grid:
        """The fine grid."""
        return self.ground.grid

    @property
    def turn_floor(self) -> tuple[F32, float]:
        """Floor in the gates' arcs and orbits, as heights and what is to be taken off them [m]."""
        if self.turns is not None:
            return self.turns, 0.0
        return self.fine.floor, self.rules.cruise_clearance_m - self.rules.turn_clearance_m

    @property
    def first(self) -> Level:
        """The grid of the first solve: the fine one where it is small enough."""
        return self.fine if self.fine.floor.size <= FINE_CELLS else self.coarse


def covered(grid: Grid, shapes: list[Any]) -> npt.NDArray[np.bool_]:
    """Mark every cell that a shape touches.

    Parameters
    ----------
    grid
        The grid.
    shapes
        Shapely geometries in working x, y [m].

    Returns
    -------
    ndarray of bool
        (rows, cols); a cell that is touched on its rim only counts too.
    """
    from rasterio import Affine
    from rasterio.features import rasterize

    place = Affine(grid.cell_m, 0.0, grid.left_m, 0.0, -grid.cell_m, grid.top_m)
    shapes = [shape for shape in shapes if not shape.is_empty]
    if not shapes:
        return np.zeros(grid.shape, bool)
    with _ONE_AT_A_TIME:
        burnt = rasterize(shapes, grid.shape, transform=place, all_touched=True, dtype=np.uint8)
    return np.asarray(burnt, dtype=bool)


def coarse_factor(grid: Grid) -> int:
    """How many fine cells make a side of a coarse one."""
    return max(1, round(COARSE_M / grid.cell_m))


def prepare(ground: Ground, avoid: tuple[AvoidArea, ...], rules: RouteRules, factor: int | None = None) -> Airspace:
    """Build the floor and close what a slung load must not cross.

    Parameters
    ----------
    ground
        The working grid.
    avoid
        Areas to keep out of (`hard`) or to pay for, in working x, y [m].
    rules
        The clearances.
    factor
        Fine cells on a side of a coarse one; None chooses (about 40 m).

    Returns
    -------
    Airspace
        Its floor is NaN where the ground within the lateral clearance is not known, or off the grid.

    Raises
    ------
    RangeError
        A lateral clearance below 0.
    """
    grid = ground.grid
    known = _floor(ground, rules, rules.cruise_clearance_m)
    hard = [area for area in avoid if area.hard]
    floor = known.copy() if hard else known
    ceilings = np.full(floor.shape, -np.inf, np.float32) if any(a.ceiling_m is not None for a in hard) else None
    roofs = np.full(floor.shape, np.inf, np.float32) if any(a.floor_m is not None for a in hard) else None
    for area in hard:
        inside = covered(grid, [grown(area)])
        under = passes_under(area, floor[inside], rules)
        over = np.float32(np.nan if area.ceiling_m is None else area.ceiling_m + rules.vertical_error_m)
        floor[inside] = np.where(under, floor[inside], np.maximum(floor[inside], over))
        if ceilings is not None and area.ceiling_m is not None:
            ceilings[inside] = np.where(under, ceilings[inside], np.maximum(ceilings[inside], over))
        if roofs is not None and area.floor_m is not None:
            roof = np.float32(area.floor_m - rules.hanging_m - rules.vertical_error_m)
            roofs[inside] = np.where(under, np.minimum(roofs[inside], roof), roofs[inside])
    turns = None
    if rules.wire_margin_m > rules.turn_clearance_m and ground.wires.cell.size:
        turns = np.where(np.isnan(floor), np.float32(np.nan), _floor(ground, rules, rules.turn_clearance_m))
    cost, costs = price(grid, floor, [area for area in avoid if not area.hard and area.extra_cost != 1.0], rules)
    fine = Level(grid, 1, floor, cost)
    factor = coarse_factor(grid) if factor is None else factor
    coarse = fine
    if factor > 1:
        merged = None if cost is None else coarsen(cost.astype(np.float32), factor)
        classes = None if merged is None else np.where(np.isnan(merged), 0, merged).astype(np.uint8)
        merged_floor = coarsen(floor, factor)
        rows, cols = merged_floor.shape
        coarse_grid = replace(grid, cell_m=grid.cell_m * factor, rows=rows, cols=cols)
        coarse = Level(coarse_grid, factor, merged_floor, classes)
    near_top = ground.with_wire_margin(rules.wire_margin_m - rules.load_margin_m)
    airspace = Airspace(ground, rules, avoid, known, fine, coarse, costs, near_top, ceilings, roofs, turns)
    wires = [o.geometry for o in ground.obstacles if o.is_wire]
    return priced(airspace, wires, lambda cell_m: 1.0 + WIRE_DETOUR_M.value / cell_m) if wires else airspace


def _floor(ground: Ground, rules: RouteRules, clearance_m: float) -> F32:
    """Lowest height of the bucket's bottom with a clearance over everything, a wire's margin where that is more."""
    top = ground.with_wire_margin(rules.wire_margin_m - clearance_m)
    floor = spread_top(top, ground.grid.cell_m, rules.lateral_clearance_m)
    floor += np.float32(clearance_m + rules.vertical_error_m)
    return floor


def grown(area: AvoidArea) -> Any:
    """Give a hard area's shape as the rasters hold it: a little larger."""
    return area.geometry.buffer(AREA_GROWN_M, quad_segs=2)


def passes_under(area: AvoidArea, floor: F32, rules: RouteRules) -> npt.NDArray[np.bool_]:
    """Tell where the aircraft at its floor flies below an area that begins above the ground."""
    if area.floor_m is None:
        return np.zeros(floor.shape, bool)
    return np.asarray(floor + (rules.hanging_m + rules.vertical_error_m) < area.floor_m)


def price(grid: Grid, floor: F32, areas: list[AvoidArea], rules: RouteRules) -> tuple[U8 | None, tuple[float, ...]]:
    """Give each cell the dearest factor of the areas over it, as an index into the rising factors."""
    if not areas:
        return None, (1.0,)
    costs = tuple(sorted({1.0} | {max(1.0, area.extra_cost) for area in areas}))
    out = np.zeros(grid.shape, np.uint8)
    for area in areas:
        inside = covered(grid, [area.geometry]) & ~np.isnan(floor)
        here = floor[inside]
        met = ~passes_under(area, here, rules)
        if area.ceiling_m is not None:
            met &= here < area.ceiling_m
        out[inside] = np.maximum(out[inside], np.where(met, costs.index(max(1.0, area.extra_cost)), 0))
    return out, costs


def priced(airspace: Airspace, shapes: list[Any], price_of: Callable[[float], float]) -> Airspace:
    """Put a price on the time inside shapes; dearer cells stay dearer.

    Parameters
    ----------
    airspace
        The airspace.
    shapes
        Shapely geometries in working x, y [m]; every cell touched counts.
    price_of
        Gives the factor for a size of cell [m].

    Returns
    -------
    Airspace
        A new one that shares everything else. The price weighs in the choice of a way and is no time of a leg.
    """
    levels = [airspace.fine] if airspace.coarse is airspace.fine else [airspace.fine, airspace.coarse]
    costs = tuple(sorted({*airspace.costs, *(price_of(level.cell_m) for level in levels)}))
    renamed = np.array([costs.index(c) for c in airspace.costs], dtype=np.uint8)
    out = []
    for level in levels:
        inside = covered(level.grid, shapes)
        cost = np.zeros(level.floor.shape, np.uint8) if level.cost is None else renamed[level.cost]
        cost[inside] = np.maximum(cost[inside], costs.index(price_of(level.cell_m)))
        out.append(replace(level, cost=cost))
    return replace(airspace, fine=out[0], coarse=out[-1], costs=costs)
