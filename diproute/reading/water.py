"""Open water: bodies a bucket may use, and what is left out and why.

Areas that touch and are the same water (kind, name, salt, depth) become one body; separate parts become separate
bodies. Islands are holes. Lines count when they carry a width. Water that is left out is also cut out of any usable
body that another file draws over it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from diproute.constants import LEVEL_SPREAD_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import attributes as at
from diproute.reading.grid import bounds_of, transform_of, window_of
from diproute.reading.vectors import Entry, Feature, read_features
from diproute.reading.water_rules import Unusable, Usable, judge
from diproute.records import F32, Finding, Grid, LeftOut, WaterBody

_KEY: Final = "layers.water"
_NAMES: Final = ("name", "gnis_name", "lake_name", "gnisidlabel", "name:en")
_LOW, _P10, _P90 = 5.0, 10.0, 90.0  # percentiles of the ground inside
_SLOPES: Final = frozenset({"river", "stream", "canal", "ditch", "drain", "brook", "creek", "riverbank"})
_LEAST_AREA_M2: Final = 1.0  # slivers left by cutting


@dataclass(frozen=True, slots=True)
class _Key:
    """What must be the same for touching areas to be one body."""

    kind: str
    name: str
    salt: bool
    depth_m: float | None
    unsure: str | None


def read_waters(
    entries: Sequence[Entry], frame: LocalFrame, grid: Grid
) -> tuple[tuple[WaterBody, ...], tuple[LeftOut, ...], tuple[Finding, ...]]:
    """Read the water layers.

    Parameters
    ----------
    entries
        The layers.
    frame, grid
        The working frame, and the grid to whose bounds everything is clipped.

    Returns
    -------
    waters : tuple of WaterBody
        Ids ``w1`` … by name, kind and place, whatever the order of files and features. The level is not known yet: see
        `with_levels`.
    left_out : tuple of LeftOut
        Water that no bucket can use, one entry a name and reason.
    cautions : tuple of Finding
        What was dropped or lies elsewhere.

    Raises
    ------
    LayerError
        A file that cannot be read, has no reference system, or no water at all in what is looked at.
    """
    import shapely

    features: list[Feature] = []
    cautions: list[Finding] = []
    for entry in sorted(entries, key=lambda e: (str(e[0]), e[1] or "")):
        found, said = read_features(entry, frame, bounds_of(grid), _KEY)
        features += found
        cautions += said
    drawn: dict[_Key, list[Any]] = defaultdict(list)  # areas
    lines: dict[_Key, list[Any]] = defaultdict(list)  # lines with a width, as areas
    out: dict[tuple[str, str], list[Any]] = defaultdict(list)
    sources: dict[_Key, set[str]] = defaultdict(set)
    for feature in features:
        verdict = judge(feature.tags, osm=feature.osm)
        if verdict is None or feature.geometry.geom_type in ("Point", "MultiPoint"):
            continue
        name = at.text(feature.tags, *_NAMES)
        areal = feature.geometry.geom_type in ("Polygon", "MultiPolygon")
        width = 0.0 if areal else at.length_m(feature.tags, "width", "est_width") or 0.0
        if isinstance(verdict, Unusable):
            out[name, verdict.because].append(feature.geometry)
        elif areal or width:
            key = _key(feature, name, verdict)
            sources[key].add(feature.source)
            (drawn if areal else lines)[key].append(
                feature.geometry if areal else feature.geometry.buffer(width / 2, cap_style="flat")
            )
        else:
            out[name, f"a {verdict.kind} drawn as a line without a width"].append(feature.geometry)
    left_out = tuple(LeftOut(*key, shapely.union_all(shapes)) for key, shapes in sorted(out.items()))
    waters = _bodies(drawn, lines, left_out, sources, grid)
    if not waters and not left_out:
        told = "; ".join(finding.because for finding in cautions)
        why = told or "no feature of the water layers is water by its tags" if entries else "no water layer is given"
        raise LayerError(f"{_KEY}: no water in what is looked at: {why}", where=_KEY)
    return waters, left_out, tuple(cautions)


def with_levels(waters: Sequence[WaterBody], ground: F32, grid: Grid) -> tuple[WaterBody, ...]:
    """Find each body's water level from the ground inside it.

    The level is the 5th percentile of the ground inside the shore less one cell, or of the cells that a smaller pond
    touches; its spread is the 90th less the 10th percentile. A river slopes: its dip points take the ground where they
    are, and its spread is no caution.

    Parameters
    ----------
    waters
        The bodies.
    ground
        Bare earth [m], the grid's shape, NaN where not known.
    grid
        The working grid.

    Returns
    -------
    tuple of WaterBody
        With ``level_m`` and ``level_spread_m``, NaN where nothing is known, and their cautions.
    """
    return tuple(_with_level(water, ground, grid) for water in waters)


def _key(feature: Feature, name: str, verdict: Usable) -> _Key:
    depth = at.length_m(feature.tags, "depth", "water_depth")
    return _Key(verdict.kind, name, verdict.salt, depth or None, verdict.unsure)


def _bodies(
    drawn: dict[_Key, list[Any]], lines: dict[_Key, list[Any]], left_out: Sequence[LeftOut],
    sources: dict[_Key, set[str]], grid: Grid,
) -> tuple[WaterBody, ...]:  # fmt: skip
    import shapely

    areas = [shape for shapes in drawn.values() for shape in shapes]
    bounds = shapely.box(*bounds_of(grid))
    foul = shapely.union_all([part for entry in left_out for part in _polygons(entry.geometry)])
    covered = shapely.union_all(areas)
    bodies: list[WaterBody] = []
    for key in {**drawn, **lines}:
        merged = shapely.union_all(drawn.get(key, []))
        if key in lines:  # where an area is drawn as well it is the better one
            merged = merged.union(shapely.union_all(lines[key]).difference(covered).intersection(bounds))
        whole = merged.area
        merged = shapely.make_valid(merged.difference(foul)) if merged.intersects(foul) else merged
        cautions = [] if key.unsure is None else [Finding("water-unsure", key.unsure)]
        if merged.area < whole - _LEAST_AREA_M2:
            cautions.append(Finding("water-cut", "a part of it is left out"))
        for part in _polygons(merged):
            if part.area > _LEAST_AREA_M2:
                bodies.append(
                    WaterBody(
                        "",
                        key.name,
                        key.kind,
                        shapely.normalize(part),
                        key.salt,
                        np.nan,
                        np.nan,
                        key.depth_m,
                        ", ".join(sorted(sources[key])),
                        tuple(cautions),
                    )
                )
    bodies.sort(key=_place)
    return tuple(replace(body, id=f"w{i}") for i, body in enumerate(bodies, start=1))


def _place(body: WaterBody) -> tuple[object, ...]:
    at_x, at_y = body.polygon.centroid.coords[0]
    return body.name == "", body.name, body.kind, round(-at_y, 2), round(at_x, 2), round(body.polygon.area, 2)


def _polygons(shape: Any) -> list[Any]:
    if shape.geom_type == "Polygon":
        return [] if shape.is_empty else [shape]
    return [part for whole in getattr(shape, "geoms", ()) for part in _polygons(whole)]


def _with_level(water: WaterBody, ground: F32, grid: Grid) -> WaterBody:
    inside = _ground_inside(water.polygon.buffer(-grid.cell_m), ground, grid, all_touched=False)
    if inside.size == 0:
        inside = _ground_inside(water.polygon, ground, grid, all_touched=True)
    known = inside[np.isfinite(inside)]
    if known.size == 0 or known.size < 0.5 * inside.size:
        said = Finding("level-unknown", "the ground inside is not known, so neither is the water level")
        return replace(water, cautions=(*water.cautions, said))
    low, p10, p90 = (float(v) for v in np.percentile(known, [_LOW, _P10, _P90]))
    cautions = water.cautions
    if p90 - p10 > LEVEL_SPREAD_M.value and water.kind not in _SLOPES:
        said = Finding(
            "water-slopes", f"the ground inside strays by {p90 - p10:.0f} m: water and elevation do not match"
        )
        cautions = (*cautions, said)
    return replace(water, level_m=low, level_spread_m=p90 - p10, cautions=cautions)


def _ground_inside(shape: Any, ground: F32, grid: Grid, *, all_touched: bool) -> F32:
    from rasterio.features import rasterize

    if shape.is_empty:
        return np.empty(0, np.float32)
    rows, cols = window_of(grid, shape.bounds)
    part = ground[rows, cols]
    if part.size == 0:
        return np.empty(0, np.float32)
    mask = rasterize(
        [(shape, 1)],
        out_shape=part.shape,
        transform=transform_of(grid, rows, cols),
        all_touched=all_touched,
        dtype="uint8",
    )
    inside: F32 = part[mask == 1]
    return inside
