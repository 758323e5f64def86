"""The ways between the base and the work: to every dip, and home from the drop that lies farthest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.planning.circuits import Way, checked_leg, shared_out
from diproute.planning.gateways import Ends, gates_at
from diproute.planning.travel_fields import TravelFields
from diproute.records import Leg
from diproute.routing.blocked import Blocked
from diproute.routing.flight import Flight


@dataclass(frozen=True, slots=True)
class Ferried:
    """A way flown between the base and the work."""

    flight: Flight
    leg: Leg
    drop: int = 0  # where a way home begins
    point: int = 0  # of that drop


def ferry_out(fields: TravelFields, dips: Ends, hanging_m: Sequence[float]) -> list[Ferried | Blocked | None]:
    """Fly from the base to dips; None without a base.

    Parameters
    ----------
    fields
        In this weather.
    dips
        Where the ways end.
    hanging_m
        From the hook to the bucket's bottom, one a dip [m].
    """
    if fields.from_base is None or not len(hanging_m):
        return [None] * len(hanging_m)
    near = gates_at(fields.prepared, fields.flyings, dips, fields.weather.wind, departure=False)
    way = Way.of(fields.from_base, near, "base", "ferry")
    return list(shared_out(lambda i: _ferried(fields, way, i, hanging_m[i]), range(len(hanging_m))))


def ferry_home(fields: TravelFields, hanging_m: float) -> Ferried | Blocked | None:
    """Fly from the drop with the longest way home to the base; None without a base.

    Parameters
    ----------
    fields
        In this weather; it keeps the answer.
    hanging_m
        From the hook to the bucket's bottom [m].
    """
    if fields.to_base is None:
        return None
    if hanging_m not in fields.homes:
        fields.homes[hanging_m] = _home(fields, hanging_m)
    kept: Ferried | Blocked = fields.homes[hanging_m]
    return kept


def _home(fields: TravelFields, hanging_m: float) -> Ferried | Blocked:
    assert fields.to_base is not None
    found: list[Ferried] = []
    for drop in fields.drops:
        near = gates_at(fields.prepared, fields.flyings, drop, fields.weather.wind, departure=True)
        way = Way.of(fields.to_base, near, "base", "ferry")
        worst = int(np.argmax(way.choice.seconds.min(axis=1)))
        home = _ferried(fields, way, worst, hanging_m)
        if isinstance(home, Blocked):
            return home
        found.append(replace(home, drop=len(found), point=worst))
    return max(found, key=lambda home: home.leg.seconds)


def _ferried(fields: TravelFields, way: Way, i: int, hanging_m: float) -> Ferried | Blocked:
    """Fly one way; the first of its flights that passes the audit."""
    flights = way.flights(i)
    if isinstance(flights, Blocked):
        return flights
    leg: Leg | Blocked | None = None
    for flight in flights:
        leg = checked_leg(way, flight, hanging_m, fields.prepared.vectors)
        if isinstance(leg, Leg):
            return Ferried(flight, leg)
    assert isinstance(leg, Blocked)
    return leg
