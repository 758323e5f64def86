"""The day: the same numbers as the plan in its own hour, and what changes in the others."""

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
import shapely
from small_incident import LAKE, POND, ring

from diproute.planning.hours import OF_THE_HOUR, day_of
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import work_scenarios
from diproute.planning.travel_fields import solve_fields
from diproute.records import Assessed, Wind
from diproute.wording import Reader, say


def named(plan: Assessed, name: str) -> int:
    return next(i for i, site in enumerate(plan.sites) if site.name == name)


def test_the_plan_s_own_hour_gives_the_plan_s_own_numbers(sample_assessed):
    """Two routes to one answer: the fuel cycle flown by itself, and the linear outlook over the hours.

    In the plan's own wind the legs are the plan's own, so that all sites agree.
    """
    same = 0
    (hour,) = (hour for hour in sample_assessed.day.hours if hour.when == sample_assessed.incident.when)
    assert len(sample_assessed.usable) > 5
    for site, now in zip(sample_assessed.sites, hour.sites, strict=True):
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
    assert same >= 0.7 * len(sample_assessed.usable)
    rates = [math.nan if site.sortie is None or site.rank is None else site.sortie.litres_per_hour
             for site in sample_assessed.sites]  # fmt: skip
    assert hour.best == int(np.nanargmax(rates))


def test_the_first_place_changes_through_the_day_and_the_story_says_why(sample_assessed):
    first = {hour.when.hour: sample_assessed.sites[hour.best].point.water.name for hour in sample_assessed.day.hours}
    assert len(set(first.values())) > 1
    changes = [found.values for found in sample_assessed.day.story if found.code == "first-changes"]
    assert changes
    assert all(isinstance(change["why"].code, str) for change in changes)


def test_what_no_hour_can_lift_stays_refused_all_day(sample_assessed):
    shallow = named(sample_assessed, "Fern Pond")
    assert not OF_THE_HOUR.issuperset(f.code for f in sample_assessed.sites[shallow].refused)
    for hour in sample_assessed.day.hours:
        assert math.isnan(hour.sites[shallow].litres_per_hour)
        assert hour.sites[shallow].why == sample_assessed.sites[shallow].refused
        assert hour.best != shallow


def test_a_tarn_that_the_wind_closes_works_in_the_calm(sample_assessed):
    tarn = named(sample_assessed, "Mirror Tarn")
    works = {hour.when.hour: not hour.sites[tarn].why for hour in sample_assessed.day.hours}
    assert works[8]
    assert not works[15]
    assert any(f.code == "site-closed" and f.values["site"] == "Mirror Tarn" for f in sample_assessed.day.story)


def test_the_light_and_the_last_departure(sample_assessed):
    """The last fuel cycle ends on the ground thirty minutes after sunset, the refuelling after it not counted."""
    day = sample_assessed.day
    assert day.sunrise < day.hours[2].when < day.sunset
    assert day.last_site is not None
    last = day.sunset + timedelta(minutes=30)
    assert day.hours[0].when < day.last_departure < last
    # it goes to the best site of the hour in which it begins
    hour = max((hour for hour in day.hours if hour.when < day.last_departure), key=lambda hour: hour.when)
    assert hour.best == day.last_site


def test_hotter_never_delivers_more(sample_fields, sample_flown, sample_assessed):
    usable = [i for i, site in enumerate(sample_assessed.sites) if site.rank is not None]
    sites = [sample_assessed.sites[i] for i in usable]
    weather = sample_assessed.incident.weather
    airs = [replace(weather.air, temperature_k=weather.air.temperature_k + warmer) for warmer in range(-15, 13, 3)]
    again = fly_scenarios(sample_fields, [sample_flown[i] for i in usable], [replace(weather, air=air) for air in airs])
    litres = work_scenarios(sample_fields.prepared, sites, airs, again.flights).litres_per_hour
    assert (np.diff(np.nan_to_num(litres), axis=1) <= 1e-9).all()
    assert (litres[:, 0] > litres[:, -1] + 1).any() or np.isnan(litres[:, -1]).any()


def test_a_wind_that_no_course_can_take_says_so(sample_fields, sample_flown, sample_assessed):
    weather = sample_assessed.incident.weather
    gale = replace(weather, wind=Wind((0.0,), (240.0,), (60.0,)))
    again = fly_scenarios(sample_fields, sample_flown[:1], [gale])
    worked = work_scenarios(sample_fields.prepared, sample_assessed.sites[:1], [weather.air], again.flights)
    assert np.isnan(worked.litres_per_hour).all()
    assert [found.code for found in again.whys[0][0]] == ["wind-too-strong"]


def test_no_hours_no_day(small_prepared, small_plan):
    assert day_of(solve_fields(small_prepared, small_prepared.incident.weather), small_plan.sites, []) is None
    assert small_plan.day is None


KT = 1852 / 3600
METAR = "KXYZ 142350Z 15008KT 10SM CLR 30/05 A2992"
TAF = "KXYZ 142320Z 1500/1512 15008KT P6SM SKC TX32/1500Z BECMG 1502/1504 24015G22KT"  # 14:00 to 02:00 local


def test_a_taf_s_day_never_speaks_of_a_wind_that_nobody_forecast(made_plan):
    """From 16:00 to 18:00 either wind may hold: 150 degrees 8 kt, or 240 degrees with gusts of 22 kt.

    The pond has one lane through its trees, to the north: in calm and light winds a way in and out.
    """
    lane = shapely.box(-1620, -1000, -1380, -500)
    plan = made_plan(
        {
            **dict.fromkeys(["weather.temperature", "weather.measured_at", "weather.qnh", "weather.wind"]),
            "weather.metar": METAR,
            "weather.taf": TAF,
            "weather.station_elevation": "600 m",
            "lines.carried": ["60 m", "90 m"],
            "limits.tailwind": "10 kt",
        },
        trees=ring(POND, 70.0, 400.0, lane),
        waters=[LAKE, POND],
    )
    pond = named(plan, "Ringed Pond")
    assert [hour.when.hour for hour in plan.day.hours if not hour.sites[pond].why] == [14, 15]
    becoming = [hour for hour in plan.day.hours if hour.when.hour in (16, 17)]
    assert len(becoming) == 2
    for hour in becoming:
        assert hour.wind_from_deg == pytest.approx(150.0)
        assert hour.wind_m_s == pytest.approx(8 * KT)
        assert hour.gust_m_s == pytest.approx(22 * KT)
        # southwards into the pond the 240 degrees are a crosswind, northwards out of it the 150 degrees a tailwind
        assert [found.code for found in hour.sites[pond].why] == ["wind-in", "wind-out"]
    told = [say(found, Reader("us")) for found in plan.day.story]
    told += [say(found, Reader("us")) for hour in plan.day.hours for site in hour.sites for found in site.why]
    assert any("wind 150° true 8 kt, gusts up to 22 kt" in sentence for sentence in told)
    assert not any("true 22 kt" in sentence for sentence in told)
