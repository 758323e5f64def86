"""One leg searched and flown: from the gates that may be taken to the quickest path with its arcs, orbits and heights.

The choice names the directions that are worth trying. From each the field's way is walked; its nodes become the free
corners of a polyline whose cost, with the real radii, climbs and orbits, is then made small together with the gates at
both ends. The best few directions are finished: sampled closely, their orbits placed, the lowest profile given, and
checked from both ends.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from diproute.records import F64, I64, Finding, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.blocked import Blocked, under_ceiling, why_blocked
from diproute.routing.choice import Choice
from diproute.routing.corners_kernel import MOST_CORNERS, WIDEST, Air, Craft, Land, sample
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import (
    ANSWERS,
    AS_IT_IS,
    AT_DOWN,
    AT_UP,
    BAD,
    BAD_AT,
    BAD_WHY,
    CLOSED,
    COUNT,
    DOWN,
    FIRST,
    FLYABLE,
    LAST,
    LOW,
    NONE,
    OFF,
    ORBITS_DOWN,
    ORBITS_UP,
    ROOF,
    UP,
    WHOLE,
    circle_floor,
    heights,
    lowest,
    orbit_place,
    spend,
)
from diproute.routing.refine_kernel import (
    CLOSE_M,
    NO_CIRCLE,
    NO_ROOM,
    Leg,
    Scene,
    Starts,
    begin,
    lay,
    refine,
    spare_orbits,
)
from diproute.routing.scene import air_of, craft_of, end_of, land_of, own_work
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Field

DIRECTIONS: Final = 5  # of the choice that are tried at once, the next ones where none of them can be flown
APART: Final = 2  # steps between them
FAR_DIRECTIONS: Final = 3
FAR_APART: Final = 4
FIRST_M: Final = 40.0  # sampling step of the first costs
COARSE: Final = np.array([200.0, 80.0])
FINE: Final = np.array([80.0, 25.0])
LAST_STEPS: Final = np.array([8.0])
SAMPLES: Final = 150  # of a straight leg in the fine search
STEPS_M: Final = (15.0, 40.0)
STARTS: Final = 3  # of a direction
LONGER: Final = 1.03  # than the best so far: no more worth finishing
LOW_M: Final = 1.0  # by which heights of both ends must be met
LIGHT: Final = np.array([25.0])  # steps when a leg is flown again through the same gates
FAR_M: Final = 400.0  # of the source's corridor, when its gates are compared
# how waiting is counted in the last searches, and on which side one more corner is put
MANNERS: Final = ((WHOLE, 0.0), (NONE, 0.0), (NONE, -1.0), (NONE, 1.0))
MENDED: Final = (CLOSED, LOW, ROOF)  # failures that a search with the closest sampling may mend
WAITED: Final = 1.04  # a leg so much longer than without whole orbits is tried without any


@dataclass(frozen=True, slots=True)
class Orbits:
    """Whole turns at one place."""

    sample: int  # of the flight, where they begin and end
    descending: bool  # their height is lost on the way to the sample; climbing, it is won on the way after it
    turns: int
    side: float  # 1: to the right
    x_m: float  # centre
    y_m: float
    radius_m: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Flight:
    """A leg as flown, in the order of flight. Arrays have one entry a sample; heights are the bucket's bottom's."""

    seconds: float  # lift and lower included
    lift_m: float
    lower_m: float
    lift_s: float
    lower_s: float
    far: int  # index of the end of the field that it serves
    towards: bool
    gates: tuple[Gates, Gates]  # of departure and arrival, one end each
    search: Leg  # as it was found, to begin again from
    corners: int  # free ones of it
    x_m: F64  # from the top of the lift to the top of the lower
    y_m: F64
    bottom_m: F64
    took_s: F64  # since the sample before, slower flight included, orbits not
    kind: I64  # STRAIGHT, ARC, OUT or IN, of the way since the sample before
    corner: I64
    need_m: F64  # the floor that counts at each sample
    radius_m: F64  # by corner of the polyline
    turn_rad: F64  # by corner, to the right positive
    orbits: tuple[Orbits, ...]
    straight_m: tuple[float, float]  # flown on the first corridor and on the last one
    wind: Wind
    flying: Flying

    @property
    def transit_s(self) -> float:
        """Time between the lift and the lower [s]."""
        return self.seconds - self.lift_s - self.lower_s

    def course_deg(self, end: int) -> float:
        """Give the true course of the departure (0) or the arrival (1)."""
        outward = float(self.gates[end].bearing_deg[int(self.search.gate[2 * end])])
        return outward if end == 0 else (outward + 180.0) % 360.0

    @property
    def departure_deg(self) -> float:
        """True course of the departure."""
        return self.course_deg(0)

    @property
    def arrival_deg(self) -> float:
        """True course of the arrival."""
        return self.course_deg(1)


@dataclass(frozen=True, slots=True)
class Anew:
    """In what legs are flown: made once for many of them."""

    flying: Flying
    wind: Wind
    craft: Craft
    air: Air
    land: Land

    @classmethod
    def of(cls, airspace: Airspace, flying: Flying, wind: Wind) -> Anew:
        """Make ground, craft and air ready for the search."""
        air = air_of(wind)
        return cls(flying, wind, craft_of(flying, air, airspace.rules.hanging_m), air, land_of(airspace))


@dataclass(frozen=True, slots=True)
class _Failed:
    """Why a path cannot be flown, and where; the sample's own place."""

    why: int
    x_m: float
    y_m: float
    early: bool  # nearer the departure
    along_m: float
    short_m: float = 0.0


@dataclass(frozen=True, slots=True)
class _Search:
    """One polyline on its way to a flight."""

    seconds: float
    leg: Leg
    corners: int
    scene: Scene
    far: int
    direction: int  # of the near end

    def copy(self) -> _Search:
        """Give one that can be changed alone."""
        leg = self.leg
        return replace(self, leg=Leg(leg.free.copy(), leg.gate.copy(), leg.ray.copy()))


def fly(field: Field, near: Gates, choice: Choice, i: int) -> list[Flight] | Blocked:
    """Fly the legs of one point.

    Parameters
    ----------
    field
        Of the leg's other end.
    near, choice
        The points' gates and what was chosen among them.
    i
        Index of the point.

    Returns
    -------
    list of Flight or Blocked
        The quickest first, then others that leave in other directions; what is in the way where there is none.
    """
    airspace = field.airspace
    for gates, ends in ((near, [i]), (field.far, range(field.far.x_m.size))):
        inside = [under_ceiling(airspace, *(float(a[k]) for a in (gates.x_m, gates.y_m, gates.z_m))) for k in ends]
        if inside[0] is not None and None not in inside:
            return inside[0]
    directions = _directions(choice.seconds[i])
    if not directions:
        return _no_direction(field, near, i)
    anew = Anew.of(airspace, field.flying, field.wind)
    here = near.some(np.array([i]))

    def gates_of(one: _Search) -> tuple[Gates, Gates]:
        far = field.far.some(np.array([one.far]))
        return (here, far) if field.towards else (far, here)

    task = _Task(anew, gates_of, field.towards, FIRST_FLOWN)
    failures: list[_Failed] = []
    for first in range(0, len(directions), DIRECTIONS):
        begun = [_begun(field, anew, near, choice, i, d) for d in directions[first : first + DIRECTIONS]]
        flights = _quickest(task, [one for some in begun for one in some], failures)
        if flights:
            return flights
    return _unflyable(near, field.far, i, failures, towards=field.towards)


@dataclass(frozen=True, slots=True)
class _Effort:
    """How much is tried of a leg."""

    refined: int  # coarsely
    finished: int  # at most
    kept: int  # flights that are given
    manners: Sequence[tuple[int, float]]  # tried one after the other


FIRST_FLOWN: Final = _Effort(refined=7, finished=4, kept=2, manners=MANNERS)
FLOWN_AGAIN: Final = _Effort(refined=3, finished=2, kept=1, manners=MANNERS[:2])


@dataclass(frozen=True, slots=True)
class _Task:
    """In what a search is finished."""

    anew: Anew
    gates_of: Callable[[_Search], tuple[Gates, Gates]]
    towards: bool
    effort: _Effort


def _quickest(task: _Task, begun: list[_Search], failures: list[_Failed]) -> list[Flight]:
    """Refine and finish the best beginnings; the quickest flights, each in a direction of its own first."""
    effort = task.effort
    found = [_settled(one, COARSE, (FIRST_M, AS_IT_IS, 0)) for one in _best_of_each(begun)[: effort.refined]]
    flights: list[tuple[Flight, _Search]] = []

    def add(one: _Search, manner: tuple[int, float]) -> None:
        flight = _finished(task, one, manner)
        if isinstance(flight, Flight):
            flights.append((flight, one))
            flights.sort(key=lambda pair: pair[0].seconds)
        else:
            failures.append(flight)

    order = _best_of_each(found)[: effort.finished]
    for one in order:
        if len(flights) == effort.kept or (flights and one.seconds > LONGER * flights[0][0].seconds):
            break
        add(one, effort.manners[0])
    tried = flights[0][1] if flights else order[0] if order else None
    if tried is not None and (not flights or flights[0][0].orbits):
        for manner in effort.manners[1:]:
            add(tried, manner)
            if flights and not flights[0][0].orbits and flights[0][0].seconds < WAITED * tried.seconds:
                break
    return [flight for flight, _ in flights[: effort.kept]]


def _best_of_each(found: list[_Search]) -> list[_Search]:
    """Put the best of each direction first, then the others."""
    found = sorted(found, key=lambda one: one.seconds)
    first = {one.direction: one for one in reversed(found)}
    order = sorted(first.values(), key=lambda one: one.seconds)
    return order + [one for one in found if first[one.direction] is not one]


def fly_again(flight: Flight, anew: Anew, near: Gates, far: Gates) -> Flight | Blocked:
    """Fly a leg again in another wind, or with other rates, over the way that it has.

    Parameters
    ----------
    flight
        As it was flown.
    anew
        The airspace, and how and in what wind it is flown now.
    near, far
        The gates of both ends in that wind, one end each; of the point and of the field's source.

    Returns
    -------
    Flight or Blocked
        The same flight in the wind and with the rates that it was flown in. A gate that is no longer open gives way to
        the nearest open ones.
    """
    gates = (near, far) if flight.towards else (far, near)
    if flight.wind == anew.wind and flight.flying == anew.flying:
        return flight
    scene = Scene(end_of(gates[0], 0), end_of(gates[1], 0), anew.craft, anew.air, anew.land)
    task = _Task(anew, lambda _: gates, flight.towards, FLOWN_AGAIN)
    gate = flight.search.gate
    if all(gates[e].speed_m_s[0, gate[2 * e], gate[2 * e + 1]] > 0 for e in (0, 1)):
        leg = Leg(flight.search.free.copy(), gate.copy(), flight.search.ray.copy())
        one = _Search(np.inf, leg, flight.corners, scene, flight.far, int(gate[0]))
        found = _settled(one, LIGHT, (_step_m(one), WHOLE, 0))
        ended = _finish(found, gates, anew, towards=flight.towards)
        if isinstance(ended, Flight) and len(ended.orbits) <= len(flight.orbits):
            return ended
    # otherwise the corners that it has are the way of a new search through the gates that are open now
    work = own_work()
    count = lay(flight.search, flight.corners, scene, work)
    nodes = np.column_stack([work.x[1 : count - 1], work.y[1 : count - 1]])
    pairs = [
        (*first, *last)
        for first in _far_gates(gates[0], 0, nodes[0], anew.craft)
        for last in _far_gates(gates[1], 0, nodes[-1], anew.craft)
    ]
    failures: list[_Failed] = []
    flights = _quickest(task, _starts(nodes, pairs, scene, (flight.far, 0)), failures)
    return flights[0] if flights else _unflyable(near, far, 0, failures, towards=flight.towards)


def _directions(seconds: F64) -> list[int]:
    """Give the directions by their time, some steps apart."""
    count = seconds.size
    out: list[int] = []
    for d in np.argsort(seconds, kind="stable"):
        if not np.isfinite(seconds[d]):
            break
        if not any(min((d - e) % count, (e - d) % count) < APART for e in out):
            out.append(int(d))
    return out


def _begun(field: Field, anew: Anew, near: Gates, choice: Choice, i: int, direction: int) -> list[_Search]:
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
        for far in _far_gates(field.far, way.far, last, craft)
    ]
    return _starts(nodes, pairs, scene, (way.far, 0 if field.towards else 2))


def _starts(nodes: F64, pairs: Sequence[tuple[int, ...]], scene: Scene, end: tuple[int, int]) -> list[_Search]:
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
        _Search(
            float(found.seconds[s]), Leg(found.free[s], found.gate[s], found.ray[s]), int(found.corners[s]), scene, far,
            int(found.gate[s, near]),
        )
        for s in range(STARTS)
        if np.isfinite(found.seconds[s])
    ]  # fmt: skip


def _far_gates(far: Gates, point: int, towards: F64, craft: Any) -> list[tuple[int, int]]:
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


def _finished(task: _Task, one: _Search, manner: tuple[int, float]) -> Flight | _Failed:
    """Refine finely in one manner of waiting, with one more corner on a side where that is asked, and finish."""
    whole, side = manner
    trial = one.copy()
    if side != 0.0:
        corners = _one_more(trial, side)
        if corners is None:
            return _Failed(NO_ROOM, one.scene.start.x, one.scene.start.y, True, 0.0)
        trial = replace(trial, corners=corners)
    step = _step_m(one)
    trial = _settled(_settled(trial, FINE, (step, whole, 1)), LAST_STEPS, (0.5 * step, whole, 0))
    ended = _finish(trial, task.gates_of(one), task.anew, towards=task.towards)
    if isinstance(ended, _Failed) and ended.why in MENDED:  # what lies between the samples that were looked at
        trial = _settled(trial, LAST_STEPS, (CLOSE_M, whole, 0))
        ended = _finish(trial, task.gates_of(one), task.anew, towards=task.towards)
    return ended


def _step_m(one: _Search) -> float:
    """Give the sampling step of the fine search: a long leg has as many samples as a short one."""
    start, end = one.scene.start, one.scene.end
    return float(np.clip(np.hypot(end.x - start.x, end.y - start.y) / SAMPLES, *STEPS_M))


def _settled(one: _Search, steps: F64, how: tuple[float, int, int]) -> _Search:
    """Refine further."""
    corners, seconds = refine(one.leg, one.corners, one.scene, steps, how, own_work(), np.zeros(ANSWERS))
    return replace(one, corners=corners, seconds=seconds)


def _one_more(one: _Search, side: float) -> int | None:
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


def _finish(one: _Search, gates: tuple[Gates, Gates], anew: Anew, *, towards: bool) -> Flight | _Failed:
    """Sample a search closely, place its orbits, give it the lowest profile, and check it from both ends."""
    leg, scene, work, out = one.leg, one.scene, own_work(), np.zeros(ANSWERS)
    craft, land, wind = scene.craft, scene.land, anew.wind
    seconds = spare_orbits(leg, one.corners, scene, work, out)
    if not np.isfinite(seconds) or out[FLYABLE] < 1:
        return _failure(work, out, leg, scene)
    samples: _Samples | None = None
    for turn in range(1 if len(wind.altitude_m) == 1 else 3):
        if turn > 0 and samples is not None:  # the wind is that of the heights as flown
            count = int(out[COUNT])
            work.need[:count] = samples.bottom_m
            k = sample(work, one.corners + 4, craft, scene.air, land, CLOSE_M, True)
            heights(work, k, one.corners + 4, _line(leg, scene), craft, land, WHOLE, out)
            if out[BAD] > 0:
                return _failure(work, out, leg, scene)
        ended = _profile(work, out, scene)
        if isinstance(ended, _Failed):
            return ended
        samples = ended
    assert samples is not None
    start, end, gate, ray = scene.start, scene.end, leg.gate, leg.ray
    lift_m = float(start.lift[gate[0], gate[1]] + ray[2])
    lower_m = float(end.lift[gate[2], gate[3]] + ray[3])
    n, first, last = one.corners + 4, int(out[FIRST]), int(out[LAST])
    straight = (_run(samples, 0, first), _run(samples, last, samples.x_m.size - 1))
    took = samples.took_s.copy()
    corridor = (start.speed[gate[0], gate[1]], end.speed[gate[2], gate[3]])
    step = np.concatenate([[0.0], np.hypot(np.diff(samples.x_m), np.diff(samples.y_m))])
    took[: first + 1], took[last + 1 :] = step[: first + 1] / corridor[0], step[last + 1 :] / corridor[1]
    lift_s, lower_s = lift_m / start.vertical, lower_m / end.vertical
    total = lift_s + float(took.sum()) + sum(orbits.seconds for orbits in samples.orbits) + lower_s
    return Flight(
        seconds=total, lift_m=lift_m, lower_m=lower_m, lift_s=lift_s, lower_s=lower_s, far=one.far, towards=towards,
        gates=gates, search=leg, corners=one.corners, x_m=samples.x_m, y_m=samples.y_m, bottom_m=samples.bottom_m,
        took_s=took, kind=samples.kind, corner=samples.corner, need_m=samples.need_m, radius_m=work.radius[:n].copy(),
        turn_rad=(work.side[:n] * np.minimum(work.angle[:n], WIDEST)).copy(), orbits=samples.orbits,
        straight_m=straight, wind=anew.wind, flying=anew.flying,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Samples:
    """The samples of a path with their heights."""

    x_m: F64
    y_m: F64
    bottom_m: F64
    took_s: F64
    kind: I64
    corner: I64
    need_m: F64
    orbits: tuple[Orbits, ...]


def _line(leg: Leg, scene: Scene) -> tuple[float, ...]:
    """Both corridors' lines as `heights` takes them."""
    g, start, end = leg.gate, scene.start, scene.end
    return (
        start.z + start.lift[g[0], g[1]] + leg.ray[2], start.gradient[g[1]], start.surveyed[g[1]],
        end.z + end.lift[g[2], g[3]] + leg.ray[3], end.gradient[g[3]], end.surveyed[g[3]], 0.0,
    )  # fmt: skip


def _run(samples: _Samples, first: int, last: int) -> float:
    """Length over the ground between two samples [m]."""
    x, y = samples.x_m[first : last + 1], samples.y_m[first : last + 1]
    return float(np.hypot(np.diff(x), np.diff(y)).sum())


def _profile(work: Any, out: F64, scene: Scene) -> _Samples | _Failed:
    """Spend what is waited in orbits and slower flight, and give the lowest profile that the rates allow."""
    craft, k = scene.craft, int(out[COUNT])
    i0, i1 = int(out[FIRST]), int(out[LAST])
    x, y, high, back = (a[:k].copy() for a in (work.px, work.py, work.high, work.back))
    circling, bottom, orbits = np.zeros((2, k)), np.zeros(k), list[Orbits]()
    for backwards, waited, turns in ((0, out[UP], int(out[ORBITS_UP])), (1, out[DOWN], int(out[ORBITS_DOWN]))):
        rate, spare = (craft.down if backwards else craft.up), float(waited)
        if turns:
            seconds = turns * craft.period
            spare = max(0.0, spare - seconds)
            at, side, ox, oy, _ = orbit_place(
                work, (backwards, spare, seconds * craft.in_arcs * rate), craft, scene.land, out
            )
            if at < 0 or (orbits and orbits[0].sample == at):
                i = int(out[AT_DOWN if backwards else AT_UP])
                return _Failed(NO_CIRCLE, float(x[i]), float(y[i]), not backwards, _along(x, y, i))
            orbits.append(
                Orbits(int(at), bool(backwards), turns, float(side), float(ox), float(oy), craft.radius, seconds)
            )
            circling[backwards, at if backwards else at + 1] += seconds
            work.need[at] = max(work.need[at], circle_floor(craft, scene.land, ox, oy))
        left = spend(work, craft, out, backwards, spare)
        if left > 0.05:
            i = int(out[AT_DOWN if backwards else AT_UP])
            return _Failed(LOW, float(x[i]), float(y[i]), not backwards, _along(x, y, i), left * rate)
    lowest(work, craft, out, *circling, bottom)
    for i, line, early in ((i0, high, True), (i1, back, False)):
        if bottom[i] > line[i] + LOW_M:
            return _Failed(LOW, float(x[i]), float(y[i]), early, _along(x, y, i), float(bottom[i] - line[i]))
    bottom[: i0 + 1], bottom[i1:] = high[: i0 + 1], back[i1:]
    kind, corner = work.kind[:k].astype(np.int64), work.corner[:k].astype(np.int64)
    return _Samples(x, y, bottom, work.took[:k].copy(), kind, corner, work.need[:k].copy(), tuple(orbits))


def _along(x: F64, y: F64, i: int) -> float:
    return float(np.hypot(np.diff(x[: i + 1]), np.diff(y[: i + 1])).sum())


def _failure(work: Any, out: F64, leg: Leg, scene: Scene) -> _Failed:
    """Say why a path cannot be flown and where: at the sample that the heights found, else at the turns."""
    why, at, count = int(out[BAD_WHY]), int(out[BAD_AT]), int(out[COUNT])
    if why == NO_ROOM or at < 0 or count == 0:
        g = leg.gate
        x = scene.start.x + leg.ray[0] * np.sin(scene.start.bearing[g[0]])
        y = scene.start.y + leg.ray[0] * np.cos(scene.start.bearing[g[0]])
        return _Failed(NO_ROOM, float(x), float(y), True, float(leg.ray[0]))
    x, y = work.px[:count], work.py[:count]
    return _Failed(why, float(x[at]), float(y[at]), 2 * at < count, _along(x, y, at))


def _no_direction(field: Field, near: Gates, i: int) -> Blocked:
    """Say why no direction of a point leads anywhere: nothing is open, there is no way, or none that climbs enough."""
    x, y, far = float(near.x_m[i]), float(near.y_m[i]), field.far
    if not (far.speed_m_s > 0).any():
        return _blocked(far, 0, Finding.of("fails-open"), None)
    if (near.speed_m_s[i] > 0).any():
        way = field.way(x, y, float(near.z_m[i]), 0)
        if way is None:
            model = field.over_fine_cells()[0]
            row, col = model.level.grid.rowcol(far.x_m, far.y_m)
            sources = np.column_stack([col, row])
            return why_blocked(field.airspace, model, sources, x, y)
        reason = Finding.of("fails-height", short_m=None)
    else:
        reason = Finding.of("fails-open")
    return _blocked(near, i, reason, None)


def _unflyable(near: Gates, far: Gates, i: int, failures: Sequence[_Failed], *, towards: bool) -> Blocked:
    """Name the first failing place: of the reason that stopped the most directions."""
    if not failures:
        return _blocked(near, i, Finding.of("fails-height", short_m=None), None)
    common = Counter((failed.why, failed.early) for failed in failures).most_common(1)[0][0]
    worst = next(failed for failed in failures if (failed.why, failed.early) == common)
    codes = {
        OFF: "fails-closed",
        CLOSED: "fails-closed",
        ROOF: "fails-roof",
        NO_ROOM: "fails-room",
        NO_CIRCLE: "fails-circle",
    }
    if worst.why == LOW:
        reason = Finding.of("fails-height", short_m=worst.short_m or None)
    else:
        reason = Finding.of(codes[worst.why])
    gates = near if worst.early == towards else far
    return _blocked(gates, i if gates is near else 0, reason, worst)


def _blocked(gates: Gates, i: int, reason: Finding, failed: _Failed | None) -> Blocked:
    import shapely

    code = "no-flyable-departure" if gates.departure else "no-flyable-arrival"
    along_m = None if failed is None else failed.along_m
    place = (float(gates.x_m[i]), float(gates.y_m[i])) if failed is None else (failed.x_m, failed.y_m)
    return Blocked(Finding.of(code, place=gates.place, along_m=along_m, why=reason), (), shapely.Point(place))
