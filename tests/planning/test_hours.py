"""The day: the same numbers as the plan in its own hour, and what changes in the others."""

import math

import numpy as np
import pytest
import shapely
from small_incident import LAKE, POND, ring

from diproute.planning.hours import OF_THE_HOUR, day_of
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import work_scenarios
from diproute.records import Air, Assessed, Wind
from diproute.wording import Reader, say


def named(plan: Assessed, name: str) -> int:
    return next(i for i, site in enumerate(plan.sites) if site.name == name)


def test_the_plan_s_own_hour_gives_the_plan_s_own_numbers(sample_assessed):
    """Two routes to one answer: the fuel cycle flown by itself, and the linear outlook over the hours.

    The day chooses the approach anew for the legs as they ended up, so a few sites turn out a little better.
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
    assert hour.best == 0


def test_the_ranking_changes_between_eight_and_three_and_the_story_says_why(sample_assessed):
    first = {hour.when.hour: sample_assessed.sites[hour.best].point.water.name for hour in sample_assessed.day.hours}
    assert first[8] != first[15]
    changes = [found.values for found in sample_assessed.day.story if found.code == "first-changes"]
    (lost,) = (change for change in changes if first[8] in change["before"] and first[15] in change["site"])
    assert lost["why"].code == "no-longer-works"
    assert {found.code for found in lost["why"].values["why"]} <= {"wind-in", "wind-out"}
    assert " is first instead of " in say(next(f for f in sample_assessed.day.story if f.values == lost))


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
    day, best = sample_assessed.day, sample_assessed.usable[0]
    airborne = best.sortie.seconds - sample_assessed.incident.base.refuel_s
    assert day.sunrise < day.hours[2].when < day.sunset
    assert (day.sunset - day.last_departure).total_seconds() + 1800 == pytest.approx(airborne, abs=1)


def test_hotter_never_delivers_more(sample_prepared, sample_assessed):
    sites = [site for site in sample_assessed.sites if site.rank is not None]
    air = sample_assessed.incident.weather.air
    airs = [Air(air.temperature_k + warmer, air.measured_at_m, air.qnh_pa) for warmer in range(-15, 13, 3)]
    flights, _ = fly_scenarios(sample_prepared, sites, [sample_assessed.incident.weather.wind] * len(airs))
    litres = work_scenarios(sample_prepared, sites, airs, flights).litres_per_hour
    assert (np.diff(np.nan_to_num(litres), axis=1) <= 1e-9).all()
    assert (litres[:, 0] > litres[:, -1] + 1).any() or np.isnan(litres[:, -1]).any()


def test_a_wind_that_no_course_can_take_says_so(sample_prepared, sample_assessed):
    sites = [sample_assessed.usable[0]]
    gale = Wind((0.0,), (240.0,), (60.0,))
    flights, whys = fly_scenarios(sample_prepared, sites, [gale])
    worked = work_scenarios(sample_prepared, sites, [sample_assessed.incident.weather.air], flights)
    assert np.isnan(worked.litres_per_hour).all()
    assert [found.code for found in whys[0][0]] == ["leg-wind"]  # straight into it there is a course, but no leg


def test_no_hours_no_day(small_prepared, small_plan):
    assert day_of(small_prepared, small_plan.sites) is None
    assert small_plan.day is None


KT = 1852 / 3600
METAR = "KXYZ 142350Z 15008KT 10SM CLR 30/05 A2992"
TAF = "KXYZ 142320Z 1500/1512 15008KT P6SM SKC TX32/1500Z BECMG 1502/1504 24015G30KT"  # 14:00 to 02:00 local


def test_a_taf_s_day_never_speaks_of_a_wind_that_nobody_forecast(made_plan):
    """From 16:00 to 18:00 either wind may hold: 150 degrees 8 kt, or 240 degrees with gusts of 30 kt.

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
        assert hour.gust_m_s == pytest.approx(30 * KT)
        # southwards into the pond the 240 degrees are a crosswind, northwards out of it the 150 degrees a tailwind
        assert [found.code for found in hour.sites[pond].why] == ["wind-in", "wind-out"]
    told = [say(found, Reader("us")) for found in plan.day.story]
    told += [say(found, Reader("us")) for hour in plan.day.hours for site in hour.sites for found in site.why]
    assert any("wind 150° true 8 kt, gusts up to 30 kt" in sentence for sentence in told)
    assert not any("true 30 kt" in sentence for sentence in told)
