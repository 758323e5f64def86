"""The day hour by hour: what every site delivers, when the ranking changes, when heat or wind closes a site."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta
from itertools import pairwise

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning.air import air_at_heights
from diproute.planning.prepared import Prepared
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import Scenarios, work_scenarios
from diproute.planning.sun import daylight
from diproute.records import AssessedSite, Day, Display, Hour, HourlyWeather, SiteHour
from diproute.units import show, show_course, show_share

# refusals that another hour may lift; what is too shallow or blocked at 15:00 is so all day
OF_THE_HOUR = frozenset({"wind-in", "wind-out", "no-lift", "outside-chart", "fuel-short"})


def day_of(scene: Prepared, sites: Sequence[AssessedSite]) -> Day | None:
    """Work the day of an incident.

    Every site keeps its place and its ways; in each hour the approach is chosen anew for the wind, the legs are timed
    anew, and the best line, fill and fuel are found for the air.

    Parameters
    ----------
    scene
        The ground made ready, with the incident's hourly weather.
    sites
        Of the plan, in its order.

    Returns
    -------
    Day or None
        None without hourly weather or without a site that has a route. A site refused for what no hour changes keeps
        its refusal through the day.
    """
    hours = scene.incident.weather.hourly
    flown = [
        i
        for i, site in enumerate(sites)
        if site.route is not None and OF_THE_HOUR.issuperset(found.code for found in site.refused)
    ]
    if not hours or not flown:
        return None
    some = [sites[i] for i in flown]
    flights, because = fly_scenarios(scene, some, [hour.wind for hour in hours])
    outlook = work_scenarios(scene, some, [hour.air for hour in hours], flights)
    light = daylight(some[0].point.lat_deg, some[0].point.lon_deg, scene.incident.when)
    told = tuple(_hour(sites, flown, outlook, because, h, hour) for h, hour in enumerate(hours))
    first = next((i for i, site in enumerate(sites) if site.rank == 1), None)
    last = None
    if light.last is not None and first is not None and (sortie := sites[first].sortie) is not None:
        base = scene.incident.base
        airborne = sortie.seconds - (0.0 if base is None else base.refuel_s)
        last = light.last - timedelta(seconds=math.ceil(airborne))
    return Day(told, light.sunrise, light.sunset, last, tuple(_story(scene, sites, told)))


def _hour(
    sites: Sequence[AssessedSite], flown: Sequence[int], outlook: Scenarios, because: list[list[str]], h: int,
    weather: HourlyWeather,
) -> Hour:  # fmt: skip
    rows = {i: row for row, i in enumerate(flown)}
    found = []
    for i, site in enumerate(sites):
        height = site.point.level_m
        density_altitude = float(air_at_heights(weather.air, height)[2]) if math.isfinite(height) else math.nan
        row = rows.get(i)
        if row is None:
            why = "; ".join(finding.because for finding in site.refused)
            found.append(SiteHour(math.nan, math.nan, math.nan, math.nan, math.nan, density_altitude, why))
            continue
        rate = float(outlook.litres_per_hour[row, h])
        why = because[row][h]
        if not why and math.isnan(rate):
            known = bool(outlook.chart_known[row, h])
            why = "no fill setting can be lifted" if known else "outside the hover chart"
        found.append(
            SiteHour(
                rate,
                float(outlook.fill[row, h]),
                float(outlook.fuel_kg[row, h]),
                float(outlook.margin_kg[row, h]),
                float(outlook.line_m[row, h]),
                density_altitude,
                why,
            )
        )
    rates = np.array([site.litres_per_hour for site in found])
    best = None if np.isnan(rates).all() else int(np.nanargmax(rates))
    wind = weather.wind
    middle = float(np.nanmean([site.point.level_m for site in sites]))
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, middle)
    return Hour(weather.when, weather.air.temperature_k, float(from_deg), float(speed), tuple(found), best)


def _story(scene: Prepared, sites: Sequence[AssessedSite], hours: Sequence[Hour]) -> list[str]:
    """Tell in sentences when another water body takes the first place and why, and when sites close."""
    display = scene.incident.display
    story = []
    for before, after in pairwise(hours):
        if before.best is None and after.best is not None:
            story.append(f"From {after.when:%H:%M} {sites[after.best].name} is first.")
        elif before.best is not None and after.best is None:
            story.append(f"From {after.when:%H:%M} no site works.")
        elif before.best is not None and after.best is not None:
            old, new = sites[before.best], sites[after.best]
            if old.point.water.id != new.point.water.id:
                why = _why(sites, before, before.best, after, after.best, display)
                story.append(f"From {after.when:%H:%M} {new.name} is first instead of {old.name}: {why}.")
    for i, site in enumerate(sites):
        works = [not math.isnan(hour.sites[i].litres_per_hour) for hour in hours]
        if not any(works):
            continue
        for h, hour in enumerate(hours):
            if not works[h] and (h == 0 or works[h - 1]):
                end = next((later.when for later, good in zip(hours[h:], works[h:], strict=True) if good), None)
                until = "" if end is None else f" to {end:%H:%M}"
                story.append(f"{site.name} does not work from {hour.when:%H:%M}{until}: {hour.sites[i].because}.")
    return story


def _why(sites: Sequence[AssessedSite], before: Hour, first: int, after: Hour, second: int, units: Display) -> str:
    """Say what made the first place change: a site that closed or opened, a fill, the wind, or the fuel it lifts."""
    was, now = before.sites[first], after.sites[first]
    rival_was, rival_now = before.sites[second], after.sites[second]
    name, rival = sites[first].name, sites[second].name
    if math.isnan(now.litres_per_hour):
        return f"{name} no longer works ({now.because})"
    if math.isnan(rival_was.litres_per_hour):
        return f"{rival} opens"
    if was.fill - now.fill > max(0.0, rival_was.fill - rival_now.fill):
        was_m, now_m = (show(hour.density_altitude_m, "height", units) for hour in (was, now))
        return (
            f"the density altitude at {name} goes from {was_m} to {now_m} and its fill from {show_share(was.fill)} to "
            f"{show_share(now.fill)}, {rival} fills {show_share(rival_now.fill)}"
        )
    if rival_now.fill - rival_was.fill > max(0.0, now.fill - was.fill):
        return f"{rival} fills {show_share(rival_now.fill)} instead of {show_share(rival_was.fill)} in the cooler air"
    old_rates, new_rates = (
        " to ".join(show(hour.litres_per_hour, "volume", units) for hour in pair)
        for pair in ((was, now), (rival_was, rival_now))
    )
    rates = f"{name} goes from {old_rates} an hour, {rival} from {new_rates}"
    wind_was, wind_now = (
        f"{show_course(hour.wind_from_deg)} {show(hour.wind_m_s, 'wind', units)}" for hour in (before, after)
    )
    return rates if wind_was == wind_now else f"with the wind going from {wind_was} to {wind_now}, {rates}"
