"""One water drawn twice, in two layers or in one: kept once, with the careful side of everything that is said of it.

Two drawings are the same water when most of the smaller overlaps or their outlines agree. The water is where all of
them show it, so that the islands of each stay and the nearer shore counts; it is as deep as the least says, salt if any
says so, and every doubt stays. What only one layer shows stays too, but for strips along the shore, and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from diproute.constants import SAME_WATER_M, SAME_WATER_SHARE, SLIVER_M2
from diproute.records import Finding


@dataclass(frozen=True, slots=True)
class Drawing:
    """One stretch of water as one feature draws it, or as several do."""

    shape: Any  # shapely polygon
    layers: tuple[str, ...]
    kind: str
    name: str
    salt: bool
    depth_m: float | None
    cautions: tuple[Finding, ...] = ()
    depth_below_m: float | None = None

    @property
    def key(self) -> tuple[object, ...]:
        """What must be the same for touching waters to be one body."""
        return self.kind, self.name, self.salt, self.depth_m, self.cautions, self.depth_below_m

    @property
    def order(self) -> tuple[object, ...]:
        """Sort key: named ones first, large ones first, and nothing by the order of features."""
        return not self.name, -round(self.shape.area, 2), self.name, self.kind, self.layers, self.shape.wkb


def polygons(shape: Any) -> list[Any]:
    """Give the polygons of any shape, but for slivers."""
    if shape.geom_type == "Polygon":
        return [shape] if shape.area > SLIVER_M2.value else []
    return [part for whole in getattr(shape, "geoms", ()) for part in polygons(whole)]


def same_water(one: Any, other: Any) -> bool:
    """Tell whether two polygons are the same water: most of the smaller overlaps, or the outlines agree."""
    shared = one.intersection(other).area
    return bool(shared >= SAME_WATER_SHARE.value * min(one.area, other.area)) or same_outline(one, other)


def same_outline(one: Any, other: Any) -> bool:
    """Tell whether two polygons that overlap have the same outline, but for `constants.SAME_WATER_M`."""
    import shapely

    if one.intersection(other).area <= SLIVER_M2.value:
        return False
    return bool(shapely.hausdorff_distance(one.exterior, other.exterior) <= SAME_WATER_M.value)


def merge(drawings: Iterable[Drawing]) -> list[Drawing]:
    """Keep each water once.

    Parameters
    ----------
    drawings
        Usable waters, one a feature, of all layers.

    Returns
    -------
    list of Drawing
        Waters that do not double each other; touching ones that are said to be the same are one. The same whatever
        the order.
    """
    ordered = sorted((replace(d, shape=_normal(d.shape)) for d in drawings), key=lambda d: d.order)
    pairs = _twins(ordered)
    alone, found = set(range(len(ordered))), []
    for members in _groups(len(ordered), pairs):
        if len(members) > 1:
            alone -= set(members)
            found += _merged(ordered, members, pairs)
    return _joined([*(ordered[i] for i in sorted(alone)), *found])


def _normal(shape: Any) -> Any:
    import shapely

    return shapely.normalize(shape)


def _near(drawings: Sequence[Drawing]) -> list[tuple[int, int]]:
    """Pairs that touch, each once."""
    import shapely

    if not drawings:
        return []
    shapes = np.array([d.shape for d in drawings], dtype=object)
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    return sorted((int(a), int(b)) for a, b in zip(one, other, strict=True) if a < b)


def _twins(drawings: Sequence[Drawing]) -> set[tuple[int, int]]:
    return {(a, b) for a, b in _near(drawings) if same_water(drawings[a].shape, drawings[b].shape)}


def _groups(count: int, pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Numbers that pairs hold together, in rising order."""
    top = list(range(count))

    def head(i: int) -> int:
        while top[i] != i:
            top[i] = top[top[i]]
            i = top[i]
        return i

    for a, b in pairs:
        low, high = sorted((head(a), head(b)))
        top[high] = low
    groups: dict[int, list[int]] = {}
    for i in range(count):
        groups.setdefault(head(i), []).append(i)
    return list(groups.values())


def _merged(ordered: Sequence[Drawing], members: Sequence[int], pairs: set[tuple[int, int]]) -> list[Drawing]:
    """Give one water for a group of drawings of it: where all show it, and the arms that only some show."""
    import shapely

    sheets = [shapely.union_all([ordered[i].shape for i in sheet]) for sheet in _sheets(ordered, members, pairs)]
    both, whole = sheets[0], shapely.union_all(sheets)
    for sheet in sheets[1:]:
        both = both.intersection(sheet)
    width = SAME_WATER_M.value
    islands = shapely.union_all([_islands(part) for sheet in sheets for part in polygons(sheet)])
    rest = whole.difference(both).difference(islands)
    arms = rest.buffer(-width).buffer(width * 1.01).intersection(rest)
    strict = _strictest([ordered[i] for i in members])
    if len(strict.layers) == 1:  # drawn twice in one layer: nobody disagrees
        return [replace(strict, shape=part) for part in polygons(both.union(arms))]
    said = (*strict.cautions, Finding.of("one-layer-only"))
    return [
        *(replace(strict, shape=part) for part in polygons(both)),
        *(replace(strict, shape=part, cautions=said) for part in polygons(arms)),
    ]


def _sheets(ordered: Sequence[Drawing], members: Sequence[int], pairs: set[tuple[int, int]]) -> list[list[int]]:
    """Sort a group's drawings into sheets: those of one layer that do not double each other lie on one."""
    sheets: list[list[int]] = []
    for i in members:
        mine = (
            sheet
            for sheet in sheets
            if ordered[sheet[0]].layers == ordered[i].layers and not any((j, i) in pairs for j in sheet)
        )
        if (sheet := next(mine, None)) is not None:
            sheet.append(i)
        else:
            sheets.append([i])
    return sheets


def _strictest(drawings: Sequence[Drawing]) -> Drawing:
    """Name and kind of the first one, and the careful side of all else."""
    depths = sorted({d.depth_m for d in drawings if d.depth_m is not None})
    cautions = {caution for d in drawings for caution in d.cautions}
    if len(depths) > 1:
        cautions.add(Finding.of("depths-differ", depth_m=depths[0], most_m=depths[-1]))
    return replace(
        drawings[0],
        layers=_all_layers(drawings),
        salt=any(d.salt for d in drawings),
        depth_m=depths[0] if depths else None,
        depth_below_m=min((d.depth_below_m for d in drawings if d.depth_below_m is not None), default=None),
        cautions=tuple(sorted(cautions, key=lambda c: (c.code, str(c.items)))),
    )


def _all_layers(drawings: Iterable[Drawing]) -> tuple[str, ...]:
    return tuple(sorted({layer for d in drawings for layer in d.layers}))


def _joined(drawings: list[Drawing]) -> list[Drawing]:
    """Make one of what touches and is said to be the same: the stretches of a river, a lake on two tiles."""
    import shapely

    touching = [(a, b) for a, b in _near(drawings) if drawings[a].key == drawings[b].key]
    lost: dict[int, list[Any]] = {}
    for a, b in touching:
        one, other = drawings[a].shape, drawings[b].shape
        if one.intersection(other).area > SLIVER_M2.value:  # islands of either stay, also where the other shows water
            lost.setdefault(a, []).extend([_islands(one).intersection(other), _islands(other).intersection(one)])
    found = []
    for members in _groups(len(drawings), touching):
        shape = shapely.union_all([drawings[i].shape for i in members])
        if islands := [island for i in members for island in lost.get(i, ())]:
            shape = shape.difference(shapely.union_all(islands))
        layers = _all_layers([drawings[i] for i in members])
        found += [replace(drawings[members[0]], shape=part, layers=layers) for part in polygons(shape)]
    return found


def _islands(shape: Any) -> Any:
    import shapely

    return shapely.union_all([shapely.Polygon(ring) for ring in shape.interiors])
