"""The day: the same numbers as the plan in its own hour, and what changes in the others."""

import math

import numpy as np
import pytest

from diproute.planning.hours import OF_THE_HOUR, day_of
from diproute.planning.prepared import prepare_ground
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import work_scenarios
from diproute.records import Air, Assessed, Wind


@pytest.fixture(scope="module")
def scene(sample_plan: Assessed):
    return prepare_ground(sample_plan.incident)


def named(plan: Assessed, name: str) -> int:
    return next(i for i, site in enumerate(plan.sites) if site.name == name)


def test_the_plan_s_own_hour_gives_the_plan_s_own_numbers(sample_plan):
    """Two routes to one answer: the fuel cycle flown by itself, and the linear outlook over the hours.

    The day chooses the approach anew for the legs as they ended up, so a few sites turn out a little better.
    """
    same = 0
    (hour,) = (hour for hour in sample_plan.day.hours if hour.when == sample_plan.incident.when)
    assert len(sample_plan.usable) > 5
    for site, now in zip(sample_plan.sites, hour.sites, strict=True):
        if site.rank is None:
            assert math.isnan(now.litres_per_hour)
            continue
        assert now.density_altitude_m == pytest.approx(site.density_altitude_m, abs=0.01)
        assert now.litres_per_hour == pytest.approx(site.sortie.litres_per_hour, rel=0.01), site.name
        if now.litres_per_hour == pytest.approx(site.sortie.litres_per_hour, rel=1e-6):
            same += 1
            assert now.fill == site.load.fill
            assert now.line_m == site.line.length_m
            assert now.fuel_kg == pytest.approx(site.load.fuel_kg, abs=0.01)
            assert now.margin_kg == pytest.approx(site.load.margin_kg, abs=0.01)
    assert same >= 0.7 * len(sample_plan.usable)
    assert hour.best == 0


def test_the_ranking_changes_between_eight_and_three_and_a_sentence_says_why(sample_plan):
    first = {hour.when.hour: sample_plan.sites[hour.best].point.water.name for hour in sample_plan.day.hours}
    assert first[8] != first[15]
    changes = [line for line in sample_plan.day.story if " is first instead of " in line]
    assert any(first[8] in line and first[15] in line and "wind" in line for line in changes), changes


def test_what_no_hour_can_lift_stays_refused_all_day(sample_plan):
    shallow = named(sample_plan, "Fern Pond")
    assert not OF_THE_HOUR.issuperset(f.code for f in sample_plan.sites[shallow].refused)
    for hour in sample_plan.day.hours:
        assert math.isnan(hour.sites[shallow].litres_per_hour)
        assert hour.sites[shallow].because
        assert hour.best != shallow


def test_a_tarn_that_the_wind_closes_works_in_the_calm(sample_plan):
    tarn = named(sample_plan, "Mirror Tarn")
    works = {hour.when.hour: not hour.sites[tarn].because for hour in sample_plan.day.hours}
    assert works[8]
    assert not works[15]
    assert any(line.startswith("Mirror Tarn does not work from") for line in sample_plan.day.story)


def test_the_light_and_the_last_departure(sample_plan):
    """The last fuel cycle ends on the ground thirty minutes after sunset, the refuelling after it not counted."""
    day, best = sample_plan.day, sample_plan.usable[0]
    airborne = best.sortie.seconds - sample_plan.incident.base.refuel_s
    assert day.sunrise < day.hours[2].when < day.sunset
    assert (day.sunset - day.last_departure).total_seconds() + 1800 == pytest.approx(airborne, abs=1)


def test_hotter_never_delivers_more(scene, sample_plan):
    sites = [site for site in sample_plan.sites if site.rank is not None]
    air = sample_plan.incident.weather.air
    airs = [Air(air.temperature_k + warmer, air.measured_at_m, air.qnh_pa) for warmer in range(-15, 13, 3)]
    flights, _ = fly_scenarios(scene, sites, [sample_plan.incident.weather.wind] * len(airs))
    litres = work_scenarios(scene, sites, airs, flights).litres_per_hour
    assert (np.diff(np.nan_to_num(litres), axis=1) <= 1e-9).all()
    assert (litres[:, 0] > litres[:, -1] + 1).any() or np.isnan(litres[:, -1]).any()


def test_a_wind_that_no_course_can_take_says_so(scene, sample_plan):
    sites = [sample_plan.usable[0]]
    gale = Wind((0.0,), (240.0,), (60.0,))
    flights, because = fly_scenarios(scene, sites, [gale])
    assert np.isnan(work_scenarios(scene, sites, [sample_plan.incident.weather.air], flights).litres_per_hour).all()
    assert because[0][0]


def test_no_hours_no_day(small_scene, small_plan):
    assert day_of(small_scene, small_plan.sites) is None
    assert small_plan.day is None
