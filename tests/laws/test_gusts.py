"""Gusts count against the limits of tailwind and crosswind, at every hour and in the choice of points."""

import math

import pytest
import shapely
from small_incident import LAKE, POND, place, ring

KT = 1852 / 3600
X, Y = POND.shape.centroid.x, POND.shape.centroid.y
LANE = shapely.box(X, Y - 60, X + 300, Y + 60)  # the only way through the trees, east of the pond
RINGED = {"waters": [POND], "trees": ring(POND, 40.0, gap=LANE)}
LOW = {"limits.lift_limit": "30 m"}  # below the trees


def codes(site):
    return {finding.code for finding in site.refused}


@pytest.mark.parametrize(
    ("wind", "closed"),
    [
        ("360 deg 10 kt", set()),
        ("360 deg 10 kt gust 14 kt", set()),
        ("360 deg 10 kt gust 20 kt", {"wind-in", "wind-out"}),  # crosswind above 15 kt
        ("180 deg 10 kt gust 20 kt", {"wind-in", "wind-out"}),
        ("270 deg 3 kt", set()),
        ("270 deg 3 kt gust 4 kt", set()),
        ("270 deg 3 kt gust 9 kt", {"wind-out"}),  # tailwind above 5 kt on the way out, headwind on the way in
        ("90 deg 3 kt gust 9 kt", {"wind-in"}),
        ("90 deg 1 kt gust 9 kt", {"wind-in"}),
    ],
)
def test_a_gust_above_a_limit_closes_the_lane(made_plan, wind, closed):
    plan = made_plan({**LOW, "weather.wind": wind}, **RINGED)
    assert len(plan.sites) == 1
    for site in plan.sites:
        ways = {sector.from_deg for sector in site.approach.sectors}
        assert len(ways) == 1
        assert codes(site) == closed
        assert (site.rank is None) == bool(closed)


@pytest.mark.parametrize("limit", ["limits.crosswind", "limits.tailwind"])
def test_a_higher_limit_opens_it_again(made_plan, limit):
    wind = {"limits.crosswind": "360 deg 10 kt gust 20 kt", "limits.tailwind": "270 deg 3 kt gust 9 kt"}[limit]
    assert made_plan({**LOW, "weather.wind": wind, limit: "25 kt"}, **RINGED).usable


def test_every_course_keeps_to_the_limits_in_a_gust(made_plan):
    plan = made_plan({"weather.wind": "250 deg 6 kt gust 20 kt"})
    assert plan.usable
    for site in plan.usable:
        for course in site.approach.pair:
            assert math.hypot(course.headwind_m_s, course.crosswind_m_s) == pytest.approx(6 * KT)  # shown: the steady
            assert -course.headwind_m_s * 20 / 6 <= 5 * KT + 1e-9
            assert abs(course.crosswind_m_s) * 20 / 6 <= 15 * KT + 1e-9


def test_the_points_kept_are_not_those_that_a_gust_closes(made_plan):
    layers = {**RINGED, "waters": [LAKE, POND]}
    head = [{"name": "Head", "at": place(X + 1200, Y)}]  # the pond is by far the nearer water
    for wind, name in (("360 deg 10 kt", POND.name), ("360 deg 10 kt gust 20 kt", LAKE.name)):
        plan = made_plan({**LOW, "search.keep": 1, "drop": head, "weather.wind": wind}, **layers)
        assert [site.point.water.name for site in plan.usable] == [name]


def test_an_hour_with_a_gust_above_a_limit_does_not_work(made_plan):
    hours = "time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt,gust_kt\n" + "".join(
        f"2026-08-14T{hour}:00-10:00,30,1013,360,10,{gust}\n" for hour, gust in ((14, 10), (15, 12), (16, 20))
    )
    weather = dict.fromkeys(("weather.temperature", "weather.qnh", "weather.wind"))
    plan = made_plan({**LOW, **weather, "weather.hourly": "hours.csv"}, texts={"hours.csv": hours}, **RINGED)
    works = [[not math.isnan(site.litres_per_hour) for site in hour.sites] for hour in plan.day.hours]
    assert works == [[True], [True], [False]]
