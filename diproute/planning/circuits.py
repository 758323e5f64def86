"""The rounds of sites: the legs to each drop and back, chosen together by one cost, flown and audited."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TypeVar

import numpy as np

from diproute.constants import HOVER_TURN_DEG_S
from diproute.planning.gateways import Ends, gates_at
from diproute.planning.travel_fields import TravelFields
from diproute.records import Leg
from diproute.routing.audit import Vectors, audit
from diproute.routing.blocked import Blocked
from diproute.routing.choice import Choice, choose
from diproute.routing.flight import Flight
from diproute.routing.flown import fly
from diproute.routing.gates import Gates
from diproute.routing.leg import Kind, make_leg
from diproute.routing.separation import apart_from, told_apart
from diproute.routing.travel_time import Field
from diproute.threads import pool, threads

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Circuit:
    """One site's round to one drop and back."""

    out: Flight
    back: Flight
    loaded: Leg
    empty: Leg
    dip_turn_s: float  # pedal turn over the dip, from the arrival's course to the departure's
    drop_turn_s: float


@dataclass(frozen=True, slots=True)
class Way:
    """One kind of leg: its field, the gates at the other end, how the record names it."""

    field: Field
    near: Gates
    choice: Choice
    name: str
    kind: Kind

    @classmethod
    def of(cls, field: Field, near: Gates, name: str, kind: Kind) -> Way:
        """Choose among the gates at once for all points."""
        return cls(field, near, choose(field, near), name, kind)

    def flights(self, i: int) -> list[Flight] | Blocked:
        """Fly the legs of one point, the quickest first."""
        return fly(self.field, self.near, self.choice, i)


def pedal_turn_s(from_deg: float, to_deg: float) -> float:
    """Time to turn on the spot from one course to another [s]."""
    return abs((to_deg - from_deg + 180.0) % 360.0 - 180.0) / HOVER_TURN_DEG_S.value


def fly_circuits(
    fields: TravelFields, dips: Ends, hanging_m: Sequence[float], vectors: Vectors
) -> list[tuple[Circuit | Blocked, ...]]:
    """Fly the rounds of some dips.

    A pair of legs that the loaded aircraft can only begin, or end, with a tailwind is looked for where there is no
    other.

    Parameters
    ----------
    fields
        The fields in this weather.
    dips
        The points with their corridors.
    hanging_m
        From the hook to the bucket's bottom, one a point [m].
    vectors
        Areas and wires for the audit of every leg.

    Returns
    -------
    list of tuple
        For each point one entry a drop.
    """
    rounds = [_rounds(fields, dips, d, hanging_m, vectors) for d in range(len(fields.drops))]
    return [tuple(of_drop[i] for of_drop in rounds) for i in range(len(hanging_m))]


def _rounds(
    fields: TravelFields, dips: Ends, drop: int, hanging_m: Sequence[float], vectors: Vectors
) -> list[Circuit | Blocked]:
    """Fly the rounds of some dips to one drop; those that cannot be flown into the wind once more with a tailwind."""

    def gates(*, departure: bool, downwind: bool) -> Gates:
        wind = fields.weather.wind
        return gates_at(fields.prepared, fields.flyings, dips, wind, departure=departure, downwind=downwind)

    first = gates(departure=True, downwind=False), gates(departure=False, downwind=False)
    found = _rounds_through(fields, first, drop, hanging_m, vectors)
    more = gates(departure=True, downwind=True), gates(departure=False, downwind=True)
    gained = [
        i
        for i, one in enumerate(found)
        if isinstance(one, Blocked)
        and any((b.speed_m_s[i] > 0).sum() > (a.speed_m_s[i] > 0).sum() for a, b in zip(first, more, strict=True))
    ]
    if gained:
        which = np.array(gained)
        near = more[0].some(which), more[1].some(which)
        second = _rounds_through(fields, near, drop, [hanging_m[i] for i in gained], vectors)
        for i, one in zip(gained, second, strict=True):
            found[i] = one if isinstance(one, Circuit) else found[i]
    return found


def _rounds_through(
    fields: TravelFields, near: tuple[Gates, Gates], drop: int, hanging_m: Sequence[float], vectors: Vectors
) -> list[Circuit | Blocked]:
    """Fly the rounds through the gates for departure and arrival at the dips.

    Where a drop is a line, the empty leg leaves from the point that the loaded one serves.
    """
    name = fields.prepared.drops[drop].name
    out = Way.of(fields.loaded[drop], near[0], name, "loaded")
    flights = shared_out(out.flights, range(len(hanging_m)))
    found: dict[int, Circuit | Blocked] = {}
    served: dict[int, list[int]] = {}
    for i, some in enumerate(flights):
        if isinstance(some, Blocked):
            found[i] = some
        else:
            served.setdefault(some[0].far, []).append(i)
    for point, which in served.items():
        back = Way.of(fields.empty_from(drop, point), near[1].some(np.array(which)), name, "empty")

        def one(k: int, back: Way = back, which: list[int] = which, point: int = point) -> Circuit | Blocked:
            some = flights[which[k]]
            assert not isinstance(some, Blocked)
            outs = [flight for flight in some if flight.far == point]
            circuit = _round((out, outs), (back, back.flights(k)), hanging_m[which[k]], vectors)
            apart_m = fields.prepared.incident.keep_apart_m
            if apart_m > 0.0 and isinstance(circuit, Circuit):
                return _kept_apart(circuit, back, k, (hanging_m[which[k]], apart_m), vectors)
            return circuit

        for i, circuit in zip(which, shared_out(one, range(len(which))), strict=True):
            found[i] = circuit
    return [found[i] for i in range(len(hanging_m))]


def _round(
    out: tuple[Way, list[Flight]], back: tuple[Way, list[Flight] | Blocked], hanging_m: float, vectors: Vectors
) -> Circuit | Blocked:
    """Pair the legs of one round: the least time, turns on the spot with it, that passes the audit."""
    (out_way, outs), (back_way, backs) = out, back
    if isinstance(backs, Blocked):
        return backs
    legs: dict[int, Leg | Blocked] = {}

    def leg_of(way: Way, flight: Flight) -> Leg | Blocked:
        if id(flight) not in legs:
            legs[id(flight)] = checked_leg(way, flight, hanging_m, vectors)
        return legs[id(flight)]

    def seconds(pair: tuple[Flight, Flight]) -> float:
        return pair[0].seconds + pair[1].seconds + sum(_turns(*pair))

    for pair in sorted(product(outs, backs), key=seconds):
        loaded, empty = leg_of(out_way, pair[0]), leg_of(back_way, pair[1])
        if isinstance(loaded, Leg) and isinstance(empty, Leg):
            return Circuit(*pair, loaded, empty, *_turns(*pair))
    return next(leg for leg in legs.values() if isinstance(leg, Blocked))


def _kept_apart(circuit: Circuit, back: Way, k: int, told: tuple[float, float], vectors: Vectors) -> Circuit:
    """Fly the empty leg again so that it keeps away from the loaded one; what cannot be kept is said."""
    hanging_m, apart_m = told
    field = apart_from(back.field, circuit.loaded, apart_m)
    flights = fly(field, back.near, back.choice, k)
    tried = [] if isinstance(flights, Blocked) else flights
    for flight in tried:
        leg = checked_leg(back, flight, hanging_m, vectors)
        if isinstance(leg, Leg):
            turns = _turns(circuit.out, flight)
            return Circuit(circuit.out, flight, circuit.loaded, told_apart(leg, circuit.loaded, apart_m), *turns)
    return replace(circuit, empty=told_apart(circuit.empty, circuit.loaded, apart_m))


def _turns(out: Flight, back: Flight) -> tuple[float, float]:
    """Pedal turns over the dip and over the drop [s]."""
    at_dip = pedal_turn_s(back.arrival_deg, out.departure_deg)
    return at_dip, pedal_turn_s(out.arrival_deg, back.departure_deg)


def checked_leg(way: Way, flight: Flight, hanging_m: float, vectors: Vectors) -> Leg | Blocked:
    """Make the record of a flight; a breach that the audit finds is a refusal."""
    leg = make_leg(way.field.airspace, flight, hanging_m, way.name, way.kind)
    why = audit(vectors, leg)
    return leg if why is None else Blocked(why, (), None)


def shared_out(function: Callable[[int], R], items: Sequence[int]) -> list[R]:
    """Run a function over some numbers on all threads, in order."""
    if len(items) < 2 or threads() < 2:
        return [function(item) for item in items]
    with pool() as workers:
        return list(workers.map(function, items))
