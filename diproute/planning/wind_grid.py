"""Sites flown in a grid of winds: gates chosen anew in each, the ways between them found in a few and timed in all.

The law is that of `diproute.planning.scenario_flights`, which flies every site anew in every weather. Here a leg gets
a handful of paths (`diproute.routing.in_winds`), each held against floors, radii, climbs and orbits in every wind. So a
site that is open here can be flown; one that is closed for want of a path might still be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from dataclasses import fields as fields_of
from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.constants import HOVER_TURN_DEG_S, STRONGEST_WIND
from diproute.planning.assessment import Flown
from diproute.planning.circuits import Circuit, shared_out
from diproute.planning.ferries import Ferried
from diproute.planning.gateways import Ends, courses_over, gates_at
from diproute.planning.rates import Flyings
from diproute.planning.scenarios import Flights
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, I64, Finding, Wind
from diproute.routing.flight import Anew
from diproute.routing.gates import Gates
from diproute.routing.in_winds import EndInWinds, InWinds, LegInWinds, fly_in_winds
from diproute.routing.speed_model import Flying
from diproute.sortie.cycle import farthest_drop_s

Bools = npt.NDArray[np.bool_]
_NAMES: Final = tuple(one.name for one in fields_of(Flights) if one.name != "fixed")
AT_ONCE: Final = 32  # sites whose gates are held in memory in all winds
NO_LEG: Final = Finding.of("no-leg-found")


@dataclass(frozen=True, slots=True)
class Reasons:
    """The reasons so far, each once."""

    found: list[Finding] = field(default_factory=list)
    places: dict[Finding, int] = field(default_factory=dict)

    def index(self, reason: Finding) -> int:
        """Give the place of a reason."""
        if reason not in self.places:
            self.places[reason] = len(self.found)
            self.found.append(reason)
        return self.places[reason]


@dataclass(frozen=True, slots=True)
class GridFlights:
    """Every site in every wind, (sites, winds); NaN where it is closed."""

    flights: Flights
    courses_deg: F64  # (sites, winds, 2) true, of arrival and departure at the main drop's round
    why: I64  # (sites, winds) index into the reasons; -1: it is open

    def values(self) -> dict[str, F64 | None]:
        """Give the flights by name, all of them by site and wind."""
        return {name: getattr(self.flights, name) for name in _NAMES}


@dataclass(frozen=True, slots=True)
class _Kind:
    """Ends of one kind in every wind: their gates for arrivals and for departures."""

    into: Sequence[Gates]
    out: Sequence[Gates]

    @classmethod
    def of(cls, fields: TravelFields, how: Flyings, ends: Ends, winds: Sequence[Wind], *, more: bool = False) -> _Kind:
        """Choose the gates; ``more``: with a tailwind, too, wherever the limits allow it."""

        def gates(*, departure: bool) -> list[Gates]:
            prepared = fields.prepared
            return [gates_at(prepared, how, ends, wind, departure=departure, downwind=more) for wind in winds]

        return cls(gates(departure=False), gates(departure=True))

    def open_gates(self) -> I64:
        """Count the open gates of arrival and departure, (winds, ends)."""
        return np.array([
            np.count_nonzero(i.speed_m_s > 0, axis=(1, 2)) + np.count_nonzero(o.speed_m_s > 0, axis=(1, 2))
            for i, o in zip(self.into, self.out, strict=True)
        ])  # fmt: skip


def fly_grid(
    fields: TravelFields, how: Flyings, flown: Sequence[Flown], winds: Sequence[Wind], reasons: Reasons
) -> GridFlights:
    """Fly every site in every wind.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    how
        Airspeeds and rates.
    flown
        Sites with all their rounds.
    winds
        Each one steady wind at all heights.
    reasons
        Why sites are closed; what is new is put to them.
    """
    count = len(winds)
    places = _Places(
        fields, how, winds, tuple(_Kind.of(fields, how, ends, winds) for ends in fields.drops),
        None if fields.base is None else _Kind.of(fields, how, fields.base, winds),
        _in_winds(fields, how.loaded, winds),
        _in_winds(fields, how.empty, winds), {},
    )  # fmt: skip
    for one in flown:
        places.fly_home(one)
    told = np.full((len(_NAMES), len(flown), count), np.nan)
    courses, why = np.full((len(flown), count, 2), np.nan), np.full((len(flown), count), -1, np.int64)
    for first in range(0, len(flown), AT_ONCE):
        some = flown[first : first + AT_ONCE]
        dips = Ends.joined([one.ends for one in some])
        part = slice(first, first + len(some))
        why[part] = _closed(fields, how, dips, winds, reasons)
        chunk = _Chunk(
            places, some, why[part] < 0, _Kind.of(fields, how, dips, winds),
            _Kind.of(fields, how, dips, winds, more=True),
        )  # fmt: skip
        for s, (values, way) in enumerate(shared_out(chunk.site, range(len(some)))):
            told[:, first + s], courses[first + s] = values, way
    why[np.isnan(told[0]) & (why < 0)] = reasons.index(NO_LEG)
    named: dict[str, F64 | None] = dict(zip(_NAMES, told, strict=True))
    if fields.base is None:
        named |= {"out_s": None, "home_s": None}
    flights = Flights(**named, fixed=np.ones(count))  # type: ignore[arg-type]  # only ferries may be missing
    return GridFlights(flights, courses, why)


def _in_winds(fields: TravelFields, flying: Flying, winds: Sequence[Wind]) -> InWinds:
    return InWinds.of([Anew.of(fields.prepared.airspace, flying, wind) for wind in winds])


def _closed(fields: TravelFields, how: Flyings, dips: Ends, winds: Sequence[Wind], reasons: Reasons) -> I64:
    """Say for every dip and wind why no course is open, (dips, winds); -1: one is."""
    why = np.full((len(dips.open_out), len(winds)), -1, np.int64)
    strongest_m_s = STRONGEST_WIND.value * min(how.loaded.airspeed_m_s, how.empty.airspeed_m_s)
    for w, wind in enumerate(winds):
        for corridors, is_open, departure in ((dips.into, dips.open_in, False), (dips.out, dips.open_out, True)):
            courses = courses_over(
                fields.prepared, corridors.bearing_deg, corridors.z_m, wind, departure=departure
            )  # fmt: skip
            shut = ~(is_open & courses.allowed).any(axis=1) & (why[:, w] < 0)
            if shut.any():
                why[shut, w] = reasons.index(courses.refused(0))
        if wind.speed_m_s[0] > strongest_m_s:
            why[why[:, w] < 0, w] = reasons.index(Finding.of("blocked-wind", share=STRONGEST_WIND.value))
    return why


@dataclass(frozen=True, slots=True)
class _Places:
    """What all sites have in common: the gates of drops and base, how legs are flown, the ways home."""

    fields: TravelFields
    how: Flyings
    winds: Sequence[Wind]
    drops: tuple[_Kind, ...]
    base: _Kind | None
    full: InWinds
    empty: InWinds
    homes: dict[int, LegInWinds]  # by the flight's id, each flown once

    def fly_home(self, flown: Flown) -> None:
        """Fly a site's way home, which others may share."""
        home = flown.home
        if self.base is None or not isinstance(home, Ferried) or id(home.flight) in self.homes:
            return
        ends = EndInWinds(self.drops[home.drop].out, home.point), EndInWinds(self.base.into, 0)
        asked = np.ones(len(self.winds), np.bool_)
        self.homes[id(home.flight)] = fly_in_winds(home.flight, self.empty, ends, asked)


@dataclass(frozen=True, slots=True)
class _Chunk:
    """Some sites with their gates in every wind."""

    places: _Places
    flown: Sequence[Flown]
    open: Bools  # (sites, winds) survey and wind leave a course
    first: _Kind  # into the wind where that can be
    more: _Kind  # with a tailwind, too

    def site(self, s: int) -> tuple[F64, F64]:
        """Fly one site: the values in the order of `_NAMES`, (names, winds), and the courses (winds, 2)."""
        one, places, shares = self.flown[s], self.places, self.places.fields.prepared.shares
        legs = self._legs(s, self.first, self.open[s])
        missing = self.open[s] & ~_all_flown(legs)
        if missing.any():  # with a tailwind only where no leg can be flown without
            gained = self.more.open_gates()[:, s] > self.first.open_gates()[:, s]
            if (missing & gained).any():
                others = self._legs(s, self.more, missing & gained)
                legs = [leg.or_else(other) for leg, other in zip(legs, others, strict=True)]
        rounds = len(places.drops)
        out, back, ferries = legs[: 2 * rounds : 2], legs[1 : 2 * rounds : 2], legs[2 * rounds :]
        turns = [
            (_turn_s(b.arrival_deg, o.departure_deg), _turn_s(o.arrival_deg, b.departure_deg))
            for o, b in zip(out, back, strict=True)
        ]
        of_drop = np.array([
            (o.transit_s, b.transit_s, o.lift_m, b.lower_m, o.lower_m, b.lift_m, *turn)
            for o, b, turn in zip(out, back, turns, strict=True)
        ])  # fmt: skip
        values = np.full((len(_NAMES), len(places.winds)), np.nan)
        values[:8] = np.tensordot(shares, of_drop, axes=1)
        if ferries:
            craft = places.fields.prepared.incident.helicopter
            extra_s = farthest_drop_s(craft, np.array([leg.seconds for leg in out]), shares)
            assert isinstance(one.home, Ferried)
            values[8], values[9] = ferries[0].seconds, places.homes[id(one.home.flight)].seconds + extra_s
            values[:, np.isnan(values[8:]).any(axis=0)] = np.nan
        values[:, np.isnan(values[:8]).any(axis=0)] = np.nan
        main = places.fields.prepared.main_drop
        courses = np.stack([back[main].arrival_deg, out[main].departure_deg], axis=-1)
        courses[np.isnan(values[0])] = np.nan
        return values, courses

    def _legs(self, s: int, dips: _Kind, asked: Bools) -> list[LegInWinds]:
        """Fly the legs to every drop and back, then the way from the base where there is one."""
        one, places = self.flown[s], self.places
        rounds = one.rounds
        if rounds is None:
            raise ValueError(f"{one.candidate.point.water.name} has no round")
        into, out = EndInWinds(dips.into, s), EndInWinds(dips.out, s)

        def loaded(circuit: Circuit, drop: _Kind, asked: Bools) -> LegInWinds:
            return fly_in_winds(circuit.out, places.full, (out, EndInWinds(drop.into, circuit.out.far)), asked)

        def empty(circuit: Circuit, drop: _Kind, asked: Bools) -> LegInWinds:
            return fly_in_winds(circuit.back, places.empty, (EndInWinds(drop.out, circuit.out.far), into), asked)

        def ferry(asked: Bools) -> LegInWinds:
            assert places.base is not None
            assert isinstance(one.out, Ferried)
            return fly_in_winds(one.out.flight, places.empty, (EndInWinds(places.base.out, 0), into), asked)

        pairs = zip(rounds, places.drops, strict=True)
        jobs: list[Callable[[Bools], LegInWinds]] = [partial(fly, *pair) for pair in pairs for fly in (loaded, empty)]
        jobs += [] if places.base is None else [ferry]
        legs: list[LegInWinds] = []
        for job in jobs:
            legs.append(job(asked))
            asked = asked & legs[-1].flown  # what one leg closes is asked of no other
        return legs


def _all_flown(legs: Sequence[LegInWinds]) -> Bools:
    return np.asarray(np.all([leg.flown for leg in legs], axis=0))


def _turn_s(from_deg: F64, to_deg: F64) -> F64:
    """Time to turn on the spot [s]."""
    return np.abs((to_deg - from_deg + 180.0) % 360.0 - 180.0) / HOVER_TURN_DEG_S.value
