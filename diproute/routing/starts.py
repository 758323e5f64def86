"""Where the search for a leg begins: a way's turning points, the likely gates at its other end, and how it goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from diproute.records import F64
from diproute.routing.choice import Choice
from diproute.routing.corners_kernel import MOST_CORNERS
from diproute.routing.flight import Anew, Search
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import ANSWERS
from diproute.routing.refine_kernel import Leg, Scene, Starts, begin, lay, refine
from diproute.routing.scene import end_of, own_work
from diproute.routing.travel_time import Field

FAR_DIRECTIONS: Final = 3
FAR_APART: Final = 4
FIRST_M: Final = 40.0  # sampling step of the first costs
SAMPLES: Final = 150  # of a straight leg in the fine search
STEPS_M: Final = (15.0, 40.0)
STARTS: Final = 3  # of a direction
FAR_M: Final = 400.0  # of the source's corridor, when its gates are compared


def begin_from(field: Field, anew: Anew, near: Gates, choice: Choice, i: int, direction: int) -> list[Search]:
    """Begin the search from one direction: its way, the likely far gates, a few sides to turn, refined coarsely."""
    x, y, high = (float(a[i, direction]) for a in (choice.exit_x_m, choice.exit_y_m, choice.exit_m))
    way = field.way(x, y, high, int(choice.rung[i, direction]))
    if way is None:
        return []
    craft = anew.craft
    ends = (end_of(near, i), end_of(field.far, way.far))
    ends = ends if field.towards else ends[::-1]
    scene = Scene(*ends, craft, anew.air, anew.land)
    inner = way.nodes[1:-1]
    nodes = np.ascontiguousarray(inner[::-1] if field.towards else inner)
    last = inner[0] if len(inner) else np.array([near.x_m[i], near.y_m[i]])
    kind = int(choice.kind[i, direction])
    pairs = [
        (direction, kind, *far) if field.towards else (*far, direction, kind)
        for far in far_gates(field.far, way.far, last, craft)
    ]
    return starts(nodes, pairs, scene, (way.far, 0 if field.towards else 2))


def starts(nodes: F64, pairs: Sequence[tuple[int, ...]], scene: Scene, end: tuple[int, int]) -> list[Search]:
    """Begin searches along some nodes, through pairs of gates; the best few.

    ``end`` is the source's point and which of a pair's numbers is the near end's direction.
    """
    far, near = end
    if not pairs:
        return []
    found = Starts(
        np.zeros(STARTS), np.zeros((STARTS, MOST_CORNERS, 2)), np.zeros((STARTS, 4), np.int64), np.zeros((STARTS, 4)),
        np.zeros(STARTS, np.int64),
    )  # fmt: skip
    trial = Leg(np.zeros((MOST_CORNERS, 2)), np.zeros(4, np.int64), np.zeros(4))
    gates = np.array(pairs, np.int64)
    begin(np.ascontiguousarray(nodes), gates, scene, FIRST_M, own_work(), np.zeros(ANSWERS), trial, found)
    return [
        Search(
            float(found.seconds[s]), Leg(found.free[s], found.gate[s], found.ray[s]), int(found.corners[s]), scene, far,
            int(found.gate[s, near]),
        )
        for s in range(STARTS)
        if np.isfinite(found.seconds[s])
    ]  # fmt: skip


def far_gates(far: Gates, point: int, towards: F64, craft: Any) -> list[tuple[int, int]]:
    """Give the likely gates at the source: by lift, corridor, way to the next node, and the turn between them."""
    speed = far.speed_m_s[point]
    with np.errstate(divide="ignore"):
        time = np.where(speed > 0, far.lift_m[point] / far.vertical_m_s + FAR_M / speed, np.inf)
    kind, best = time.argmin(axis=1), time.min(axis=1)
    bearing = far.bearing[point]
    x, y = far.x_m[point] + FAR_M * np.sin(bearing), far.y_m[point] + FAR_M * np.cos(bearing)
    off = np.abs((np.arctan2(towards[0] - x, towards[1] - y) - bearing + np.pi) % (2 * np.pi) - np.pi)
    best = best + np.hypot(x - towards[0], y - towards[1]) / craft.cruise + 0.6 * off * craft.radius / craft.turn
    count = best.size
    out: list[tuple[int, int]] = []
    for d in np.argsort(best, kind="stable"):
        if not np.isfinite(best[d]) or len(out) == FAR_DIRECTIONS:
            break
        if not any(min((d - e) % count, (e - d) % count) < FAR_APART for e, _ in out):
            out.append((int(d), int(kind[d])))
    return out


def step_m(one: Search) -> float:
    """Give the sampling step of the fine search: a long leg has as many samples as a short one."""
    start, end = one.scene.start, one.scene.end
    return float(np.clip(np.hypot(end.x - start.x, end.y - start.y) / SAMPLES, *STEPS_M))


def settled(one: Search, steps: F64, how: tuple[float, int, int]) -> Search:
    """Refine further."""
    corners, seconds = refine(one.leg, one.corners, one.scene, steps, how, own_work(), np.zeros(ANSWERS))
    return replace(one, corners=corners, seconds=seconds)


def one_more(one: Search, side: float) -> int | None:
    """Put a corner beside the middle of the longest straight, two radii off; None where there is no room for it."""
    m, scene, free = one.corners, one.scene, one.leg.free
    if m >= MOST_CORNERS - 1:
        return None
    work = own_work()
    n = lay(one.leg, m, scene, work)
    xy = np.column_stack([work.x[:n], work.y[:n]])
    step = np.diff(xy[1:-1], axis=0)
    if not len(step):
        return None
    i = int(np.argmax(np.hypot(*step.T)))
    along = step[i] / max(float(np.hypot(*step[i])), 1.0)
    middle = 0.5 * (xy[i + 1] + xy[i + 2]) + side * 2.0 * scene.craft.radius * np.array([along[1], -along[0]])
    free[i + 1 : m + 1] = free[i:m].copy()
    free[i] = middle
    return m + 1
