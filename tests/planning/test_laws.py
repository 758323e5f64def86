"""Laws that hold through the whole plan."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from small_incident import place

from diproute.planning.assessment import fly_sites
from diproute.planning.plan import assess
from diproute.planning.shortlist import shortlist
from diproute.planning.travel_fields import solve_fields


def best_by_water(plan):
    """The most water an hour of each water body; 0 where every point is refused."""
    best = {}
    for site in plan.sites:
        rate = site.sortie.litres_per_hour if site.rank is not None else 0.0
        best[site.point.water.name] = max(rate, best.get(site.point.water.name, 0.0))
    return best


@pytest.fixture(scope="module")
def by_heat(small_prepared):
    """Plans from a cold morning to more heat than the chart has."""
    weather = small_prepared.incident.weather
    return [
        assess(small_prepared, replace(weather, air=replace(weather.air, temperature_k=273.15 + t)))
        for t in (5, 20, 32, 38, 44, 58)
    ]


def test_hotter_never_more_water(by_heat):
    rates = [best_by_water(plan) for plan in by_heat]
    for cooler, hotter in itertools.pairwise(rates):
        for water, rate in hotter.items():
            # other points may be chosen: no more than what the search misses
            assert rate <= 1.02 * cooler[water] + 1e-6, water
    assert rates[4]["Long Lake"] < 0.97 * rates[0]["Long Lake"]


def test_hotter_never_a_heavier_first_lift(by_heat):
    most = [
        max((s.load.water_kg + s.load.fuel_kg for s in plan.usable), default=0.0) for plan in by_heat[2:]
    ]  # where the chart governs and not the certificate
    assert most == sorted(most, reverse=True)


def test_heat_beyond_the_chart_refuses_and_says_so(by_heat):
    assert not by_heat[-1].usable
    for site in by_heat[-1].sites:
        assert "outside-chart" in {finding.code for finding in site.refused}, site.name
        assert site.sortie is None
        assert site.load is None or site.load.water_l == 0 or np.isnan(site.load.hoge_limit_kg)


def test_higher_density_altitude_in_the_heat(by_heat):
    heights = [plan.sites[0].density_altitude_m for plan in by_heat]
    assert heights == sorted(heights)


@pytest.fixture(scope="module")
def by_margin(small_prepared, prepared_of):
    """The same points flown with growing load margins."""
    weather = small_prepared.incident.weather
    kept = shortlist(solve_fields(small_prepared, weather)).kept
    flown = []
    for margin in (2, 5, 15, 40):
        prepared = prepared_of({"limits.load_margin": f"{margin} m"})
        flown.append(fly_sites(solve_fields(prepared, weather), kept))
    return flown


def test_bigger_load_margin_never_opens_a_direction(by_margin):
    for narrow, wide in itertools.pairwise(by_margin):
        for before, after in zip(narrow, wide, strict=True):
            assert not (after.approach.open & ~before.approach.open).any()
            assert (after.clearance.lift_out_m >= before.clearance.lift_out_m - 1e-6).all()
    few, many = (
        {flown.candidate.point.water.name: flown.approach.open.sum() for flown in sites}
        for sites in (by_margin[-1], by_margin[0])
    )
    assert few["Ringed Pond"] < many["Ringed Pond"]


def test_base_further_away_never_more_water(plan_of):
    rates = [plan_of({"base.at": place(x, 600.0)}).usable[0].sortie.litres_per_hour for x in (-600.0, -1500.0, -2900.0)]
    assert rates[0] > rates[1] > rates[2]


def test_longer_refuelling_never_more_water(small_plan, plan_of):
    slow = plan_of({"base.refuel": "40 min"})
    assert best_by_water(slow)["Long Lake"] < best_by_water(small_plan)["Long Lake"]
    assert slow.usable[0].sortie.cycles >= small_plan.usable[0].sortie.cycles


def test_more_reserve_never_more_water(small_plan, plan_of):
    assert best_by_water(plan_of({"limits.reserve": "45 min"}))["Long Lake"] < best_by_water(small_plan)["Long Lake"]


def test_drop_further_from_the_water_never_more_water(small_plan, plan_of):
    rates = [best_by_water(plan_of({"drop": [{"name": "Head", "at": place(x, 0)}]}))["Long Lake"] for x in (0, -700)]
    assert rates[0] > rates[1]


def test_search_keep_only_takes_away(small_plan, plan_of):
    few = plan_of({"search.keep": 1})
    assert len(few.usable) == 1
    assert few.usable[0].point in [site.point for site in small_plan.usable]
    # the rough order is good to one load of a fuel cycle
    assert few.usable[0].sortie.litres_per_hour >= 0.94 * small_plan.usable[0].sortie.litres_per_hour
    assert "not-assessed" in {finding.code for finding in few.cautions}
