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

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import attributes as at
from diproute.reading.grid import bounds_of
from diproute.reading.vectors import Entry, Feature, read_features
from diproute.reading.water_rules import Unusable, judge
from diproute.records import Finding, Grid, LeftOut, WaterBody
from diproute.wording import say

_KEY: Final = "layers.water"
_NAMES: Final = ("name", "gnis_name", "lake_name", "gnisidlabel", "name:en")
_LEAST_AREA_M2: Final = 1.0  # slivers left by cutting


@dataclass(frozen=True, slots=True)
class _Key:
    """What must be the same for touching areas to be one body."""

    kind: str
    name: str
    salt: bool
    depth_m: float | None
    unsure: Finding | None


class _Drawn:
    """The features sorted: areas and lines that are usable water, and what is left out."""

    def __init__(self) -> None:
        self.areas: dict[_Key, list[Any]] = defaultdict(list)
        self.lines: dict[_Key, list[Any]] = defaultdict(list)  # lines with a width, as areas
        self.out: dict[tuple[str, Finding], list[Any]] = defaultdict(list)
        self.sources: dict[_Key, set[str]] = defaultdict(set)

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
            key = _Key(verdict.kind, name, verdict.salt, depth or None, verdict.unsure)
            self.sources[key].add(feature.source)
            (self.areas if areal else self.lines)[key].append(
                shape if areal else shape.buffer(width / 2, cap_style="flat")
            )
        else:
            self.out[name, Finding.of("line-without-width", kind=verdict.kind)].append(shape)
        return True

    def left_out(self) -> tuple[LeftOut, ...]:
        """Give what is left out, by name and reason, whatever the order of files and features."""
        import shapely

        def order(entry: tuple[str, Finding]) -> tuple[str, ...]:
            name, why = entry
            return name, why.code, *(str(value) for _, value in why.items)

        return tuple(LeftOut(*key, shapely.union_all(self.out[key])) for key in sorted(self.out, key=order))


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
    left_out = drawn.left_out()
    waters = _bodies(drawn, left_out, grid)
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


def _bodies(drawn: _Drawn, left_out: Sequence[LeftOut], grid: Grid) -> tuple[WaterBody, ...]:
    """Make bodies of what is drawn: joined where it touches, cut where water is left out, by name and place."""
    import shapely

    bounds = shapely.box(*bounds_of(grid))
    foul = shapely.union_all([part for entry in left_out for part in _polygons(entry.geometry)])
    covered = shapely.union_all([shape for shapes in drawn.areas.values() for shape in shapes])
    bodies: list[WaterBody] = []
    for key in {**drawn.areas, **drawn.lines}:
        merged = shapely.union_all(drawn.areas.get(key, []))
        if key in drawn.lines:  # where an area is drawn as well it is the better one
            merged = merged.union(shapely.union_all(drawn.lines[key]).difference(covered).intersection(bounds))
        whole = merged.area
        merged = shapely.make_valid(merged.difference(foul)) if merged.intersects(foul) else merged
        cautions = () if key.unsure is None else (key.unsure,)
        if merged.area < whole - _LEAST_AREA_M2:
            cautions = (*cautions, Finding.of("water-cut"))
        source = ", ".join(sorted(drawn.sources[key]))
        bodies += [
            WaterBody(
                id="", name=key.name, kind=key.kind, polygon=shapely.normalize(part), salt=key.salt,
                level_low_m=np.nan, level_high_m=np.nan, level_spread_m=np.nan, depth_m=key.depth_m,
                source=source, cautions=cautions,
            )
            for part in _polygons(merged)
            if part.area > _LEAST_AREA_M2
        ]  # fmt: skip
    bodies.sort(key=_place)
    return tuple(replace(body, id=f"w{i}") for i, body in enumerate(bodies, start=1))


def _place(body: WaterBody) -> tuple[object, ...]:
    at_x, at_y = body.polygon.centroid.coords[0]
    return body.name == "", body.name, body.kind, round(-at_y, 2), round(at_x, 2), round(body.polygon.area, 2)


def _polygons(shape: Any) -> list[Any]:
    if shape.geom_type == "Polygon":
        return [] if shape.is_empty else [shape]
    return [part for whole in getattr(shape, "geoms", ()) for part in _polygons(whole)]
