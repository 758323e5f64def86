"""The loads of many points in many kinds of weather at once: in screening, by the hour, and in the uncertainty's cases.

The cycle is that of `diproute.sortie.cycle`, the fuel cycle that of `diproute.sortie.fill_and_fuel`: the laws by which
one site is worked in full.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diproute.planning.air import warmth_and_pressure
from diproute.planning.prepared import Prepared
from diproute.records import F64, Air, AssessedSite, Incident
from diproute.sortie.cycle import Cost, RoundTrip, cost
from diproute.sortie.fill_and_fuel import best_of_many
from diproute.sortie.fuel_cycle import site_terms
from diproute.sortie.hover_chart import hover_limit
from diproute.sortie.load import GRAIN_KG, lifting_limit
from diproute.sortie.rig import Ferry, Rig, Task

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Flights:
    """What is flown, ``(points, weathers)`` each; NaN: cannot be flown in that weather."""

    loaded_s: F64
    empty_s: F64
    lift_m: F64
    lower_m: F64
    drop_lower_m: F64
    drop_lift_m: F64
    dip_turn_s: F64
    drop_turn_s: F64
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
            self.drop_lower_m,
            self.drop_lift_m,
            self.dip_turn_s,
            self.drop_turn_s,
            fixed=self.fixed,
        )


@dataclass(frozen=True, slots=True)
class Spots:
    """What does not change with the weather, one entry a point."""

    level_high_m: F64  # high end of the water level [m AMSL]
    water_kg_l: F64
    line_needed_m: F64
    drop_bottom_m: F64  # (drops, points) of the bucket where each drop is served [m AMSL]

    def some(self, which: slice) -> Spots:
        """Give some of the points."""
        return Spots(
            self.level_high_m[which], self.water_kg_l[which], self.line_needed_m[which], self.drop_bottom_m[:, which]
        )


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
    return best_loads(prepared.incident, spots_of(prepared, sites), airs, flights)


def spots_of(prepared: Prepared, sites: Sequence[AssessedSite]) -> Spots:
    """Give what does not change with the weather of some sites."""
    return Spots(
        np.array([site.point.level_high_m for site in sites]),
        np.array([site.point.water.density_kg_l for site in sites]),
        np.maximum(np.array([site.clearance.line_needed_m for site in sites]), prepared.drop_line_m),
        np.array([[_drop_bottom(prepared, site, d) for site in sites] for d in range(len(prepared.drops))]),
    )


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
    """Least mass that the power lifts at the dip, or holds at every drop, (points, weathers) [kg]; NaN: not known."""
    dip_m = spots.level_high_m[:, None] + lift_m + rig.hanging_m
    drops_m = spots.drop_bottom_m + rig.hanging_m
    lifted = _readings(rig, airs, dip_m, rig.helicopter.lift_speed_m_s)
    held = _readings(rig, airs, drops_m[..., None], 0.0).min(axis=0)
    return np.asarray(np.minimum(lifted, held))


def _readings(rig: Rig, airs: Sequence[Air], height_m: F64, climb_m_s: float) -> F64:
    """Read what the power lifts at heights of the aircraft, (…, airs) or (…, 1) [m AMSL]; NaN where not known [kg].

    Airs that differ in nothing but their temperature are read at once.
    """
    out = np.full((*height_m.shape[:-1], len(airs)), np.nan)
    alike: dict[Air, list[int]] = {}
    for w, air in enumerate(airs):
        alike.setdefault(replace(air, temperature_k=0.0, dew_point_k=None), []).append(w)
    for air, which in alike.items():
        height = height_m if height_m.shape[-1] == 1 else height_m[..., which]
        station_k = np.array([airs[w].temperature_k for w in which])
        temperature_k, pressure_altitude_m = warmth_and_pressure(air, station_k, height)
        where = (np.broadcast_to(pressure_altitude_m, temperature_k.shape), temperature_k)
        chart = hover_limit(rig.helicopter.hoge, *where)
        known = np.isfinite(chart)
        read = np.full(chart.shape, np.nan)
        read[known] = lifting_limit(rig.helicopter, chart[known], (where[0][known], where[1][known]), climb_m_s)
        out[..., which] = read
    return out


def own_load_hovers(prepared: Prepared, sites: Sequence[AssessedSite], airs: Sequence[Air]) -> Bools:
    """Tell in which airs the plan's own line, fill and fuel still hover, (sites, airs).

    Parameters
    ----------
    prepared
        The ground made ready.
    sites
        Usable ones, with their load.
    airs
        One a case.
    """
    out = np.zeros((len(sites), len(airs)), np.bool_)
    spots = spots_of(prepared, sites)
    for s, site in enumerate(sites):
        if site.load is None or site.line is None or site.route is None:
            raise ValueError(f"{site.name} has no load")
        rig = Rig.of(prepared.incident, site.line)
        lift_m = np.full((1, len(airs)), max(leg.departure.lift_m for leg in site.route.loaded))
        power_kg = _chart(rig, spots.some(slice(s, s + 1)), airs, lift_m)[0]
        fuel_kg = next(line.mass_kg for line in site.load.lines if line.name == "fuel")
        room = site_terms(
            rig,
            Task.of(prepared.incident, site.point.water.density_kg_l),
            power_kg,
            Cost(*(np.ones(1) for _ in range(4))),
        ).room(fuel_kg)
        out[s] = room >= site.load.water_kg - GRAIN_KG
    return out


def _drop_bottom(prepared: Prepared, site: AssessedSite, drop: int) -> float:
    """Height of the bucket at the point of a drop that a site serves [m AMSL]."""
    if site.route is None:
        return float(np.nanmax(prepared.drops[drop].bottom_m))
    leg = site.route.loaded[drop]
    return float(leg.altitude_m[-2]) - leg.hanging_m  # where the lowering begins, the higher one
