"""One leg searched and flown: from the gates that may be taken to the quickest path with its arcs, orbits and heights.

The choice names the directions that are worth trying. From each the field's way is walked; its nodes become the free
corners of a polyline whose cost, with the real radii, climbs and orbits, is then made small together with the gates at
both ends. The best few directions are finished.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from diproute.records import F64, I64
from diproute.routing.blocked import Blocked, under_ceiling
from diproute.routing.choice import Choice
from diproute.routing.flight import Anew, Failed, Flight, Search, finish
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import AS_IT_IS, CLOSED, LOW, NONE, ROOF, WHOLE
from diproute.routing.refine_kernel import CLOSE_M, NO_ROOM, Leg, Scene, lay
from diproute.routing.scene import end_of, own_work
from diproute.routing.starts import FIRST_M, begin_from, far_gates, one_more, settled, starts, step_m
from diproute.routing.travel_time import Field
from diproute.routing.unflown import no_direction, unflyable

DIRECTIONS: Final = 8  # of the choice that are tried at once, the next ones where none of them can be flown
APART: Final = 2  # steps between them
COARSE: Final = np.array([200.0, 80.0])
FINE: Final = np.array([80.0, 25.0])
LAST_STEPS: Final = np.array([8.0])
LONGER: Final = 1.03  # than the best so far: no more worth finishing
LIKE: Final = 1.05  # a leg through other gates that is no longer than so many times the first is not searched further
LIGHT: Final = np.array([25.0])  # steps when a leg is flown again through the same gates
# how waiting is counted in the last searches, and on which side one more corner is put
MANNERS: Final = ((WHOLE, 0.0), (NONE, 0.0), (NONE, -1.0), (NONE, 1.0))
MENDED: Final = (CLOSED, LOW, ROOF)  # failures that a search with the closest sampling may mend
WAITED: Final = 1.04  # a leg so much longer than without whole orbits is tried without any


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
        return no_direction(field, near, i)
    anew = Anew.of(airspace, field.flying, field.wind)
    here = near.some(np.array([i]))

    def gates_of(one: Search) -> tuple[Gates, Gates]:
        far = field.far.some(np.array([one.far]))
        return (here, far) if field.towards else (far, here)

    task = _Task(anew, gates_of, field.towards, FIRST_FLOWN)
    failures: list[Failed] = []
    for first in range(0, len(directions), DIRECTIONS):
        begun = [begin_from(field, anew, near, choice, i, d) for d in directions[first : first + DIRECTIONS]]
        flights = _quickest(task, [one for some in begun for one in some], failures)
        if flights:
            return flights
    return unflyable(near, field.far, i, failures, towards=field.towards)


@dataclass(frozen=True, slots=True)
class _Effort:
    """How much is tried of a leg."""

    refined: int  # coarsely
    finished: int  # at most
    kept: int  # flights that are given
    manners: Sequence[tuple[int, float]]  # tried one after the other


FIRST_FLOWN: Final = _Effort(refined=8, finished=6, kept=3, manners=MANNERS)
FLOWN_AGAIN: Final = _Effort(refined=3, finished=2, kept=1, manners=MANNERS[:2])


@dataclass(frozen=True, slots=True)
class _Task:
    """In what a search is finished."""

    anew: Anew
    gates_of: Callable[[Search], tuple[Gates, Gates]]
    towards: bool
    effort: _Effort


def _quickest(task: _Task, begun: list[Search], failures: list[Failed]) -> list[Flight]:
    """Refine and finish the best beginnings; the quickest flights, each in a direction of its own first."""
    effort = task.effort
    found = [settled(one, COARSE, (FIRST_M, AS_IT_IS, 0)) for one in _best_of_each(begun)[: effort.refined]]
    flights: list[tuple[Flight, Search]] = []

    def add(one: Search, manner: tuple[int, float]) -> None:
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


def _best_of_each(found: list[Search]) -> list[Search]:
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
    for turning in (0, 1):  # through its own gates, then through the nearest that are open and others beside them
        taken = gate if turning == 0 else nearest_open(gate, gates)
        if taken is None or not all(gates[e].speed_m_s[0, taken[2 * e], taken[2 * e + 1]] > 0 for e in (0, 1)):
            continue
        leg = Leg(flight.search.free.copy(), taken.copy(), flight.search.ray.copy())
        one = Search(np.inf, leg, flight.corners, scene, flight.far, int(taken[0]))
        found = settled(one, LIGHT if turning == 0 else FINE, (step_m(one), WHOLE, turning))
        ended = finish(found, gates, anew, towards=flight.towards)
        if (
            isinstance(ended, Flight)
            and len(ended.orbits) <= len(flight.orbits)
            and (turning == 0 or ended.seconds < LIKE * flight.seconds)
        ):
            return ended
    # otherwise the corners that it has are the way of a new search through the gates that are open now
    work = own_work()
    count = lay(flight.search, flight.corners, scene, work)
    nodes = np.column_stack([work.x[1 : count - 1], work.y[1 : count - 1]])
    pairs = [
        (*first, *last)
        for first in far_gates(gates[0], 0, nodes[0], anew.craft)
        for last in far_gates(gates[1], 0, nodes[-1], anew.craft)
    ]
    failures: list[Failed] = []
    flights = _quickest(task, starts(nodes, pairs, scene, (flight.far, 0)), failures)
    return flights[0] if flights else unflyable(near, far, 0, failures, towards=flight.towards)


def nearest_open(gate: I64, gates: tuple[Gates, Gates]) -> I64 | None:
    """Give the open gates nearest in direction at both ends, of their kinds the one that goes on the quickest."""
    taken = gate.copy()
    for e in (0, 1):
        speed = gates[e].speed_m_s[0]
        count = len(speed)
        is_open = np.flatnonzero((speed > 0).any(axis=1))
        if not is_open.size:
            return None
        away = np.abs((is_open - gate[2 * e] + count // 2) % count - count // 2)
        taken[2 * e] = is_open[np.argmin(away)]
        if not speed[taken[2 * e], gate[2 * e + 1]] > 0:
            taken[2 * e + 1] = np.argmax(speed[taken[2 * e]])
    return taken


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


def _finished(task: _Task, one: Search, manner: tuple[int, float]) -> Flight | Failed:
    """Refine finely in one manner of waiting, with one more corner on a side where that is asked, and finish."""
    whole, side = manner
    trial = one.copy()
    if side != 0.0:
        corners = one_more(trial, side)
        if corners is None:
            return Failed(NO_ROOM, one.scene.start.x, one.scene.start.y, True, 0.0)
        trial = replace(trial, corners=corners)
    step = step_m(one)
    trial = settled(settled(trial, FINE, (step, whole, 1)), LAST_STEPS, (0.5 * step, whole, 0))
    ended = finish(trial, task.gates_of(one), task.anew, towards=task.towards)
    if isinstance(ended, Failed) and ended.why in MENDED:  # what lies between the samples that were looked at
        trial = settled(trial, LAST_STEPS, (CLOSE_M, whole, 0))
        ended = finish(trial, task.gates_of(one), task.anew, towards=task.towards)
    return ended
