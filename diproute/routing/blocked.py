"""Why there is no way: the area, or the ground, that blocks it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from diproute.records import AvoidArea, Grid
from diproute.routing.airspace import Airspace, covered, passes_under
from diproute.routing.speed_model import SpeedModel

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Blocked:
    """No way for a slung load, and what is in it."""

    code: Literal["area", "unknown", "wind"]
    because: str
    names: tuple[str, ...]  # of the areas
    geometry: Any  # shapely, what blocks, in working x, y


def why_blocked(
    airspace: Airspace, medium: SpeedModel, sources: npt.NDArray[np.int64], x_m: float, y_m: float
) -> Blocked:  # fmt: skip
    """Find what stands between a site and every source.

    Parameters
    ----------
    airspace
        The airspace.
    medium
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
    grid = airspace.grid
    site = np.array([(x_m - grid.left_m) // grid.cell_m, (grid.top_m - y_m) // grid.cell_m], dtype=np.int64)
    at_site = covering(airspace, x_m, y_m, site)
    if at_site is not None:
        return at_site
    known = ~np.isnan(airspace.known)
    windy = ~np.isnan(airspace.fine.floor) & (medium.code == 0)
    windy[[0, -1], :] = False
    windy[:, [0, -1]] = False
    shut = [(area, closed_cells(airspace, area)) for area in airspace.avoid if area.hard]

    def free(*others: Mask) -> bool:
        return joined(known & ~windy & ~np.any(others, axis=0) if others else known & ~windy, site, sources)

    if free(*(mask for _, mask in shut)):
        return Blocked(
            "wind", "at the height flown the wind leaves no way over the ground", (), _straight(grid, x_m, y_m, sources)
        )
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
        return Blocked("wind", "the wind between here and there is more than 0.6 of the airspeed", (), line)
    return Blocked("unknown", "the ground, or what stands on it, is not known between here and there", (), line)


def covering(airspace: Airspace, x_m: float, y_m: float, site: npt.NDArray[np.int64]) -> Blocked | None:
    """Tell what closes the site's own cell; None: nothing does."""
    import shapely

    col, row = site
    if np.isnan(airspace.known[row, col]):
        return Blocked(
            "unknown", "the ground, or what stands on it, is not known at the site", (), shapely.Point(x_m, y_m)
        )
    if not np.isnan(airspace.fine.floor[row, col]):
        return None
    grid = airspace.grid
    left, top = grid.left_m + col * grid.cell_m, grid.top_m - row * grid.cell_m
    cell = shapely.box(left, top - grid.cell_m, left + grid.cell_m, top)
    over = [area for area in airspace.avoid if area.hard and area.geometry.intersects(cell)]
    floor = airspace.known[row : row + 1, col]
    over = [a for a in over if a.ceiling_m is None and not passes_under(a, floor, airspace.rules.hanging_m)[0]]
    return _by_areas(over) if over else None


def _by_areas(areas: list[AvoidArea]) -> Blocked:
    import shapely

    names = tuple(area.name for area in areas)
    word = " and ".join(names)
    return Blocked(
        "area", f"no way that keeps a slung load clear of {word} ({areas[0].because})", names,
        shapely.union_all([area.geometry for area in areas]),
    )  # fmt: skip


def closed_cells(airspace: Airspace, area: AvoidArea) -> Mask:
    """Cells that a hard area closes: neither flown under nor over."""
    inside = covered(airspace.grid, [area.geometry])
    if area.ceiling_m is None:
        inside[inside] = ~passes_under(area, airspace.known[inside], airspace.rules.hanging_m)
    else:
        inside[:] = False
    return inside


def joined(open_cells: Mask, site: npt.NDArray[np.int64], sources: npt.NDArray[np.int64]) -> bool:
    """Tell whether the site and a source lie in one piece of open cells, joined by their sides."""
    from scipy.ndimage import label

    open_cells = open_cells.copy()
    open_cells[[0, -1], :] = False
    open_cells[:, [0, -1]] = False
    pieces, _ = label(open_cells)
    here = pieces[site[1], site[0]]
    return bool(here > 0 and (pieces[sources[:, 1], sources[:, 0]] == here).any())


def _straight(grid: Grid, x_m: float, y_m: float, sources: npt.NDArray[np.int64]) -> Any:
    """Give the straight line from the site to the first source."""
    import shapely

    col, row = sources[0]
    end = (grid.left_m + (col + 0.5) * grid.cell_m, grid.top_m - (row + 0.5) * grid.cell_m)
    return shapely.LineString([(x_m, y_m), end])


def _closed_stretch(
    airspace: Airspace, open_cells: Mask, site: npt.NDArray[np.int64], sources: npt.NDArray[np.int64]
) -> Any:
    """Give the part of the straight line to the nearest source that lies over closed cells."""
    import shapely

    grid = airspace.grid
    source = sources[np.argmin(((sources - site) ** 2).sum(axis=1))]
    steps = np.linspace(site, source, int(np.abs(source - site).max()) + 2)
    cells = np.round(steps).astype(np.int64)
    shut = np.flatnonzero(~open_cells[cells[:, 1], cells[:, 0]])
    ends = steps[[shut[0], shut[-1]]] if shut.size else steps[[0, -1]]
    return shapely.LineString(
        np.column_stack([grid.left_m + (ends[:, 0] + 0.5) * grid.cell_m, grid.top_m - (ends[:, 1] + 0.5) * grid.cell_m])
    )
