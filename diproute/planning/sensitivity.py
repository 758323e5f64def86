"""How sure the ranking is: the plan flown again in many cases of temperature, wind and times, seeded at random."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diproute.constants import UNCERTAIN_CASES, UNCERTAIN_TEMPERATURE_K, UNCERTAIN_TIMES, UNCERTAIN_WIND_M_S
from diproute.planning.prepared import Prepared
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import Flights, work_scenarios
from diproute.records import F64, Air, AssessedSite, Sensitivity, Uncertainty, Wind

# of `Flights`, what depends on the wind
_NAMES = ("loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s", "out_s", "home_s")


def sensitivity_of(prepared: Prepared, sites: Sequence[AssessedSite], seed: int = 0) -> Sensitivity | None:
    """Vary the things that nobody knows exactly and see whether the first place holds.

    In each case temperature, wind speed and the fixed times (filling, dropping, manoeuvring) lie anywhere within
    `constants.UNCERTAIN_TEMPERATURE_K`, `UNCERTAIN_WIND_M_S` and `UNCERTAIN_TIMES` of their values, evenly. The legs
    are flown exactly in the least, the given and the strongest wind, and taken straight between these. In every case
    each site takes the fill and fuel that are then best.

    Parameters
    ----------
    prepared
        The ground made ready.
    sites
        Of the plan, in its order.
    seed
        The same seed gives the same answer.

    Returns
    -------
    Sensitivity or None
        None when no site is usable.
    """
    usable = [i for i, site in enumerate(sites) if site.rank is not None]
    if not usable:
        return None
    some, cases = [sites[i] for i in usable], int(UNCERTAIN_CASES.value)
    warmer, stronger, longer = np.random.default_rng(seed).uniform(-1.0, 1.0, (3, cases))
    weather = prepared.incident.weather
    airs = [_warmer(weather.air, share * UNCERTAIN_TEMPERATURE_K.value) for share in warmer]
    ends = [with_speed(weather.wind, change * UNCERTAIN_WIND_M_S.value) for change in (-1.0, 0.0, 1.0)]
    flights = _between(fly_scenarios(prepared, some, ends)[0], stronger)
    flights = replace(flights, fixed=1.0 + UNCERTAIN_TIMES.value * longer)
    rate = work_scenarios(prepared, some, airs, flights).litres_per_hour
    works = np.isfinite(rate)
    first = np.argmax(np.where(works, rate, -np.inf), axis=0)
    found: list[Uncertainty | None] = [None] * len(sites)
    for row, i in enumerate(usable):
        good = rate[row][works[row]]
        low, high = np.quantile(good, (0.05, 0.95)) if len(good) else (math.nan, math.nan)
        is_first = (first == row) & works[row]
        found[i] = Uncertainty(float(low), float(high), float(works[row].mean()), float(is_first.mean()))
    return Sensitivity(cases, seed, tuple(found))


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


def _between(flights: Flights, share: F64) -> Flights:
    """Take the flights between the three winds, ``share`` from -1 (the least) to 1 (the strongest)."""

    def along(values: F64 | None) -> F64 | None:
        if values is None:
            return None
        low, middle, high = (values[:, i, None] for i in range(3))
        return np.where(share < 0, middle + (middle - low) * share, middle + (high - middle) * share)

    return Flights(**{name: along(getattr(flights, name)) for name in _NAMES}, fixed=np.ones(len(share)))  # type: ignore[arg-type]
