"""The loads of many sites in many kinds of weather at once: by the hour, or in draws of a doubt.

What a cycle costs is linear in its legs, lifts and turns, so each line's cycle is worked once by
`diproute.sortie.cycle` for a unit of each, and any number of weathers follow by multiplication.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.planning.air import air_at_heights
from diproute.planning.prepared import Prepared
from diproute.records import F64, Air, AssessedSite, Incident, Line
from diproute.sortie.cycle import after_drop, cycle
from diproute.sortie.fill_and_fuel import best_of_many
from diproute.sortie.fuel_cycle import site_terms
from diproute.sortie.hover_chart import hover_limit

_TERMS = ("loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s")


@dataclass(frozen=True, slots=True)
class Flights:
    """What is flown, ``(sites, weathers)`` each; NaN: cannot be flown in that weather."""

    loaded_s: F64
    empty_s: F64
    lift_m: F64
    lower_m: F64
    departure_turn_s: F64
    arrival_turn_s: F64
    out_s: F64 | None  # from the base; None: no base
    home_s: F64 | None
    fixed: F64  # (weathers,) factor on filling, dropping and manoeuvring


@dataclass(frozen=True, slots=True)
class Scenarios:
    """The best line, fill and fuel, ``(sites, weathers)`` each; NaN where nothing can be flown."""

    litres_per_hour: F64
    fill: F64
    fuel_kg: F64
    margin_kg: F64
    line_m: F64
    cycle_s: F64
    seconds: F64  # of the whole fuel cycle
    chart_known: npt.NDArray[np.bool_]  # False: the hover chart gives no answer


def work_scenarios(scene: Prepared, sites: Sequence[AssessedSite], airs: Sequence[Air], flights: Flights) -> Scenarios:
    """Find the best line, fill setting and fuel of every site in every weather.

    Parameters
    ----------
    scene
        The ground made ready.
    sites
        Sites with a known water level.
    airs
        One a weather.
    flights
        Legs, lifts and turns of every site in every weather.

    Returns
    -------
    Scenarios
        With the same definitions as a `AssessedSite`'s load and sortie.
    """
    incident = scene.incident
    shape = flights.loaded_s.shape
    names = ("litres_per_hour", "fill", "fuel_kg", "margin_kg", "line_m", "cycle_s", "seconds")
    best: dict[str, F64] = {name: np.full(shape, np.nan) for name in names}
    chart_known = np.zeros(shape, dtype=np.bool_)
    density = np.array([(SEA_WATER_KG_L if s.point.water.salt else FRESH_WATER_KG_L).value for s in sites])[:, None]
    needed = np.array([site.clearance.line_needed_m for site in sites])[:, None]
    fixed = None if incident.fuel is None else incident.fuel * incident.helicopter.fuel_capacity_kg
    fills = np.array(incident.bucket.fills if incident.fill is None else (incident.fill,))
    for line in incident.lines:
        trip = _trip(incident, line, flights)
        chart = _chart(scene, sites, airs, flights.lift_m, line)
        chart_known |= np.isfinite(chart)
        flyable = np.isfinite(trip.seconds) & np.isfinite(chart) & (needed <= line.length_m + 1e-9)
        ferry = None
        if flights.out_s is not None and flights.home_s is not None and incident.base is not None:
            ferry = (flights.out_s, flights.home_s, incident.base.refuel_s)
        terms = site_terms(
            incident.helicopter, incident.bucket, line.mass_kg, crew_kg=incident.crew_kg, water_kg_l=density,
            chart_kg=np.where(flyable, chart, np.nan), cycle_s=np.where(flyable, trip.seconds, 1e3),
            cycle_kg=np.where(flyable, trip.burn_kg, 1e2), reserve_s=incident.limits.reserve_s,
            after_s=0.0 if ferry is None else trip.after_s, after_kg=0.0 if ferry is None else trip.after_kg,
            ferry=ferry, hover_margin_kg=incident.limits.hover_margin_kg, fill=incident.fill,
        )  # fmt: skip
        answer = best_of_many(terms, fixed)
        rate = answer.kilograms_per_hour / density
        better = np.isfinite(rate) & ~(rate <= best["litres_per_hour"])
        for name, value in (
            ("litres_per_hour", rate), ("fill", fills[answer.setting]), ("fuel_kg", answer.fuel_kg),
            ("margin_kg", answer.margin_kg), ("line_m", np.full(shape, line.length_m)), ("cycle_s", trip.seconds),
            ("seconds", answer.seconds),
        ):  # fmt: skip
            best[name] = np.where(better, value, best[name])
    return Scenarios(**best, chart_known=chart_known)


@dataclass(frozen=True, slots=True)
class _Trip:
    seconds: F64
    burn_kg: F64
    after_s: F64
    after_kg: F64


def _trip(incident: Incident, line: Line, flights: Flights) -> _Trip:
    """Cycle of one line in every weather, from the cycle for a unit of each term."""
    nothing = dict.fromkeys(_TERMS, 0.0)

    def cost(**given: float) -> F64:
        trip = cycle(incident.helicopter, incident.bucket, line, **{**nothing, **given})
        return np.array([trip.seconds, trip.burn_kg, *after_drop(trip)])

    base = cost()
    total = base[:, None, None] * flights.fixed
    for name in _TERMS:
        total = total + (cost(**{name: 1.0}) - base)[:, None, None] * getattr(flights, name)
    return _Trip(*total)


def _chart(scene: Prepared, sites: Sequence[AssessedSite], airs: Sequence[Air], lift_m: F64, line: Line) -> F64:
    """Least reading of the hover chart over the dip and the drops, (sites, weathers) [kg]."""
    hanging = line.length_m + scene.incident.bucket.length_m
    dip = np.array([site.point.level_m for site in sites])[:, None] + lift_m + hanging
    out = np.full(dip.shape, np.nan)
    for w, air in enumerate(airs):
        drops = [_drop_bottom(scene, sites, d) + hanging for d in range(len(scene.drops))]
        heights = np.stack([dip[:, w], *drops])
        temperature, pressure_altitude, _ = air_at_heights(air, heights)
        known = np.isfinite(temperature)
        reading = np.full(heights.shape, np.nan)
        reading[known] = hover_limit(scene.incident.helicopter.hoge, pressure_altitude[known], temperature[known])
        out[:, w] = reading.min(axis=0)
    return out


def _drop_bottom(scene: Prepared, sites: Sequence[AssessedSite], drop: int) -> F64:
    """Height of the bucket at the point of a drop that each site serves [m AMSL]."""
    legs = [None if site.route is None else site.route.loaded[drop] for site in sites]
    highest = float(np.nanmax(scene.drops[drop].bottom_m))
    return np.array([highest if leg is None else float(leg.altitude_m[-1]) - leg.hanging_m for leg in legs])
