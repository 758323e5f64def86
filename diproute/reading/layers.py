"""The open layers of an incident, read once and laid onto one working grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from diproute.constants import BASE_MARGIN_M, DROPS_APART_M, EXTENT_MARGIN_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.avoid import read_avoid
from diproute.reading.canopy import read_canopy, taller_than
from diproute.reading.cross_checks import Place, look_across
from diproute.reading.grid import Circle, bounds_of, box_round, lay_grid, middle
from diproute.reading.ground import Elevation, coverage, open_tiles, read_elevation
from diproute.reading.layer_sources import list_sources
from diproute.reading.obstacles import read_obstacles
from diproute.reading.raising import raise_top
from diproute.reading.vectors import middle_of, read_features
from diproute.reading.water import read_waters
from diproute.reading.water_level import with_levels
from diproute.reading.water_names import Mark, with_names
from diproute.records import (
    F32,
    F64,
    AvoidArea,
    Drop,
    Finding,
    Grid,
    Ground,
    Incident,
    Layers,
    LeftOut,
    Obstacle,
    WaterBody,
)

_STEP_M: Final = 50.0  # along a drop line
_MOST_CIRCLES: Final = 60  # of the search round a long drop line


@dataclass(frozen=True, slots=True)
class DropPlace:
    """A drop in the working frame: one point, or the points of a line, at most 50 m apart."""

    name: str
    share: float
    x_m: F64  # (n,)
    y_m: F64  # (n,)


@dataclass(frozen=True, slots=True)
class Opened:
    """Everything that the layers say, in the working frame."""

    frame: LocalFrame
    ground: Ground
    waters: tuple[WaterBody, ...]
    left_out: tuple[LeftOut, ...]
    avoid: tuple[AvoidArea, ...]
    drops: tuple[DropPlace, ...]
    cautions: tuple[Finding, ...]  # of all the layers, those of the ground included


def open_layers(incident: Incident) -> Opened:
    """Read an incident's layers onto one working grid.

    Parameters
    ----------
    incident
        The incident: its layers, drops, base, search and limits are looked at, and where its weather came from.

    Returns
    -------
    Opened
        The same for the same input, whatever the order of files and tiles.

    Raises
    ------
    LayerError
        A layer that cannot be read, does not say where it lies or in which unit, or does not reach the search.
    """
    layers = incident.layers
    frame, drops = _place_drops(incident.drops)
    search = _search(drops, incident.search.radius_m)
    looked_at = box_round(_looked_at(incident, frame, search))
    tiles, native_m = open_tiles(layers, frame, box_round(search), looked_at)
    grid, coarse = lay_grid(frame, looked_at, native_m)
    waters, left_out, of_waters = read_waters(layers.water, frame, grid)
    mapped = [entry.polygon for entry in waters] + [entry.geometry for entry in left_out]
    elevation = read_elevation(tiles, layers, frame, grid, mapped)
    if not np.isfinite(elevation.ground).any():
        raise LayerError(
            "layers.elevation: nothing is known of the ground here; the files hold no data round the drops",
            where="layers.elevation",
        )
    obstacles, of_obstacles = read_obstacles(layers.obstacles, frame, grid, incident.when.date())
    if not layers.obstacles:
        of_obstacles = (Finding.of("no-obstacle-layer"),)
    circles = search[:: math.ceil(len(search) / _MOST_CIRCLES)]
    missing = coverage(np.isfinite(elevation.ground), grid, circles, "elevation")
    trees = _trees(layers, elevation, frame, grid, [water.polygon for water in waters])
    of_trees = trees.cautions
    if trees.height is not None and (bare := coverage(np.isfinite(trees.height), grid, circles, "canopy height")):
        of_trees = (*of_trees, bare)
    ground = replace(_ground(layers, grid, elevation, trees, obstacles), elevation_cell_m=native_m)
    waters = with_names(with_levels(waters, ground), [Mark(d.name, d.x_m, d.y_m) for d in drops], grid)
    cautions = (
        *coarse, *elevation.cautions, *of_obstacles, *((missing,) if missing else ()), *of_trees, *ground.cautions,
    )  # fmt: skip
    ground = replace(ground, cautions=cautions, layers=list_sources(incident, tiles))
    avoid, of_avoid = read_avoid(layers.avoid, frame, bounds_of(grid))
    across = look_across(incident, frame, ground, [Place(drop.name, drop.x_m, drop.y_m) for drop in drops])
    return Opened(frame, ground, waters, left_out, avoid, drops, (*cautions, *of_waters, *of_avoid, *across))


def _looked_at(incident: Incident, frame: LocalFrame, search: Sequence[Circle]) -> list[Circle]:
    """Circles that the grid must hold: the search with the corridors beyond it, and the base."""
    reach = incident.limits.corridor_length_m + EXTENT_MARGIN_M.value
    looked_at = [(x, y, radius + reach) for x, y, radius in search]
    if incident.base is not None:
        x, y = frame.to_xy(incident.base.lon_deg, incident.base.lat_deg)
        looked_at.append((float(x), float(y), BASE_MARGIN_M.value))
    return looked_at


@dataclass(frozen=True, slots=True)
class _Trees:
    """What is known of the trees."""

    height: F32 | None  # above ground [m]; None: no layer adds any
    known: bool  # also where a surface model holds them
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...]


def _trees(layers: Layers, elevation: Elevation, frame: LocalFrame, grid: Grid, open_water: Sequence[Any]) -> _Trees:
    if layers.elevation_is == "surface":
        said: tuple[Finding, ...] = (Finding.of("bare-earth-unknown"),)
        if layers.canopy is None:
            return _Trees(None, True, (), said)
        canopy = read_canopy(layers.canopy, frame, grid, open_water, layers.folder)
        taller = taller_than(elevation.highest, canopy.height, grid.cell_m)
        said = (*said, Finding.of("canopy-beside-surface"), *canopy.cautions)
        return _Trees(taller, True, (canopy.source,), said)
    if layers.canopy is None:
        return _Trees(None, False, (), (Finding.of("trees-unknown", lower_bound=False),))
    canopy = read_canopy(layers.canopy, frame, grid, open_water, layers.folder)
    return _Trees(canopy.height, True, (canopy.source,), canopy.cautions)


def _ground(layers: Layers, grid: Grid, elevation: Elevation, trees: _Trees, obstacles: tuple[Obstacle, ...]) -> Ground:
    """Put trees and obstacles onto the elevation; the cautions are those of the raising alone."""
    top = elevation.highest.copy()
    cause = np.zeros(grid.shape, np.uint16)
    errors = [layers.elevation_error_m]
    if trees.height is not None:
        cause[trees.height > 0] = 1
        top += trees.height
        errors.append(layers.canopy_error_m)
    wires, raised = raise_top(top, cause, elevation.highest, obstacles, grid)
    known = [error for error in errors if error is not None]
    return Ground(
        grid=grid,
        ground=elevation.ground,
        top=top,
        cause=cause,
        obstacles=obstacles,
        vertical_datum=elevation.vertical_datum,
        vertical_error_m=math.hypot(*known) if known else None,
        elevation_is=layers.elevation_is,
        canopy_known=trees.known,
        sources=(*elevation.sources, *trees.sources, *sorted({o.source for o in obstacles})),
        cautions=raised,
        wires=wires,
        elevation_error_m=layers.elevation_error_m,
    )


def _place_drops(drops: Sequence[Drop]) -> tuple[LocalFrame, tuple[DropPlace, ...]]:
    """Put the drops into the frame that is centred on their mean."""
    at = [_middle_of(drop) for drop in drops]
    lon, lat = middle([lon for lon, _ in at], [lat for _, lat in at])
    frame = LocalFrame(lat, lon)
    places = []
    for drop, place in zip(drops, at, strict=True):
        points = np.reshape(frame.to_xy(*place), (1, 2)) if drop.along is None else _along(drop.along, frame)
        _check_near(drop.name, points)
        places.append(DropPlace(drop.name, drop.share, points[:, 0].copy(), points[:, 1].copy()))
    return frame, tuple(places)


def _middle_of(drop: Drop) -> tuple[float, float]:
    if drop.along is not None:
        return middle_of((drop.along, None), "drop.along")
    if drop.lat_deg is None or drop.lon_deg is None:
        raise LayerError(f"drop {drop.name!r} has neither a place nor a line; give at or along", where="drop")
    return drop.lon_deg, drop.lat_deg


def _along(path: Path, frame: LocalFrame) -> F64:
    """Points of a line, or of an area's outer edge, at most 50 m apart, (n, 2) [m]."""
    import shapely

    features, _ = read_features((path, None), frame, None, "drop.along")
    lines = [line for feature in features for line in _edges(feature.geometry)]
    if not lines:
        raise LayerError(f"drop.along: {path.name} holds no line and no area", where="drop.along")
    _check_near(path.name, shapely.get_coordinates(lines))
    points: F64 = shapely.get_coordinates(shapely.segmentize(lines, _STEP_M))
    return points


def _check_near(name: str, points: F64) -> None:
    """Refuse drops that lie too far from their middle to be one incident."""
    far = float(np.abs(points).max())
    if not far <= DROPS_APART_M.value:
        raise LayerError(
            f"drop: {name} lies {far / 1000:.0f} km from the middle of the drops, at most "
            f"{DROPS_APART_M.value / 1000:.0f} km are planned at once; check its place, or give it a plan of its own",
            where="drop",
        )


def _edges(shape: Any) -> list[Any]:
    if shape.geom_type == "Polygon":
        return [shape.exterior]
    if shape.geom_type in ("LineString", "LinearRing"):
        return [shape]
    return [edge for part in getattr(shape, "geoms", ()) for edge in _edges(part)]


def _search(drops: Sequence[DropPlace], radius_m: float) -> list[Circle]:
    x, y = np.concatenate([drop.x_m for drop in drops]), np.concatenate([drop.y_m for drop in drops])
    return [(float(a), float(b), radius_m) for a, b in zip(x, y, strict=True)]
