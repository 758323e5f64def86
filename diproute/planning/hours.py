"""The day hour by hour: what every site delivers, when the ranking changes, when heat or wind closes a site."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning.air import air_at_heights
from diproute.planning.prepared import Prepared
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import Scenarios, work_scenarios
from diproute.planning.story import tell
from diproute.planning.sun import daylight
from diproute.records import AssessedSite, Day, Finding, Hour, HourlyWeather, SiteHour

# refusals that another hour may lift; what is too shallow or blocked at 15:00 is so all day
OF_THE_HOUR = frozenset({"wind-in", "wind-out", "no-lift", "outside-chart", "fuel-short"})


@dataclass(frozen=True, slots=True)
class _Worked:
    """The sites that hours may change, worked in every hour; rows are these sites, columns the hours."""

    row_of: dict[int, int]  # from the index among all sites
    scenarios: Scenarios
    whys: Sequence[Sequence[tuple[Finding, ...]]]  # what the wind forbids


def day_of(prepared: Prepared, sites: Sequence[AssessedSite]) -> Day | None:
    """Work the day of an incident.

    Every site keeps its place and its paths; in each hour the approach is chosen anew for the wind, the legs are timed
    anew, and the best line, fill and fuel are found for the air.

    Parameters
    ----------
    prepared
        The ground made ready, with the incident's hourly weather.
    sites
        Of the plan, in its order.

    Returns
    -------
    Day or None
        None without hourly weather or without a site that has a route. A site refused for what no hour changes keeps
        its refusal through the day.
    """
    hours = prepared.incident.weather.hourly
    flown = [
        i
        for i, site in enumerate(sites)
        if site.route is not None and OF_THE_HOUR.issuperset(found.code for found in site.refused)
    ]
    if not hours or not flown:
        return None
    some = [sites[i] for i in flown]
    flights, whys = fly_scenarios(prepared, some, [hour.wind for hour in hours])
    scenarios = work_scenarios(prepared, some, [hour.air for hour in hours], flights)
    worked = _Worked({i: row for row, i in enumerate(flown)}, scenarios, whys)
    found = tuple(_hour(sites, worked, h, weather) for h, weather in enumerate(hours))
    light = daylight(some[0].point.lat_deg, some[0].point.lon_deg, prepared.incident.when)
    first = next((site for site in sites if site.rank == 1), None)
    last = None
    if light.last is not None and first is not None and first.sortie is not None:
        base = prepared.incident.base
        airborne_s = first.sortie.seconds - (0.0 if base is None else base.refuel_s)
        last = light.last - timedelta(seconds=math.ceil(airborne_s))
    return Day(found, light.sunrise, light.sunset, last, tell(sites, found), light.stays)


def _hour(sites: Sequence[AssessedSite], worked: _Worked, h: int, weather: HourlyWeather) -> Hour:
    found = tuple(_site_hour(site, worked, worked.row_of.get(i), h, weather) for i, site in enumerate(sites))
    rates = np.array([site.litres_per_hour for site in found])
    wind = weather.wind
    middle_m = float(np.nanmean([site.point.level_high_m for site in sites]))
    from_deg, speed_m_s = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, middle_m)
    return Hour(
        weather.when,
        weather.air.temperature_k,
        float(from_deg),
        float(speed_m_s),
        found,
        None if np.isnan(rates).all() else int(np.nanargmax(rates)),
        wind.gust_m_s,
    )


def _site_hour(site: AssessedSite, worked: _Worked, row: int | None, h: int, weather: HourlyWeather) -> SiteHour:
    height_m, nan = site.point.level_high_m, math.nan
    density_altitude_m = float(air_at_heights(weather.air, height_m)[2]) if math.isfinite(height_m) else nan
    if row is None:
        return SiteHour(nan, nan, nan, nan, nan, density_altitude_m, site.refused)
    scenarios, why = worked.scenarios, worked.whys[row][h]
    rate = float(scenarios.litres_per_hour[row, h])
    if not why and math.isnan(rate):
        why = (Finding("no-lift" if scenarios.chart_known[row, h] else "outside-chart"),)
    return SiteHour(
        rate,
        float(scenarios.fill[row, h]),
        float(scenarios.fuel_kg[row, h]),
        float(scenarios.margin_kg[row, h]),
        float(scenarios.line_m[row, h]),
        density_altitude_m,
        why,
    )
