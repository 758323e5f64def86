"""The travel-time fields of a plan, one solve each for all sites, grown from the gates of drops and base."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from diproute.errors import LayerError
from diproute.planning.gateways import Ends, gates_at, survey_ends
from diproute.planning.prepared import Places, Prepared
from diproute.planning.rates import Flyings, flyings
from diproute.records import Weather
from diproute.routing.gates import Gates
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Field, solve
from diproute.threads import pool


@dataclass(frozen=True, slots=True)
class TravelFields:
    """Fields in one weather: loaded to each drop, empty from it, and empty between the base and the work."""

    prepared: Prepared
    weather: Weather
    flyings: Flyings
    drops: tuple[Ends, ...]
    base: Ends | None
    loaded: tuple[Field, ...]
    empty: tuple[Field, ...]
    from_base: Field | None
    to_base: Field | None
    homes: dict[float, Any] = field(default_factory=dict, compare=False)  # kept by `ferries.ferry_home`
    _single: dict[tuple[int, int], Field] = field(default_factory=dict, compare=False)

    def empty_from(self, drop: int, point: int) -> Field:
        """Give the field of the empty legs from one point of a drop, solved when it is first asked for."""
        whole = self.empty[drop]
        if len(whole.far.x_m) == 1:
            return whole
        if (drop, point) not in self._single:
            far = whole.far.some(np.array([point]))
            self._single[drop, point] = solve(
                whole.airspace, whole.flying, whole.wind, far, towards=whole.towards, rungs=bool(whole.rungs[1:])
            )
        return self._single[drop, point]


def solve_fields(prepared: Prepared, weather: Weather, *, rungs: bool = True) -> TravelFields:
    """Solve every field of a plan.

    Parameters
    ----------
    prepared
        The ground made ready.
    weather
        Air (the rates of climb may depend on it) and wind.
    rungs
        False: without the rungs that tell how height is won, enough for choosing points.

    Raises
    ------
    LayerError
        A drop or the base where the ground is not known.
    """
    how = flyings(prepared, weather.air)
    drops = tuple(_ends(prepared, how, places) for places in prepared.drops)
    base = None if prepared.base is None else _ends(prepared, how, prepared.base)

    def gates(ends: Ends, *, departure: bool) -> Gates:
        return gates_at(prepared, how, ends, weather.wind, departure=departure)

    jobs: list[tuple[Flying, Gates, bool]] = []
    for drop in drops:
        jobs += [(how.loaded, gates(drop, departure=False), True), (how.empty, gates(drop, departure=True), False)]
    if base is not None:
        jobs += [(how.empty, gates(base, departure=True), False), (how.empty, gates(base, departure=False), True)]

    def run(job: tuple[Flying, Gates, bool]) -> Field:
        flying, far, towards = job
        return solve(prepared.airspace, flying, weather.wind, far, towards=towards, rungs=rungs)

    with pool() as workers:
        fields = list(workers.map(run, jobs))
    count = 2 * len(drops)
    return TravelFields(
        prepared, weather, how, drops, base, tuple(fields[0:count:2]), tuple(fields[1:count:2]),
        None if base is None else fields[count], None if base is None else fields[count + 1],
    )  # fmt: skip


def _ends(prepared: Prepared, how: Flyings, places: Places) -> Ends:
    known = np.isfinite(places.bottom_m)
    if not known.any():
        raise LayerError(
            f"{places.name}: the ground is not known there; give elevation (and canopy) that covers it",
            where="layers.elevation",
        )
    spots = (places.x_m[known], places.y_m[known], places.bottom_m[known])
    return survey_ends(prepared, how, "base" if places is prepared.base else "drop", spots, None)
