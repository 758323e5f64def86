"""How sure the ranking is: the plan flown again in many cases of temperature, wind and times, seeded at random."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields as dataclass_fields
from dataclasses import replace

import numpy as np

from diproute.constants import (
    UNCERTAIN_CASES,
    UNCERTAIN_GUST_M_S,
    UNCERTAIN_TEMPERATURE_K,
    UNCERTAIN_TIMES,
    UNCERTAIN_WIND_DEG,
    UNCERTAIN_WIND_M_S,
)
from diproute.planning.assessment import Flown
from diproute.planning.cases import Cases
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import Flights, own_load_hovers, work_scenarios
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, Air, AssessedSite, Sensitivity, Uncertainty, Wind


def work_cases(
    fields: TravelFields, sites: Sequence[AssessedSite], flown: Sequence[Flown], seed: int = 0
) -> Cases | None:
    """Vary the things that nobody knows exactly.

    In each case temperature, wind speed and direction, gusts and the fixed times (filling, dropping, manoeuvring) lie
    anywhere within `constants.UNCERTAIN_TEMPERATURE_K`, `UNCERTAIN_WIND_M_S`, `UNCERTAIN_WIND_DEG`,
    `UNCERTAIN_GUST_M_S` and `UNCERTAIN_TIMES` of their values, evenly. The rounds are flown exactly in the given wind
    and at each end of each of its three ranges, and what these change is taken straight between and added up; where an
    end cannot be flown, neither can the half of its range that lies towards it. In every case each site takes the fill
    and fuel that are then best; the plan's own fill and fuel are held against the case's air as well.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    sites, flown
        The sites as judged, and as flown, in one order.
    seed
        The same seed gives the same answer.

    Returns
    -------
    Cases or None
        None when no site is usable.
    """
    usable = [i for i, site in enumerate(sites) if not site.refused and site.sortie is not None]
    if not usable:
        return None
    some, count = [sites[i] for i in usable], int(UNCERTAIN_CASES.value)
    warmer, stronger, veered, gustier, longer = np.random.default_rng(seed).uniform(-1.0, 1.0, (5, count))
    weather = fields.weather
    airs = [_warmer(weather.air, share * UNCERTAIN_TEMPERATURE_K.value) for share in warmer]
    winds = [weather.wind]
    for change in (-1.0, 1.0):
        winds += [
            with_speed(weather.wind, change * UNCERTAIN_WIND_M_S.value),
            with_direction(weather.wind, change * UNCERTAIN_WIND_DEG.value),
            with_gusts(weather.wind, change * UNCERTAIN_GUST_M_S.value),
        ]
    flights = fly_scenarios(fields, [flown[i] for i in usable], [replace(weather, wind=wind) for wind in winds]).flights
    flights = replace(
        between(flights, np.array([stronger, veered, gustier])), fixed=1.0 + UNCERTAIN_TIMES.value * longer
    )
    rate = work_scenarios(fields.prepared, some, airs, flights).litres_per_hour
    planned = np.array([site.sortie.litres_per_hour for site in some if site.sortie is not None])
    return Cases(seed, tuple(usable), rate, own_load_hovers(fields.prepared, some, airs), planned)


def sensitivity_of(cases: Cases | None, order: Sequence[int]) -> Sensitivity | None:
    """Sum the cases up: how far each site's water an hour strays, how often it is the best, how often its load hovers.

    Parameters
    ----------
    cases
        From `work_cases`; None when no site is usable.
    order
        Indices of the sites in the order of the plan.
    """
    if cases is None:
        return None
    rate = cases.litres_per_hour
    works = np.isfinite(rate)
    first = np.argmax(np.where(works, rate, -np.inf), axis=0)
    found: list[Uncertainty | None] = []
    for site in order:
        row = cases.row(site)
        if row is None:
            found.append(None)
            continue
        good = rate[row][works[row]]
        low, high = np.quantile(good, (0.05, 0.95)) if len(good) else (math.nan, math.nan)
        # any other wind may lengthen a way that was chosen for the plan's: the plan is in its range all the same
        low, high = np.fmin(low, cases.planned[row]), np.fmax(high, cases.planned[row])
        is_first = (first == row) & works[row]
        hovers = float(cases.hovers[row].mean())
        found.append(Uncertainty(float(low), float(high), float(works[row].mean()), float(is_first.mean()), hovers))
    return Sensitivity(rate.shape[1], cases.seed, tuple(found))


def _warmer(air: Air, change_k: float) -> Air:
    """Change the temperature; the dew point stays, but never above it."""
    warmer_k = air.temperature_k + change_k
    dew_point_k = None if air.dew_point_k is None else min(air.dew_point_k, warmer_k)
    return replace(air, temperature_k=warmer_k, dew_point_k=dew_point_k)


def with_speed(wind: Wind, change_m_s: float) -> Wind:
    """Give the wind a little less or more speed; its gusts go on standing as far above it, none in a calm."""
    speeds = tuple(max(0.0, speed + change_m_s) for speed in wind.speed_m_s)
    gust_m_s = None
    if wind.gust_m_s is not None and max(speeds) > 0.0:
        gust_m_s = max(speeds) + max(0.0, wind.gust_m_s - max(wind.speed_m_s))
    return replace(wind, speed_m_s=speeds, gust_m_s=gust_m_s)


def with_direction(wind: Wind, change_deg: float) -> Wind:
    """Turn the wind, and the range that it may swing over, a little clockwise."""
    between = wind.between_deg
    if between is not None and between != (0.0, 360.0):
        between = ((between[0] + change_deg) % 360.0, (between[1] + change_deg) % 360.0)
    return replace(wind, from_deg=tuple((deg + change_deg) % 360.0 for deg in wind.from_deg), between_deg=between)


def with_gusts(wind: Wind, change_m_s: float) -> Wind:
    """Let the gusts stand a little higher or lower over the wind, never below it."""
    strongest = max(wind.speed_m_s)
    gust_m_s = max(strongest, (wind.gust_m_s or strongest) + change_m_s)
    return replace(wind, gust_m_s=gust_m_s if gust_m_s > strongest else None)


def between(flights: Flights, shares: F64) -> Flights:
    """Take the flights between the given wind and the ends of its ranges.

    Parameters
    ----------
    flights
        The first column in the given wind; then all ranges' low ends, then all their high ends.
    shares
        From -1 (the low end) to 1 (the high end), shape (ranges, cases).

    Returns
    -------
    Flights
        One column a case. Past half way to an end that cannot be flown nothing can be flown; nearer it counts as the
        given wind.
    """
    ranges = len(shares)

    def along(values: F64 | None) -> F64 | None:
        if values is None:
            return None
        given = values[:, :1]
        out = np.repeat(given, shares.shape[1], axis=1)
        for r, share in enumerate(shares):
            end = np.where(share < 0, values[:, 1 + r, None], values[:, 1 + ranges + r, None])
            change = np.where(
                np.isfinite(end), (end - given) * np.abs(share), np.where(np.abs(share) < 0.5, 0.0, np.nan)
            )
            out = out + change
        return out

    told = {name.name: along(getattr(flights, name.name)) for name in dataclass_fields(Flights) if name.name != "fixed"}
    return Flights(**told, fixed=np.ones(shares.shape[1]))  # type: ignore[arg-type]
