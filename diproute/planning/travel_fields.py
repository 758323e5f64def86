"""The travel-time fields of a plan, one solve each for all sites, and the legs that follow from them."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diproute.errors import LayerError
from diproute.physics.geodesy import distance_and_course
from diproute.planning.prepared import Places, Prepared
from diproute.records import Helicopter, Leg, Wind
from diproute.routing.blocked import Blocked
from diproute.routing.leg import Kind, fly_legs
from diproute.routing.separation import separated_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Field, Sources, solve
from diproute.threads import threads


@dataclass(frozen=True, slots=True)
class TravelFields:
    """Fields in one wind: loaded to each drop, empty from it, and empty between the base and the work."""

    prepared: Prepared
    wind: Wind
    loaded: tuple[Field, ...]
    empty: tuple[Field, ...]
    from_base: Field | None
    to_base: Field | None


@dataclass(frozen=True, slots=True)
class Legs:
    """The legs of one site, one a drop, or what blocks them."""

    loaded: tuple[Leg | Blocked, ...]
    empty: tuple[Leg | Blocked, ...]

    @property
    def blocked(self) -> Blocked | None:
        """The first thing in the way; None: every leg is there."""
        return next((leg for leg in (*self.loaded, *self.empty) if isinstance(leg, Blocked)), None)


def loaded_and_empty(craft: Helicopter) -> tuple[Flying, Flying]:
    """Give how a helicopter flies with the full bucket, and how with the empty one."""
    return (
        Flying(craft.speed_loaded_m_s, craft.climb_loaded_m_s, craft.descent_loaded_m_s),
        Flying(craft.speed_empty_m_s, craft.climb_empty_m_s, craft.descent_empty_m_s),
    )


def solve_fields(prepared: Prepared, wind: Wind) -> TravelFields:
    """Solve every field of a plan.

    Raises
    ------
    LayerError
        A drop or the base where the ground is not known.
    """
    full, empty = loaded_and_empty(prepared.incident.helicopter)
    jobs: list[tuple[Places, Flying, bool]] = []
    for drop in prepared.drops:
        jobs += [(drop, full, True), (drop, empty, False)]
    if prepared.base is not None:
        jobs += [(prepared.base, empty, False), (prepared.base, empty, True)]

    def run(job: tuple[Places, Flying, bool]) -> Field:
        places, flying, towards = job
        known = np.isfinite(places.bottom_m)
        if not known.any():
            raise LayerError(
                f"{places.name}: the ground is not known there; give elevation (and canopy) that covers it",
                where="layers.elevation",
            )
        sources = Sources(places.x_m[known], places.y_m[known], places.bottom_m[known])
        return solve(prepared.airspace, flying, wind, sources, towards=towards)

    with ThreadPoolExecutor(threads()) as pool:
        fields = list(pool.map(run, jobs))
    count = 2 * len(prepared.drops)
    based = prepared.base is not None
    return TravelFields(
        prepared,
        wind,
        tuple(fields[0:count:2]),
        tuple(fields[1:count:2]),
        fields[count] if based else None,
        fields[count + 1] if based else None,
    )


def site_legs(fields: TravelFields, loaded: Sequence[Ask], empty: Sequence[Ask]) -> list[Legs]:
    """Fly the legs of every site to and from every drop, apart where the incident asks for it.

    Parameters
    ----------
    loaded, empty
        One a site: where the loaded leg starts, and where the empty one ends.
    """
    apart_m, drops = fields.prepared.incident.limits.keep_apart_m, fields.prepared.drops
    jobs: list[tuple[Field, Sequence[Ask], str, Kind]] = [
        (field, loaded, drop.name, "loaded") for field, drop in zip(fields.loaded, drops, strict=True)
    ]
    if apart_m == 0:
        jobs += [(field, empty, drop.name, "empty") for field, drop in zip(fields.empty, drops, strict=True)]

    def run(job: tuple[Field, Sequence[Ask], str, Kind]) -> list[Leg | Blocked]:
        field, asks, name, kind = job
        return fly_legs(field, asks, name, kind, workers=1)

    with ThreadPoolExecutor(threads()) as pool:
        found = list(pool.map(run, jobs))
    out, back = found[: len(drops)], found[len(drops) :]
    if apart_m > 0:
        back = [
            separated_legs(field, empty, others, apart_m, drop.name, "empty")
            for field, others, drop in zip(fields.empty, out, drops, strict=True)
        ]
    return [Legs(tuple(o[i] for o in out), tuple(b[i] for b in back)) for i in range(len(loaded))]


def ferry_out(fields: TravelFields, asks: Sequence[Ask]) -> list[Leg | Blocked | None]:
    """Fly from the base to every site; None without a base."""
    if fields.from_base is None:
        return [None] * len(asks)
    return list(fly_legs(fields.from_base, asks, "base", "ferry"))


def ferry_home(fields: TravelFields) -> Leg | Blocked | None:
    """Fly from the drop with the longest way home to the base; None without a base."""
    if fields.to_base is None:
        return None
    hanging = fields.prepared.longest_hanging_m
    asks = []
    for drop in fields.prepared.drops:
        far = fields.to_base.seconds(drop.x_m, drop.y_m)
        i = int(np.argmax(np.where(np.isnan(drop.bottom_m), -np.inf, np.nan_to_num(far, nan=np.inf))))
        asks.append(Ask(float(drop.x_m[i]), float(drop.y_m[i]), float(drop.bottom_m[i]), hanging))
    legs = fly_legs(fields.to_base, asks, "base", "ferry")
    return next((leg for leg in legs if isinstance(leg, Blocked)), None) or max(
        (leg for leg in legs if isinstance(leg, Leg)), key=lambda leg: leg.seconds
    )


def turned_s(leg: Leg, end: Literal["start", "end"]) -> float:
    """Give the time that a leg climbs or descends in turns over its start or its end [s]."""
    there = leg.time_s[leg.distance_m == leg.distance_m[0 if end == "start" else -1]]
    return float(there[-1] - there[0])


def course_of(leg: Leg, end: Literal["start", "end"]) -> float:
    """Give the true course on which a leg starts or ends [deg], to its first turning point or from its last.

    North for a leg of no length: the fire is at the water.
    """
    if leg.length_m == 0.0:
        return 0.0
    inner = leg.waypoints[1] if end == "start" else leg.waypoints[-2]
    first, last = (0, inner) if end == "start" else (inner, -1)
    _, course = distance_and_course(leg.lon_deg[first], leg.lat_deg[first], leg.lon_deg[last], leg.lat_deg[last])
    return float(course)
