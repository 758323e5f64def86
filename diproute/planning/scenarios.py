"""The loads of many points in many kinds of weather at once: in screening, by the hour, and in the uncertainty's cases.

The cycle is that of `diproute.sortie.cycle`, the fuel cycle that of `diproute.sortie.fill_and_fuel`: the laws by which
one site is worked in full.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.planning.air import air_at_heights
from diproute.planning.prepared import Prepared
from diproute.records import F64, Air, AssessedSite, Incident
from diproute.sortie.cycle import Cost, RoundTrip, cost
from diproute.sortie.fill_and_fuel import best_of_many
from diproute.sortie.fuel_cycle import site_terms
from diproute.sortie.hover_chart import hover_limit
from diproute.sortie.rig import Ferry, Rig, Task


@dataclass(frozen=True, slots=True)
class Flights:
    """What is flown, ``(points, weathers)`` each; NaN: cannot be flown in that weather."""

    loaded_s: F64
    empty_s: F64
    lift_m: F64
    lower_m: F64
    departure_turn_s: F64
    arrival_turn_s: F64
    out_s: F64 | None  # from the base; None: no base
    home_s: F64 | None
    fixed: F64  # (weathers,) factor on filling, dropping and manoeuvring

    @property
    def trip(self) -> RoundTrip:
        """What a cycle flies."""
        return RoundTrip(
            self.loaded_s,
            self.empty_s,
            self.lift_m,
            self.lower_m,
            self.departure_turn_s,
            self.arrival_turn_s,
            fixed=self.fixed,
        )


@dataclass(frozen=True, slots=True)
class Spots:
    """What does not change with the weather, one entry a point."""

    level_high_m: F64  # high end of the water level [m AMSL]
    water_kg_l: F64
    line_needed_m: F64
    drop_bottom_m: F64  # (drops, points) of the bucket where each drop is served [m AMSL]


@dataclass(frozen=True, slots=True)
class Scenarios:
    """The best line, fill and fuel, ``(points, weathers)`` each; NaN where nothing can be flown."""

    litres_per_hour: F64
    fill: F64
    fuel_kg: F64
    margin_kg: F64
    line_m: F64
    cycle_s: F64
    seconds: F64  # of the whole fuel cycle
    chart_known: npt.NDArray[np.bool_]  # False: the hover chart gives no answer


def work_scenarios(
    prepared: Prepared, sites: Sequence[AssessedSite], airs: Sequence[Air], flights: Flights
) -> Scenarios:
    """Find the best line, fill setting and fuel of every site in every weather.

    Parameters
    ----------
    prepared
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
        With the same definitions as an `AssessedSite`'s load and sortie.
    """
    spots = Spots(
        np.array([site.point.level_high_m for site in sites]),
        np.array([site.point.water.density_kg_l for site in sites]),
        np.array([site.clearance.line_needed_m for site in sites]),
        np.array([[_drop_bottom(prepared, site, d) for site in sites] for d in range(len(prepared.drops))]),
    )
    return best_loads(prepared.incident, spots, airs, flights)


def best_loads(incident: Incident, spots: Spots, airs: Sequence[Air], flights: Flights) -> Scenarios:
    """Find the best line, fill setting and fuel of every point in every weather.

    Parameters
    ----------
    incident
        Helicopter, bucket, lines, and what the crew has fixed.
    spots
        The points.
    airs
        One a weather.
    flights
        Legs, lifts and turns of every point in every weather.

    Returns
    -------
    Scenarios
        Of lines that bring the same the shortest.
    """
    shape = flights.loaded_s.shape
    names = ("litres_per_hour", "fill", "fuel_kg", "margin_kg", "line_m", "cycle_s", "seconds")
    found: dict[str, F64] = {name: np.full(shape, np.nan) for name in names}
    chart_known = np.zeros(shape, dtype=np.bool_)
    fills = np.array(incident.bucket.fills if incident.fill is None else (incident.fill,))
    for line in incident.lines:
        rig = Rig.of(incident, line)
        one = cost(rig, flights.trip)
        chart_kg = _chart(rig, spots, airs, flights.lift_m)
        chart_known |= np.isfinite(chart_kg)
        reaches = spots.line_needed_m[:, None] <= line.length_m + 1e-9
        flyable = np.isfinite(one.seconds) & np.isfinite(chart_kg) & reaches
        rows = np.flatnonzero(flyable.any(axis=1))
        if not rows.size:
            continue
        task = Task.of(incident, spots.water_kg_l[rows, None], _ferry(incident, flights, rows))
        terms = site_terms(rig, task, np.where(flyable, chart_kg, np.nan)[rows], _some(one, flyable, rows))
        answer = best_of_many(terms, task.fixed_fuel_kg(rig))
        rate = answer.kilograms_per_hour / task.water_kg_l
        better = np.isfinite(rate) & ~(rate <= found["litres_per_hour"][rows])
        line_m = np.full(rate.shape, line.length_m)
        told = (
            rate,
            fills[answer.setting],
            answer.fuel_kg,
            answer.margin_kg,
            line_m,
            one.seconds[rows],
            answer.seconds,
        )
        for name, value in zip(names, told, strict=True):
            found[name][rows] = np.where(better, value, found[name][rows])
    return Scenarios(**found, chart_known=chart_known)


def _ferry(incident: Incident, flights: Flights, rows: npt.NDArray[np.int64]) -> Ferry | None:
    """Take the ways between base and work, home from the last drop; None: no base."""
    if flights.out_s is None or flights.home_s is None or incident.base is None:
        return None
    return Ferry(flights.out_s[rows], flights.home_s[rows], incident.base.refuel_s, "drop")


def _some(one: Cost, flyable: npt.NDArray[np.bool_], rows: npt.NDArray[np.int64]) -> Cost:
    """Take the cycles of some points, NaN where they cannot be flown."""
    values = (np.where(flyable, value, np.nan)[rows] for value in (one.seconds, one.burn_kg, one.after_s, one.after_kg))
    return Cost(*values)


def _chart(rig: Rig, spots: Spots, airs: Sequence[Air], lift_m: F64) -> F64:
    """Least reading of the hover chart over the dip and every drop, (points, weathers) [kg]; NaN: one is not known."""
    dip_m = spots.level_high_m[:, None] + lift_m + rig.hanging_m
    drops_m = spots.drop_bottom_m + rig.hanging_m
    out = np.full(dip_m.shape, np.nan)
    read: dict[Air, F64] = {}
    for w, air in enumerate(airs):
        if air not in read:
            read[air] = _readings(rig, air, drops_m).min(axis=0)
        out[:, w] = np.minimum(read[air], _readings(rig, air, dip_m[:, w]))
    return out


def _readings(rig: Rig, air: Air, height_m: F64) -> F64:
    """Read the hover chart at heights of the aircraft [m AMSL]; NaN where height or chart is not known [kg]."""
    temperature_k, pressure_altitude_m, _ = air_at_heights(air, height_m)
    known = np.isfinite(temperature_k)
    out = np.full(height_m.shape, np.nan)
    out[known] = hover_limit(rig.helicopter.hoge, pressure_altitude_m[known], temperature_k[known])
    return out


def _drop_bottom(prepared: Prepared, site: AssessedSite, drop: int) -> float:
    """Height of the bucket at the point of a drop that a site serves [m AMSL]."""
    if site.route is None:
        return float(np.nanmax(prepared.drops[drop].bottom_m))
    leg = site.route.loaded[drop]
    return float(leg.altitude_m[-1]) - leg.hanging_m
