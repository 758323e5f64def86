"""Open water: bodies a bucket may use, and what is left out and why.

Areas that touch and are the same water (kind, name, salt, depth) become one body; separate parts become separate
bodies. What is drawn twice is kept once (`diproute.reading.water_twins`). Islands are holes. Lines count when they
carry a width. Water that is left out is also cut out of any usable body that another file draws over it; where it is
most of a body, all of that is left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from diproute.constants import SAME_WATER_SHARE, SLIVER_M2
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import attributes as at
from diproute.reading.grid import bounds_of
from diproute.reading.vectors import Entry, Feature, read_features
from diproute.reading.water_rules import Unusable, judge
from diproute.reading.water_twins import Drawing, merge, polygons, same_outline
from diproute.records import Finding, Grid, LeftOut, WaterBody
from diproute.wording import say

_KEY: Final = "layers.water"
_NAMES: Final = ("name", "gnis_name", "lake_name", "gnisidlabel", "name:en")


class _Drawn:
    """The features sorted: areas and lines that are usable water, and what is left out."""

    def __init__(self) -> None:
        self.areas: list[Drawing] = []
        self.lines: list[Drawing] = []  # with a width, as areas
        self.out: dict[tuple[str, Finding], list[Any]] = defaultdict(list)

    def add(self, feature: Feature) -> bool:
        """Sort one feature; False when it is water that cannot be used because it is drawn as a point."""
        verdict = judge(feature.tags, osm=feature.osm)
        if verdict is None:
            return True
        name = at.text(feature.tags, *_NAMES)
        shape = feature.geometry
        areal = shape.geom_type in ("Polygon", "MultiPolygon")
        if shape.geom_type in ("Point", "MultiPoint"):
            return isinstance(verdict, Unusable)
        width = 0.0 if areal else at.least_length_m(feature.tags, "width", "est_width") or 0.0
        if isinstance(verdict, Unusable):
            self.out[name, verdict.why].append(shape)
        elif areal or width:
            depth = at.least_length_m(feature.tags, "depth", "water_depth")
            bound = at.bound_m(feature.tags, "depth", "water_depth")
            cautions = () if verdict.unsure is None else (verdict.unsure,)
            shape = shape if areal else shape.buffer(width / 2, cap_style="flat")
            (self.areas if areal else self.lines).extend(
                Drawing(part, (feature.source,), verdict.kind, name, verdict.salt, depth or None, cautions, bound)
                for part in polygons(shape)
            )
        else:
            self.out[name, Finding.of("line-without-width", kind=verdict.kind)].append(shape)
        return True

    def usable(self, grid: Grid) -> list[Drawing]:
        """Give the usable waters; where an area is drawn as well as a line it is the better one."""
        import shapely

        if not self.lines:
            return self.areas
        bounds, covered = shapely.box(*bounds_of(grid)), shapely.union_all([d.shape for d in self.areas])
        beside = [
            replace(d, shape=part)
            for d in self.lines
            for part in polygons(d.shape.difference(covered).intersection(bounds))
        ]
        return [*self.areas, *beside]

    def left_out(self) -> tuple[LeftOut, ...]:
        """Give what is left out, by name and reason, whatever the order of files and features."""
        import shapely

        return tuple(LeftOut(*key, shapely.union_all(self.out[key])) for key in sorted(self.out, key=_order))

    def leave_out_twins(self, usable: list[Drawing]) -> list[Drawing]:
        """Leave out what another drawing of the same water leaves out, whole; give what stays.

        A part that is left out of a larger water is cut out of it later.
        """
        import shapely

        while True:
            keys = sorted(self.out, key=_order)
            foul = [(key, part) for key in keys for shape in self.out[key] for part in polygons(shape)]
            tree = shapely.STRtree([part for _, part in foul])
            kept = []
            for drawing in usable:
                met = [foul[i] for i in sorted(tree.query(drawing.shape, predicate="intersects"))]
                key = _twin_of(drawing, met)
                if key is None:
                    kept.append(drawing)
                else:
                    self.out[key].append(drawing.shape)
            if len(kept) == len(usable):
                return kept
            usable = kept


def _order(entry: tuple[str, Finding]) -> tuple[str, ...]:
    name, why = entry
    return name, why.code, *(str(value) for _, value in why.items)


def _twin_of(drawing: Drawing, met: Sequence[tuple[tuple[str, Finding], Any]]) -> tuple[str, Finding] | None:
    """Name and reason of the left-out parts that take most of a water, or have its outline; None: it stays."""
    import shapely

    if not met:
        return None
    shared = [drawing.shape.intersection(part).area for _, part in met]
    whole = shapely.union_all([part for _, part in met]).intersection(drawing.shape).area
    most = max(range(len(met)), key=lambda i: round(shared[i], 2))
    if whole >= SAME_WATER_SHARE.value * drawing.shape.area or same_outline(drawing.shape, met[most][1]):
        (name, why) = met[most][0]
        return name or drawing.name, why
    return None


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
        `reading.water_level`.
    left_out : tuple of LeftOut
        Water that no bucket can use, one entry a name and reason.
    cautions : tuple of Finding
        What was dropped, lies elsewhere, or is drawn as points.

    Raises
    ------
    LayerError
        A file that cannot be read, has no reference system, or no water at all in what is looked at.
    """
    drawn = _Drawn()
    cautions: list[Finding] = []
    for entry in sorted(entries, key=lambda e: (str(e[0]), e[1] or "")):
        features, said = read_features(entry, frame, bounds_of(grid), _KEY)
        points = sum(not drawn.add(feature) for feature in features)
        cautions += said
        if points:
            cautions.append(Finding.of("water-as-points", file=_name_of(entry), count=points))
    usable = drawn.leave_out_twins(drawn.usable(grid))
    left_out = drawn.left_out()
    waters = _bodies(usable, left_out)
    if not waters and not left_out:
        raise _no_water(cautions, asked=bool(entries))
    return waters, left_out, tuple(cautions)


def _name_of(entry: Entry) -> str:
    path, layer = entry
    return path.name if layer is None else f"{path.name}:{layer}"


def _no_water(cautions: Sequence[Finding], *, asked: bool) -> LayerError:
    told = "; ".join(say(finding) for finding in cautions)
    why = told or "no feature of the water layers is water by its tags" if asked else "no water layer is given"
    return LayerError(f"{_KEY}: no water in what is looked at: {why}", where=_KEY)


def _bodies(usable: Sequence[Drawing], left_out: Sequence[LeftOut]) -> tuple[WaterBody, ...]:
    """Make bodies of what is drawn: each water once, cut where water is left out, by name and place."""
    import shapely

    foul = shapely.union_all([part for entry in left_out for part in polygons(entry.geometry)])
    shapely.prepare(foul)
    bodies: list[WaterBody] = []
    for water in merge(usable):
        parts, cautions = [water.shape], water.cautions
        if foul.intersects(water.shape):
            left = water.shape.difference(foul)
            parts = polygons(shapely.make_valid(left))
            if left.area < water.shape.area - SLIVER_M2.value:
                cautions = (*cautions, Finding.of("water-cut"))
        bodies += [
            WaterBody(
                id="", name=water.name, kind=water.kind, polygon=shapely.normalize(part), salt=water.salt,
                level_low_m=np.nan, level_high_m=np.nan, level_spread_m=np.nan, depth_m=water.depth_m,
                source=", ".join(water.layers), cautions=cautions, depth_below_m=water.depth_below_m,
            )
            for part in parts
        ]  # fmt: skip
    bodies.sort(key=_place)
    return tuple(replace(body, id=f"w{i}") for i, body in enumerate(bodies, start=1))


def _place(body: WaterBody) -> tuple[object, ...]:
    at_x, at_y = body.polygon.centroid.coords[0]
    return body.name == "", body.name, body.kind, round(-at_y, 2), round(at_x, 2), round(body.polygon.area, 2)
