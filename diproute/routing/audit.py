"""The last audit of a leg: every chord of it held against areas and wires as vectors, with the height along it.

The planner works on cells; here nothing is rounded to them. Areas are grown, and the reach of wires widened, by
`GROWN_M`, which is more than an arc strays from its chords, so that nothing that is touched can be missed. A breach is
a refusal.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np

from diproute.records import F64, AvoidArea, Finding, Gate, Leg
from diproute.routing.airspace import Airspace, RouteRules

GROWN_M: Final = 0.4
HEIGHT_M: Final = 0.1  # by which heights may differ: they are rounded between points


@dataclass(frozen=True, slots=True)
class Vectors:
    """Hard areas and wires of a plan, made ready once."""

    rules: RouteRules
    areas: tuple[tuple[AvoidArea, Any], ...]  # each with its grown shape, prepared
    wires: Any  # shapely STRtree of the spans' parts, one a cell
    lines: Any  # (n,) shapely lines: those parts
    top_m: F64  # (n,) height of the wire there, the one that the planner used [m AMSL]
    names: tuple[str, ...]  # (n,)


def prepare_audit(airspace: Airspace) -> Vectors:
    """Make areas and wires ready for the audit of any number of legs.

    Parameters
    ----------
    airspace
        Its hard areas, its wires, and the height that each wire has in every cell.
    """
    import shapely

    areas = []
    for area in airspace.avoid:
        if area.hard:
            grown = area.geometry.buffer(GROWN_M, quad_segs=4)
            shapely.prepare(grown)
            areas.append((area, grown))
    lines, tops, names = [], [], []
    ground, grid = airspace.ground, airspace.grid
    for obstacle in ground.obstacles:
        if not obstacle.is_wire:
            continue
        for a, b in _spans(obstacle.geometry):
            for p, q in _by_cell(a, b, grid.cell_m, (grid.left_m, grid.top_m)):
                row, col = (int(v) for v in grid.rowcol(0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])))
                at = ground.wires.at(row * grid.cols + col) if 0 <= row < grid.rows and 0 <= col < grid.cols else None
                if at is not None:
                    lines.append(shapely.LineString([p, q]))
                    tops.append(float(ground.wires.top_m[at]))
                    names.append(obstacle.name)
    parts = np.array(lines, dtype=object)
    return Vectors(airspace.rules, tuple(areas), shapely.STRtree(parts), parts, np.array(tops), tuple(names))


def _spans(geometry: Any) -> Iterator[tuple[F64, F64]]:
    """Straight spans of a wire."""
    for line in getattr(geometry, "geoms", [geometry]):
        if line.geom_type != "LineString":
            continue
        points = np.asarray(line.coords)[:, :2]
        yield from pairwise(points)


def _by_cell(a: F64, b: F64, cell_m: float, corner: tuple[float, float]) -> Iterator[tuple[F64, F64]]:
    """Cut a span where it goes from cell to cell."""
    cuts = [np.array([0.0, 1.0])]
    for axis in (0, 1):
        low, high = sorted(((a[axis] - corner[axis]) / cell_m, (b[axis] - corner[axis]) / cell_m))
        rims = np.arange(np.ceil(low), np.floor(high) + 1)
        if b[axis] != a[axis]:
            cuts.append((rims * cell_m + corner[axis] - a[axis]) / (b[axis] - a[axis]))
    at = np.unique(np.clip(np.concatenate(cuts), 0.0, 1.0))
    for s, t in pairwise(at):
        if t - s > 1e-9:
            yield a + s * (b - a), a + t * (b - a)


def audit(vectors: Vectors, leg: Leg) -> Finding | None:
    """Hold a leg against areas and wires.

    Parameters
    ----------
    vectors
        From `prepare_audit`.
    leg
        As flown, with its height at every point.

    Returns
    -------
    Finding or None
        ``audit-area`` or ``audit-wire`` with what is met and where along the leg; None: nothing is.
    """
    return _areas(vectors, leg) or _wires(vectors, leg)


def _areas(vectors: Vectors, leg: Leg) -> Finding | None:
    import shapely

    if not vectors.areas:
        return None
    xy = np.column_stack([leg.x_m, leg.y_m])
    path = shapely.LineString(xy)
    bottom, error = leg.altitude_m - leg.hanging_m, vectors.rules.vertical_error_m
    for area, grown in vectors.areas:
        if not grown.intersects(path):
            continue
        low = -np.inf if area.floor_m is None else area.floor_m - error
        high = np.inf if area.ceiling_m is None else area.ceiling_m + error
        chords = shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1))
        for i in np.flatnonzero(shapely.intersects(grown, chords)):
            first, last = _inside(grown, xy[i], xy[i + 1])
            heights = bottom[i] + np.array([first, last]) * (bottom[i + 1] - bottom[i])
            if heights.min() < high - HEIGHT_M and heights.max() + leg.hanging_m > low + HEIGHT_M:
                along = float(leg.distance_m[i] + first * (leg.distance_m[i + 1] - leg.distance_m[i]))
                return Finding.of("audit-area", leg=leg.leg, area=area.name, why=area.why, along_m=along)
    return None


def _inside(shape: Any, a: F64, b: F64) -> tuple[float, float]:
    """From where to where a chord is inside a shape, as shares of it; the whole of a lift or lower."""
    import shapely

    length = float(np.hypot(*(b - a)))
    if length < 1e-6:
        return 0.0, 1.0
    parts = shapely.get_coordinates(shape.intersection(shapely.LineString([a, b])))
    share = np.hypot(*(parts - a).T) / length
    return float(share.min()), float(share.max())


def _wires(vectors: Vectors, leg: Leg) -> Finding | None:
    if not vectors.top_m.size:
        return None
    worst: tuple[float, int, float] | None = None
    for short_m, part, along_m in (*_wires_on_the_way(vectors, leg), *_wires_in_corridors(vectors, leg)):
        if worst is None or short_m > worst[0]:
            worst = short_m, part, along_m
    if worst is None:
        return None
    return Finding.of(
        "audit-wire", leg=leg.leg, wire=vectors.names[worst[1]], top_m=float(vectors.top_m[worst[1]]),
        short_m=worst[0], along_m=worst[2],
    )  # fmt: skip


def _wires_on_the_way(vectors: Vectors, leg: Leg) -> Iterator[tuple[float, int, float]]:
    """Wires within reach of arcs, straights and orbits that the bucket does not clear."""
    import shapely

    rules = vectors.rules
    xy = np.column_stack([leg.x_m, leg.y_m])
    bottom, reach = leg.altitude_m - leg.hanging_m, rules.lateral_clearance_m
    if not len(vectors.wires.query(shapely.LineString(xy), predicate="dwithin", distance=reach)):
        return
    for piece in leg.pieces:
        if piece.kind in ("lift", "lower", "corridor"):
            continue
        clearance = rules.turn_clearance_m if piece.gate else rules.cruise_clearance_m
        margin = max(clearance, rules.wire_margin_m) + rules.vertical_error_m
        some = slice(piece.first, piece.last + 1)
        if not len(vectors.wires.query(shapely.box(*(xy[some].min(axis=0) - reach), *(xy[some].max(axis=0) + reach)))):
            continue
        ends = xy[some]
        chords = shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1))
        which, parts = vectors.wires.query(chords, predicate="dwithin", distance=reach)
        for i, part in zip(which, parts, strict=True):
            near = vectors.lines[part].buffer(reach, quad_segs=16)
            first, last = _inside(near, ends[i], ends[i + 1]) if near.intersects(chords[i]) else (0.0, 0.0)
            a, b = bottom[piece.first + i], bottom[piece.first + i + 1]
            low = min(a + first * (b - a), a + last * (b - a))
            short = float(vectors.top_m[part]) + margin - low
            if short > HEIGHT_M:
                yield short, int(part), float(leg.distance_m[piece.first + i])


def _wires_in_corridors(vectors: Vectors, leg: Leg) -> Iterator[tuple[float, int, float]]:
    """Wires in the strips of both corridors, as far as they are flown and were surveyed."""
    length = leg.length_m
    for gate, at, inward in ((leg.departure, 1, 1), (leg.arrival, -2, -1)):
        flown = min(gate.straight_m, gate.surveyed_m)
        if flown <= 0.0:
            continue
        start = np.array([leg.x_m[at], leg.y_m[at]])
        toward = np.array([leg.x_m[at + inward], leg.y_m[at + inward]]) - start
        for short, part, away in _strip(
            vectors, start, toward, (gate, flown, float(leg.altitude_m[at]) - leg.hanging_m)
        ):
            yield short, part, away if inward == 1 else length - away


def _strip(
    vectors: Vectors, start: F64, toward: F64, line: tuple[Gate, float, float]
) -> Iterator[tuple[float, int, float]]:
    import shapely

    gate, flown, height = line
    rules = vectors.rules
    size = float(np.hypot(*toward))
    if size < 1e-9:
        return
    ahead = toward / size
    side = np.array([ahead[1], -ahead[0]])
    near, far = rules.corridor_start_m, rules.corridor_start_m + rules.corridor_spread * flown
    strip = shapely.Polygon([
        start + side * near, start + ahead * flown + side * far, start + ahead * flown - side * far, start - side *
        near,
    ])  # fmt: skip
    margin = max(rules.wire_margin_m, rules.load_margin_m) + rules.vertical_error_m
    for part in vectors.wires.query(strip, predicate="intersects"):
        inside = shapely.get_coordinates(vectors.lines[part].intersection(strip))
        away = float(max(0.0, ((inside - start) @ ahead).min()))
        short = float(vectors.top_m[part]) + margin - (height + gate.gradient * away)
        if short > HEIGHT_M:
            yield short, int(part), away
