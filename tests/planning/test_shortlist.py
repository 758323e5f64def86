"""The kept points against all points (issue 3, item 5: within 3 % of an exhaustive 50 m grid on every water body).

Here every eighth point of three waters of the sample is flown in full, with the ten that look best at first;
``tests/bench/shortlist.py`` flies them all.
"""

from pathlib import Path

import numpy as np
import pytest
import shapely
from exhaustive import Everywhere

from diproute.planning.field_estimates import rough_courses, rough_seconds
from diproute.planning.shortlist import shortlist
from diproute.planning.travel_fields import course_of, site_legs, solve_fields
from diproute.reading.incident import read_incident
from diproute.routing.travel_time import Ask

SAMPLE = Path(__file__).parent.parent.parent / "sample_geo" / "incident.toml"


@pytest.fixture(scope="module")
def sample():
    return Everywhere(read_incident(SAMPLE))


@pytest.mark.slow
@pytest.mark.parametrize("water", ["Crown Lake", "Gannet River", "Weir Reservoir"])
def test_kept_points_come_near_the_best_of_all(sample, water):
    found = sample.compare(water, step=8)
    assert found.points >= 40
    assert found.loss <= 0.03
    assert 0.9 <= found.rough_to_real <= 1.15


def test_every_water_in_reach_keeps_a_point(sample):
    names = {candidate.point.water.name for candidate in sample.kept}
    reach = sample.prepared.incident.search.radius_m
    assert names == {w.name for w in sample.prepared.opened.waters if w.polygon.distance(shapely.Point(0, 0)) < reach}


def test_kept_points_of_a_water_are_apart(sample):
    for water in {candidate.point.water.id for candidate in sample.kept}:
        xy = np.array([(c.point.x_m, c.point.y_m) for c in sample.kept if c.point.water.id == water])
        assert len(xy) <= 4
        away = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
        assert (away[~np.eye(len(xy), dtype=bool)] >= 300).all()


def test_rough_times_count_the_climb(small_prepared):
    """Against the legs as flown, from points low and high over the lake."""
    weather = small_prepared.incident.weather
    fields = solve_fields(small_prepared, weather.wind)
    x, y = np.array([2400.0, 2100.0, -1500.0]), np.array([0.0, 200.0, -1000.0])
    low, high = (rough_seconds(fields, x, y, np.full(3, bottom)) for bottom in (603.0, 640.0))
    assert (low[0] >= high[0]).all()
    assert (low[1] >= high[1]).all()
    assert low[0].sum() > high[0].sum() + 10  # 37 m at 500 ft/min are 15 s
    for bottom, rough in ((603.0, low), (640.0, high)):
        asks = [Ask(a, b, bottom, 4.5) for a, b in zip(x, y, strict=True)]
        for i, legs in enumerate(site_legs(fields, asks, asks)):
            assert rough[0][0][i] == pytest.approx(legs.loaded[0].seconds, rel=0.25)
            assert rough[1][0][i] == pytest.approx(legs.empty[0].seconds, rel=0.25)


def test_rough_courses_point_to_the_fire(small_prepared):
    fields = solve_fields(small_prepared, small_prepared.incident.weather.wind)
    x, y = np.array([2400.0, -1500.0]), np.array([0.0, -1000.0])
    out, back = rough_courses(fields, x, y)
    asks = [Ask(a, b, 603.0, 4.5) for a, b in zip(x, y, strict=True)]
    for i, legs in enumerate(site_legs(fields, asks, asks)):
        assert abs((out[i] - course_of(legs.loaded[0], "start") + 180) % 360 - 180) < 30
        assert abs((back[i] - course_of(legs.empty[0], "end") + 180) % 360 - 180) < 30


def test_same_list_twice(small_prepared):
    weather = small_prepared.incident.weather
    fields = solve_fields(small_prepared, weather.wind)
    one, two = (shortlist(small_prepared, fields, weather) for _ in range(2))
    assert [c.point for c in one.kept] == [c.point for c in two.kept]
    assert one.looked_at == two.looked_at > 100
