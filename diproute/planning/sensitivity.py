"""How sure the ranking is: the plan flown again with temperature, wind and times drawn at random about their values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diproute.constants import UNCERTAIN_CASES, UNCERTAIN_TEMPERATURE_K, UNCERTAIN_TIMES, UNCERTAIN_WIND_M_S
from diproute.planning.prepared import Prepared
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import Flights, work_scenarios
from diproute.records import F64, AssessedSite, Sensitivity, Uncertainty, Wind
from diproute.units import show, show_share

_NAMES = ("loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s", "out_s", "home_s")


def sensitivity_of(scene: Prepared, sites: Sequence[AssessedSite], seed: int = 0) -> Sensitivity | None:
    """Draw the things that nobody knows exactly and see whether the first place holds.

    Temperature, wind speed and the fixed times (filling, dropping, manoeuvring) are drawn evenly within
    `constants.UNCERTAIN_TEMPERATURE_K`, `UNCERTAIN_WIND_M_S` and `UNCERTAIN_TIMES` of their values. The legs are
    flown exactly in the least, the given and the strongest wind, and taken straight between these. In every draw
    each site takes the fill and fuel that are then best.

    Parameters
    ----------
    scene
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
    some, draws = [sites[i] for i in usable], int(UNCERTAIN_CASES.value)
    random = np.random.default_rng(seed)
    warmer, stronger, longer = random.uniform(-1.0, 1.0, (3, draws))
    air, wind = scene.incident.weather.air, scene.incident.weather.wind
    airs = [
        replace(
            air,
            temperature_k=air.temperature_k + UNCERTAIN_TEMPERATURE_K.value * w,
            dew_point_k=None
            if air.dew_point_k is None
            else min(air.dew_point_k, air.temperature_k + UNCERTAIN_TEMPERATURE_K.value * w),
        )
        for w in warmer
    ]
    ends = [_with_speed(wind, change * UNCERTAIN_WIND_M_S.value) for change in (-1.0, 0.0, 1.0)]
    flights, _ = fly_scenarios(scene, some, ends)
    drawn = _between(flights, stronger)
    outlook = work_scenarios(scene, some, airs, replace(drawn, fixed=1.0 + UNCERTAIN_TIMES.value * longer))
    rate = outlook.litres_per_hour
    first = np.argmax(np.where(np.isnan(rate), -np.inf, rate), axis=0)
    works = np.isfinite(rate)
    spreads: list[Uncertainty | None] = [None] * len(sites)
    for row, i in enumerate(usable):
        good = rate[row][works[row]]
        low, high = np.quantile(good, (0.05, 0.95)) if len(good) else (math.nan, math.nan)
        spreads[i] = Uncertainty(
            float(low), float(high), float(works[row].mean()), float(((first == row) & works[row]).mean())
        )
    return Sensitivity(draws, seed, tuple(spreads), _sentence(scene, sites, usable, spreads))


def _with_speed(wind: Wind, change_m_s: float) -> Wind:
    return replace(wind, speed_m_s=tuple(max(0.0, speed + change_m_s) for speed in wind.speed_m_s), gust_m_s=None)


def _between(flights: Flights, share: F64) -> Flights:
    """Take the flights between the three winds, ``share`` from -1 (the least) to 1 (the strongest)."""

    def along(values: F64 | None) -> F64 | None:
        if values is None:
            return None
        low, middle, high = (values[:, i, None] for i in range(3))
        return np.where(share < 0, middle + (middle - low) * share, middle + (high - middle) * share)

    return Flights(**{name: along(getattr(flights, name)) for name in _NAMES}, fixed=np.ones(len(share)))  # type: ignore[arg-type]


def _sentence(
    scene: Prepared, sites: Sequence[AssessedSite], usable: Sequence[int], spreads: Sequence[Uncertainty | None]
) -> str:
    leader = spreads[usable[0]]
    if leader is None:
        raise ValueError("the first site has no spread")
    knots = show(UNCERTAIN_WIND_M_S.value, "wind", scene.incident.display)
    drawn = (
        f"temperature ± {UNCERTAIN_TEMPERATURE_K.value:g} °C, wind ± {knots}, fill, drop and manoeuvre times "
        f"± {show_share(UNCERTAIN_TIMES.value)}, {UNCERTAIN_CASES.value:.0f} draws"
    )
    name = sites[usable[0]].name
    rivals = sorted(((s.first, sites[i].name) for i, s in enumerate(spreads) if s and i != usable[0]), reverse=True)
    rest = "" if not rivals or rivals[0][0] < 0.005 else f"; {rivals[0][1]} is first in {show_share(rivals[0][0])}"
    return f"{name} stays first in {show_share(leader.first)} of the draws{rest} ({drawn})"
