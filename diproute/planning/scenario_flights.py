"""Sites flown again in other weather over the ways they already have: gates chosen anew, legs flown anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diproute.planning.assessment import Flown
from diproute.planning.circuits import Circuit, pedal_turn_s, shared_out
from diproute.planning.ferries import Ferried
from diproute.planning.gateways import Ends, courses_over, gates_at
from diproute.planning.prepared import Prepared
from diproute.planning.rates import Flyings, flyings
from diproute.planning.scenarios import Flights
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, Finding, Weather, Wind
from diproute.routing.blocked import Blocked
from diproute.routing.choice import choose
from diproute.routing.flight import Anew, Flight
from diproute.routing.flown import fly, fly_again
from diproute.routing.gates import Gates
from diproute.routing.travel_time import Field
from diproute.sortie.cycle import farthest_drop_s

_NAMES = ("loaded_s", "empty_s", "lift_m", "lower_m", "drop_lower_m", "drop_lift_m", "dip_turn_s", "drop_turn_s",
          "out_s", "home_s")  # fmt: skip
Whys = tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class ScenarioFlights:
    """Every site in every weather."""

    flights: Flights  # (sites, weathers); NaN where a course, or a leg, cannot be flown in that weather
    whys: list[list[Whys]]  # by site and weather: why not; empty where it can
    courses_deg: F64  # (sites, weathers, 2) true, of arrival and departure at the main drop's round; NaN: none


def fly_scenarios(fields: TravelFields, flown: Sequence[Flown], weathers: Sequence[Weather]) -> ScenarioFlights:
    """Fly every site in every weather.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    flown
        Sites with all their rounds.
    weathers
        Air (for the rates of climb) and wind.
    """
    told = np.full((len(_NAMES), len(flown), len(weathers)), np.nan)
    courses = np.full((len(flown), len(weathers), 2), np.nan)
    whys: list[list[Whys]] = [[() for _ in weathers] for _ in flown]
    seen: dict[tuple[Wind, Flyings], int] = {}
    for w, weather in enumerate(weathers):
        how = flyings(fields.prepared, weather.air)
        first = seen.setdefault((weather.wind, how), w)  # the same wind needs no second flight
        if first == w:
            again = _Again.of(fields, how, weather.wind, flown)
            found = shared_out(again.site, range(len(flown)))
            for s, one in enumerate(found):
                told[:, s, w], courses[s, w], whys[s][w] = one
        else:
            told[:, :, w], courses[:, w] = told[:, :, first], courses[:, first]
            for s in range(len(flown)):
                whys[s][w] = whys[s][first]
    values = dict(zip(_NAMES, told, strict=True))
    out_s, home_s = values.pop("out_s"), values.pop("home_s")
    based = fields.base is not None
    flights = Flights(
        **values, out_s=out_s if based else None, home_s=home_s if based else None, fixed=np.ones(len(weathers))
    )
    return ScenarioFlights(flights, whys, courses)


@dataclass(frozen=True, slots=True)
class _Again:
    """One weather: the gates of dips, drops and base in it, each for arrivals and for departures."""

    fields: TravelFields
    flown: Sequence[Flown]
    how: Flyings
    wind: Wind
    dips: tuple[tuple[Gates, Gates], tuple[Gates, Gates]]  # into the wind first, then with a tailwind too
    whys: list[Whys]  # why the wind leaves no way in, or no way out, of a dip; empty where it does
    drops: tuple[tuple[Gates, Gates], ...]
    base: tuple[Gates, Gates] | None
    full: Anew
    empty: Anew
    homes: dict[int, Flight | Blocked]  # ways home, each flown once

    @classmethod
    def of(cls, fields: TravelFields, how: Flyings, wind: Wind, flown: Sequence[Flown]) -> _Again:
        prepared = fields.prepared

        def both(ends: Ends, *, downwind: bool = False) -> tuple[Gates, Gates]:
            return (
                gates_at(prepared, how, ends, wind, departure=False, downwind=downwind),
                gates_at(prepared, how, ends, wind, departure=True, downwind=downwind),
            )

        dips = Ends.joined([one.ends for one in flown])
        return cls(
            fields, flown, how, wind, (both(dips), both(dips, downwind=True)), _closed(prepared, dips, wind),
            tuple(both(ends) for ends in fields.drops), None if fields.base is None else both(fields.base),
            Anew.of(prepared.airspace, how.loaded, wind), Anew.of(prepared.airspace, how.empty, wind), {},
        )  # fmt: skip

    def site(self, s: int) -> tuple[F64, F64, Whys]:
        """Fly one site: the values in the order of `_NAMES`, the courses of arrival and departure, and why not."""
        values, courses = np.full(len(_NAMES), np.nan), np.full(2, np.nan)
        flown, prepared, closed = self.flown[s], self.fields.prepared, self.whys[s]
        rounds = flown.rounds
        if rounds is None:
            raise ValueError(f"{flown.candidate.point.water.name} has no round")
        if closed:
            return values, courses, closed
        for of_dips in self.dips:
            if of_dips is not self.dips[0] and not self._more(s):
                break
            near = of_dips[0].some(np.array([s])), of_dips[1].some(np.array([s]))
            legs = [self._round(one, near, drop) for drop, one in enumerate(rounds)]
            if not any(isinstance(leg, Blocked) for pair in legs for leg in pair):
                break
        if any(isinstance(leg, Blocked) for pair in legs for leg in pair):
            why = next(leg.why for pair in legs for leg in pair if isinstance(leg, Blocked))
            return values, courses, (Finding.of("leg-wind", why=why),)
        pairs = [(out, back) for out, back in legs if isinstance(out, Flight) and isinstance(back, Flight)]
        of_drop = np.array([
            (out.transit_s, back.transit_s, out.lift_m, back.lower_m, out.lower_m, back.lift_m,
             pedal_turn_s(back.arrival_deg, out.departure_deg), pedal_turn_s(out.arrival_deg, back.departure_deg))
            for out, back in pairs
        ])  # fmt: skip
        values[:8] = prepared.shares @ of_drop
        out, back = pairs[prepared.main_drop]
        courses[:] = back.arrival_deg, out.departure_deg
        if self.base is not None:
            loaded_s = [out.seconds for out, _ in pairs]
            extra_s = farthest_drop_s(prepared.incident.helicopter, loaded_s, prepared.shares)
            ferries = self._ferries(flown, near)
            failed = next((one.why for one in ferries if isinstance(one, Blocked)), None)
            if failed is not None:
                return np.full(len(_NAMES), np.nan), courses, (Finding.of("leg-wind", why=failed),)
            values[8:] = [one.seconds for one in ferries if isinstance(one, Flight)]
            values[9] += extra_s
        return values, courses, ()

    def _more(self, s: int) -> bool:
        """Whether a tailwind opens more gates of a dip."""
        pairs = zip(self.dips[0], self.dips[1], strict=True)
        return any(((more.speed_m_s[s] > 0) & ~(first.speed_m_s[s] > 0)).any() for first, more in pairs)

    def _round(self, one: Circuit, near: tuple[Gates, Gates], drop: int) -> tuple[Flight | Blocked, Flight | Blocked]:
        arrivals, departures = self.drops[drop]
        point = one.out.far
        return (
            _flown(self.fields.loaded[drop], one.out, self.full, near[1], arrivals),
            _flown(
                self.fields.empty_from(drop, point), one.back, self.empty, near[0], departures.some(np.array([point]))
            ),
        )

    def _ferries(self, flown: Flown, near: tuple[Gates, Gates]) -> list[Flight | Blocked]:
        from_base, to_base = self.fields.from_base, self.fields.to_base
        assert self.base is not None
        assert from_base is not None
        assert to_base is not None
        out, home = flown.out, flown.home
        if not (isinstance(out, Ferried) and isinstance(home, Ferried)):
            raise ValueError(f"{flown.candidate.point.water.name} has no ferries")
        arrivals, departures = self.base
        if id(home.flight) not in self.homes:
            leaving = self.drops[home.drop][1].some(np.array([home.point]))
            self.homes[id(home.flight)] = _flown(to_base, home.flight, self.empty, leaving, arrivals)
        return [_flown(from_base, out.flight, self.empty, near[0], departures), self.homes[id(home.flight)]]


def _flown(field: Field, flight: Flight, anew: Anew, near: Gates, far: Gates) -> Flight | Blocked:
    """Fly a leg again over the way that it has, and where that cannot be flown, search for another."""
    again = fly_again(flight, anew, near, far if far.x_m.size == 1 else far.some(np.array([flight.far])))
    if isinstance(again, Flight):
        return again
    guide = field.serving(anew.flying, anew.wind, far)
    found = fly(guide, near, choose(guide, near), 0)
    return found if isinstance(found, Blocked) else found[0]


def _closed(prepared: Prepared, dips: Ends, wind: Wind) -> list[Whys]:
    """Say for each dip why the wind leaves no way in, or no way out; empty where it does."""
    found: list[list[Finding]] = [[] for _ in dips.open_out]
    for corridors, is_open, departure in ((dips.into, dips.open_in, False), (dips.out, dips.open_out, True)):
        courses = courses_over(prepared, corridors.bearing_deg, corridors.z_m, wind, departure=departure)
        for s in np.flatnonzero(~(is_open & courses.allowed).any(axis=1)):
            found[s].append(courses.refused(int(s)))
    return [tuple(dict.fromkeys(some)) for some in found]
