"""The day hour by hour: what every site delivers, when the ranking changes, when heat or wind closes a site."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning.air import air_at_heights
from diproute.planning.assessment import Flown
from diproute.planning.evening import last_short, last_whole
from diproute.planning.later import BY_WIND
from diproute.planning.scenario_flights import ScenarioFlights, fly_scenarios
from diproute.planning.scenarios import Scenarios, work_scenarios
from diproute.planning.story import tell
from diproute.planning.sun import darkness, daylight, glares
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, AssessedSite, Day, Finding, Hour, HourlyWeather, SiteHour

# refusals that another hour may lift; what is too shallow or blocked at 15:00 is so all day
OF_THE_HOUR = frozenset(
    {"wind-in", "wind-out", "wind-too-strong", "gusts-too-wide", "no-lift", "outside-chart", "fuel-short"} | BY_WIND
)


@dataclass(frozen=True, slots=True)
class _Worked:
    """The sites that hours may change, worked in every hour; rows are these sites, columns the hours."""

    row_of: dict[int, int]  # from the index among all sites
    scenarios: Scenarios
    flown: ScenarioFlights


def day_of(fields: TravelFields, sites: Sequence[AssessedSite], flown: Sequence[Flown]) -> Day | None:
    """Work the day of an incident.

    Every site keeps its place; in each hour its gates are chosen anew for the wind, the legs are flown anew, and the
    best line, fill and fuel are found for the air. Hours outside the flying window are marked and nothing is offered in
    them.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    sites, flown
        Of the plan, in its order; those that the plan's own wind closes as flown in another hour.

    Returns
    -------
    Day or None
        None without hourly weather or without a site that has a route in any hour. A site refused for what no hour
        changes keeps its refusal through the day.
    """
    prepared = fields.prepared
    hours = prepared.incident.weather.hourly
    if not hours:
        return None
    moving = [
        i
        for i, site in enumerate(sites)
        if flown[i].rounds is not None and OF_THE_HOUR.issuperset(found.code for found in site.refused)
    ]
    if not moving:
        return None
    some = [sites[i] for i in moving]
    weathers = [replace(fields.weather, air=hour.air, wind=hour.wind) for hour in hours]
    again = fly_scenarios(fields, [flown[i] for i in moving], weathers)
    scenarios = work_scenarios(prepared, some, [hour.air for hour in hours], again.flights)
    worked = _Worked({i: row for row, i in enumerate(moving)}, scenarios, again)
    found = tuple(_hour(sites, worked, h, weather) for h, weather in enumerate(hours))
    point = some[0].point
    light = daylight(point.lat_deg, point.lon_deg, prepared.incident.when)
    whole = None if light.last is None else last_whole(prepared.incident, found, worked.row_of, scenarios, light.last)
    short = None
    if whole is not None and light.last is not None:
        both = (scenarios, again.flights)
        short = last_short(prepared.incident, found, worked.row_of, both, light.last, whole)
    departure, site = whole or (None, None)
    lit = [hour for hour in found if not hour.dark]
    return Day(found, light.sunrise, light.sunset, departure, tell(sites, lit), light.stays, site, short)


def _hour(sites: Sequence[AssessedSite], worked: _Worked, h: int, weather: HourlyWeather) -> Hour:
    place = sites[next(iter(worked.row_of))].point
    dark = darkness(place.lat_deg, place.lon_deg, weather.when)
    found = tuple(_site_hour(site, worked, worked.row_of.get(i), h, weather, dark) for i, site in enumerate(sites))
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
        dark is not None,
    )


def _site_hour(
    site: AssessedSite, worked: _Worked, row: int | None, h: int, weather: HourlyWeather, dark: Finding | None
) -> SiteHour:
    height_m, nan = site.point.level_high_m, math.nan
    density_altitude_m = float(air_at_heights(weather.air, height_m)[2]) if math.isfinite(height_m) else nan
    if row is None or dark is not None:
        why = site.refused if dark is None else (dark, *site.refused)
        return SiteHour(nan, nan, nan, nan, nan, density_altitude_m, why)
    scenarios, why = worked.scenarios, worked.flown.whys[row][h]
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
        () if why else _glares(site, worked.flown.courses_deg[row, h], weather),
        *(() if why else (float(course) for course in worked.flown.courses_deg[row, h])),
    )


def _glares(site: AssessedSite, courses_deg: F64, weather: HourlyWeather) -> tuple[Finding, ...]:
    """Tell who looks into a low sun on arrival or departure."""
    if math.isnan(courses_deg[0]):
        return ()
    return glares((float(courses_deg[0]), float(courses_deg[1])), site.point.lat_deg, site.point.lon_deg, weather.when)
