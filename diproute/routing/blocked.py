"""Why there is no way: the area, or the ground, that blocks it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from diproute.constants import STRONGEST_WIND
from diproute.records import I64, AvoidArea, Finding, Grid
from diproute.routing.airspace import Airspace, covered, grown, passes_under
from diproute.routing.speed_model import SpeedModel

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Blocked:
    """No way for a slung load, and what is in it."""

    why: Finding  # "blocked-area", "blocked-unknown", "blocked-wind"
    names: tuple[str, ...]  # of the areas
    geometry: Any  # shapely, what blocks, in working x, y


def why_blocked(airspace: Airspace, model: SpeedModel, sources: I64, x_m: float, y_m: float) -> Blocked:
    """Find what stands between a site and every source.

    Parameters
    ----------
    airspace
        The airspace.
    model
        Its fine level as set up for the field.
    sources
        (n, 2) column and row of the sources.
    x_m, y_m
        The site [m].

    Returns
    -------
    Blocked
        The areas that open the way when they are taken off, as few as are needed; else the ground that is not known
        or the wind that is too strong, drawn as the closed stretch of the straight line.
    """
    row, col = airspace.grid.rowcol(x_m, y_m)
    site: I64 = np.array([col, row])
    at_site = covering(airspace, x_m, y_m)
    if at_site is not None:
        return at_site
    known = ~np.isnan(airspace.known)
    windy = ~np.isnan(airspace.fine.floor) & (model.code == 0)
    windy[[0, -1], :] = False
    windy[:, [0, -1]] = False
    shut = [(area, closed_cells(airspace, area)) for area in airspace.avoid if area.hard]

    def free(*others: Mask) -> bool:
        return joined(known & ~windy & ~np.any(others, axis=0) if others else known & ~windy, site, sources)

    if free(*(mask for _, mask in shut)):
        return Blocked(Finding.of("blocked-wind", share=None), (), _straight(airspace.grid, x_m, y_m, sources))
    if free():
        kept = list(shut)
        for pair in shut:  # put back every area that does not matter; what stays out blocks
            trial = [p for p in kept if p is not pair]
            if not free(*(mask for _, mask in shut if not any(mask is m for _, m in trial))):
                continue
            kept = trial
        return _by_areas([area for area, _ in kept])
    line = _closed_stretch(airspace, known & ~windy, site, sources)
    if joined(known, site, sources):
        return Blocked(Finding.of("blocked-wind", share=STRONGEST_WIND.value), (), line)
    return Blocked(Finding.of("blocked-unknown", at_site=False), (), line)


def covering(airspace: Airspace, x_m: float, y_m: float) -> Blocked | None:
    """Tell what closes the site's own cell; None: nothing does."""
    import shapely

    grid = airspace.grid
    row, col = (int(i) for i in grid.rowcol(x_m, y_m))
    if np.isnan(airspace.known[row, col]):
        return Blocked(Finding.of("blocked-unknown", at_site=True), (), shapely.Point(x_m, y_m))
    if not np.isnan(airspace.fine.floor[row, col]):
        return None
    (left, right), (top, bottom) = grid.xy([row - 0.5, row + 0.5], [col - 0.5, col + 0.5])
    cell = shapely.box(left, bottom, right, top)
    over = [area for area in airspace.avoid if area.hard and grown(area).intersects(cell)]
    floor = airspace.known[row : row + 1, col]
    over = [a for a in over if a.ceiling_m is None and not passes_under(a, floor, airspace.rules)[0]]
    return _by_areas(over) if over else None


def under_ceiling(airspace: Airspace, x_m: float, y_m: float, bottom_m: float) -> Blocked | None:
    """Tell which hard area an end of a leg lies in, below its ceiling; None: in none."""
    import shapely

    row, col = (int(i) for i in airspace.grid.rowcol(x_m, y_m))
    if airspace.ceilings is None or not airspace.ceilings[row, col] > bottom_m:
        return None
    (left, right), (top, bottom) = airspace.grid.xy([row - 0.5, row + 0.5], [col - 0.5, col + 0.5])
    cell = shapely.box(left, bottom, right, top)
    error = airspace.rules.vertical_error_m
    shut = [(area, area.ceiling_m) for area in airspace.avoid if area.hard and grown(area).intersects(cell)]
    return _by_areas([area for area, ceiling in shut if ceiling is not None and ceiling + error > bottom_m])


def _by_areas(areas: list[AvoidArea]) -> Blocked:
    import shapely

    told = tuple(Finding.of("area", name=area.name, why=area.why) for area in areas)
    return Blocked(
        Finding.of("blocked-area", areas=told),
        tuple(area.name for area in areas),
        shapely.union_all([area.geometry for area in areas]),
    )


def closed_cells(airspace: Airspace, area: AvoidArea) -> Mask:
    """Cells that a hard area closes: neither flown under nor over."""
    inside = covered(airspace.grid, [grown(area)])
    if area.ceiling_m is None:
        inside[inside] = ~passes_under(area, airspace.known[inside], airspace.rules)
    else:
        inside[:] = False
    return inside


def joined(open_cells: Mask, site: I64, sources: I64) -> bool:
    """Tell whether the site and a source lie in one piece of open cells, joined by their sides."""
    from scipy.ndimage import label

    open_cells = open_cells.copy()
    open_cells[[0, -1], :] = False
    open_cells[:, [0, -1]] = False
    pieces, _ = label(open_cells)
    here = pieces[site[1], site[0]]
    return bool(here > 0 and (pieces[sources[:, 1], sources[:, 0]] == here).any())


def _straight(grid: Grid, x_m: float, y_m: float, sources: I64) -> Any:
    """Give the straight line from the site to the first source."""
    import shapely

    col, row = sources[0]
    return shapely.LineString([(x_m, y_m), grid.xy(row, col)])


def _closed_stretch(airspace: Airspace, open_cells: Mask, site: I64, sources: I64) -> Any:
    """Give the part of the straight line to the nearest source that lies over closed cells."""
    import shapely

    source = sources[np.argmin(((sources - site) ** 2).sum(axis=1))]
    steps = np.linspace(site, source, int(np.abs(source - site).max()) + 2)
    cells = np.round(steps).astype(np.int64)
    shut = np.flatnonzero(~open_cells[cells[:, 1], cells[:, 0]])
    ends = steps[[shut[0], shut[-1]]] if shut.size else steps[[0, -1]]
    return shapely.LineString(np.column_stack(airspace.grid.xy(ends[:, 1], ends[:, 0])))
