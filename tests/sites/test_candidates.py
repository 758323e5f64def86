"""Points in the water: clear of the shore, none of the good places missed, the few that are kept."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.geodesy import LocalFrame
from diproute.records import Limits, WaterBody
from diproute.sites.candidates import dip_points, openness, representatives, shelter, spread
from diproute.sites.clearance import SurveyArrays, survey, survey_arrays
from diproute.sites.rules import ClearanceRules
from diproute.wording import Reader, say


def water_of(polygon, kind="lake", level_m=0.0):
    return WaterBody("w1", "Test Water", kind, polygon, False, level_m, level_m, 0.0, None, "test")


def flat(twin, half=3000.0, cell=20.0):
    n = int(2 * half / cell)
    return twin.make_ground(np.zeros((n, n)), cell)


EVERYWHERE = [(0.0, 0.0, 12_000.0)]


def test_every_point_is_inside_and_clear_of_shore_and_islands(twin):
    island = shapely.Point(100, 0).buffer(80)
    lake = shapely.box(-600, -300, 600, 300).difference(island)
    got = spread(water_of(lake), flat(twin), 25.0, EVERYWHERE)
    dots = shapely.points(got.x_m, got.y_m)
    assert shapely.contains(lake, dots).all()
    np.testing.assert_allclose(got.shore_m, shapely.distance(lake.boundary, dots), atol=1e-6)
    assert got.shore_m.min() >= 25.0
    assert got.refused is None
    assert len(got.x_m) > 200


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 9999), clearance=st.floats(0, 30))
def test_a_ragged_shore_keeps_its_distance(twin, seed, clearance):
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    radius = rng.uniform(60, 300) * rng.uniform(0.4, 1.0, 40)
    lake = shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    got = spread(water_of(lake), flat(twin, 500), clearance, EVERYWHERE)
    if got.refused is None:
        assert got.shore_m.min() >= clearance
        pole = shapely.maximum_inscribed_circle(lake, tolerance=0.05).length
        assert got.shore_m.max() >= pole - 0.5  # the widest place is among them
    else:
        assert got.shore_m.max() < clearance


def test_the_point_nearest_to_each_place_served_is_among_them(twin):
    lake = shapely.box(-600, -300, 600, 300)
    drops = [(2000.0, 37.0, 5000.0), (-411.0, 1500.0, 5000.0)]
    got = spread(water_of(lake), flat(twin), 10.0, drops)
    for x, y, _ in drops:
        nearest = np.hypot(got.x_m - x, got.y_m - y).min()
        assert nearest == pytest.approx(shapely.distance(shapely.Point(x, y), lake) + 10.0, abs=0.02)
    assert got.drop_m.min() == pytest.approx(1210.0, abs=0.02)


def test_a_narrow_river_is_sampled_all_along(twin):
    s = np.linspace(-2500, 2500, 200)
    river = shapely.LineString(np.column_stack([s, 300 * np.sin(s / 400)])).buffer(14)
    got = spread(water_of(river, "river"), flat(twin), 10.0, EVERYWHERE)
    along = shapely.line_interpolate_point(
        shapely.LineString(np.column_stack([s, 300 * np.sin(s / 400)])), np.arange(50, 5000, 50)
    )
    far = shapely.distance(shapely.MultiPoint(np.column_stack([got.x_m, got.y_m])), along)
    assert far.max() < 50


def test_flowing_water_takes_the_ground_where_it_is(twin):
    top = np.tile(100 - 0.02 * 20 * np.arange(300), (300, 1))  # falls 2 % to the east
    top[0, 0] = np.nan
    ground = twin.make_ground(top, 20.0)
    river = shapely.box(-2000, -40, 2000, 40)
    got = spread(water_of(river, "river", level_m=20.0), ground, 10.0, EVERYWHERE)
    here = 100 - 0.02 * (got.x_m + 3000)
    assert (got.level_low_m <= here + 0.02 * 20).all()
    assert (got.level_high_m >= here - 0.02 * 20).all()
    wide = got.shore_m >= 35.0  # 1.75 cells: no land in the cell
    assert (here - got.level_low_m)[wide].max() < 0.02 * 40
    assert (got.level_high_m - here)[wide].max() < 0.02 * 20
    bank_m = got.level_high_m - got.level_low_m
    assert bank_m[~wide].min() > bank_m[wide].max()
    still = spread(water_of(river, "lake", level_m=20.0), ground, 10.0, EVERYWHERE)
    assert (still.level_low_m == 20.0).all()
    assert (still.level_high_m == 20.0).all()
    top[:] = np.nan
    unknown = spread(water_of(river, "river"), twin.make_ground(top, 20.0), 10.0, EVERYWHERE)
    assert np.isnan(unknown.level_low_m).all()
    assert np.isnan(unknown.level_high_m).all()


def test_a_sea_is_dense_near_the_drop_and_thin_beyond(twin):
    sea = shapely.box(-30_000, -30_000, 1000, 30_000)
    got = spread(water_of(sea, "sea"), flat(twin), 10.0, [(2500.0, 0.0, 12_000.0)])
    assert 2000 < len(got.x_m) < 6000
    assert got.drop_m.max() <= 12_000.1
    near = got.drop_m < 2000
    assert near.sum() > 150  # about 50 m apart
    tree = shapely.STRtree(shapely.points(got.x_m, got.y_m))
    _, gap = tree.query_nearest(
        shapely.points(*np.random.default_rng(0).uniform(-7000, 900, (2, 500))), return_distance=True
    )
    assert gap.max() < 500


def test_a_pond_too_narrow_is_refused_with_what_it_lacks(twin):
    got = spread(water_of(shapely.box(0, 0, 60, 14)), flat(twin), 10.0, EVERYWHERE)
    assert got.refused.code == "shore-clearance"
    assert say(got.refused, Reader("metric")) == (
        "Test Water: its widest place is 7 m from the shore, 3 m short of 10 m"
    )
    assert say(got.refused, Reader("us")).endswith("22 ft from the shore, 10 ft short of 33 ft")
    assert len(got.x_m) == 1
    assert got.shore_m[0] == pytest.approx(7.0, abs=0.05)
    far = spread(water_of(shapely.box(0, 0, 60, 60)), flat(twin), 10.0, [(50_000.0, 0.0, 1000.0)])
    assert far.refused.code == "out-of-reach"
    assert say(far.refused) == "Test Water: no part of it lies within the search radius"
    assert len(far.x_m) == 0
    with pytest.raises(RangeError, match="at least one place"):
        spread(water_of(shapely.box(0, 0, 60, 60)), flat(twin), 10.0, [])


FT = 0.3048


@pytest.mark.parametrize(("width_ft", "trees_ft"), [(50, 30), (50, 40), (60, 35), (70, 30), (70, 40)])
def test_accident_case_a_is_refused_or_takes_a_line(twin, width_ft, trees_ft):
    """NTSB FTW98TA328 (as in the docket summary): pond 120 x 50-70 ft, trees 30-40 ft on two sides."""
    half_x, half_y = 60 * FT, width_ft * FT / 2
    cell = 1.0
    n = 1000
    y = ((n / 2 - 0.5) - np.arange(n)) * cell
    top = np.zeros((n, n), np.float32)
    beside = (np.abs(y) > half_y) & (np.abs(y) < half_y + 30)
    top[beside] = trees_ft * FT
    cause = np.zeros(top.shape, np.uint16)
    cause[beside] = 1
    ground = twin.make_ground(top, cell, cause)
    pond = water_of(shapely.box(-half_x, -half_y, half_x, half_y), "pond")
    got = spread(pond, ground, Limits().shore_clearance_m, EVERYWHERE)
    if width_ft * FT / 2 < Limits().shore_clearance_m:
        assert got.refused.code == "shore-clearance"
    else:
        assert got.refused is None
    rules = ClearanceRules.from_limits(Limits(corridor_length_m=400), 22.9, 10.7, 4.5)  # type 3, a light bucket
    for seen in survey(ground, got.x_m, got.y_m, got.level_low_m, rules):
        # without a line, the rotor would turn among the trees: hook 4.5 m up, trees of 30 to 40 ft inside the circle
        assert seen.line_needed_m == pytest.approx(trees_ft * FT + 5.0 - 4.5, abs=0.01)
        assert seen.line_governing.what == "trees"
        assert seen.lift_out_m.min() > trees_ft * FT  # the pond is narrower than any corridor: over the trees


def estimate(ground, points, rules, drop_xy):
    """Water an hour as a planner would guess it: 1000 L a trip, the lift at the cheapest open direction, the way."""
    arrays = survey_arrays(ground, points[:, 0], points[:, 1], 0.0, rules)
    lift = np.nanmin(np.where(arrays.lift_out_m <= 60, arrays.lift_out_m, np.inf), axis=1)
    way = np.hypot(*(points - np.asarray(drop_xy)).T)
    seconds = 90 + lift / 1.5 + lift / 2 + arrays.line_needed_m * 0.5 + 2 * way / 45
    return 3600 * 1000 / seconds


@pytest.mark.parametrize("shape", ["long lake", "lake with islands", "gorge river", "pond"])
def test_the_best_point_is_within_three_per_cent_of_an_exhaustive_grid(twin, shape):
    rng = np.random.default_rng(3)
    waters = {
        "long lake": shapely.LineString([(-2400, -800), (-500, 0), (600, 900), (2300, 1000)]).buffer(150),
        "lake with islands": shapely.Point(0, 0).buffer(1200)
        - shapely.unary_union([shapely.Point(*rng.uniform(-900, 900, 2)).buffer(90) for _ in range(8)]),
        "gorge river": shapely.LineString([(-2500, 0), (-900, 500), (700, -400), (2500, 300)]).buffer(35),
        "pond": shapely.box(-60, -40, 70, 55),
    }
    lake = waters[shape]
    cell, n = 20.0, 400
    x = (np.arange(n) + 0.5) * cell - n * cell / 2
    away = shapely.distance(shapely.points(*np.meshgrid(x, -x)), lake)
    top = np.where(away > 0, 0.35 * away, 0)  # sides of a valley
    trees = (away > 0) & (rng.random(away.shape) < 0.6)
    top[trees] += rng.uniform(5, 35, trees.sum())
    ground = twin.make_ground(top, cell)
    rules = ClearanceRules.from_limits(Limits(), 22.9, 10.7, 4.5)
    drop = (2600.0, 1500.0)
    got = spread(water_of(lake), ground, 10.0, [(*drop, 12_000.0)])
    value = estimate(ground, np.column_stack([got.x_m, got.y_m]), rules, drop)
    kept = representatives(got, value, 300.0, 4)
    xs, ys = (a.ravel() for a in np.meshgrid(np.arange(-2600, 2600, 50) + 17.0, np.arange(-1500, 1500, 50) + 31.0))
    inside = shapely.contains_xy(lake.buffer(-10), xs, ys)
    exhaustive = estimate(ground, np.column_stack([xs, ys])[inside], rules, drop)
    assert value[kept[0][0]] >= 0.97 * exhaustive.max()
    assert kept[0][1] == "most water an hour"


def spread_of(twin):
    lake = shapely.box(-600, -100, 600, 100).union(shapely.Point(250, -100).buffer(150))
    return spread(water_of(lake), flat(twin), 10.0, [(2000.0, 0.0, 9000.0)])


def test_the_kept_points_are_apart_and_say_what_they_were_kept_for(twin):
    got = spread_of(twin)
    value = -np.hypot(got.x_m + 300, got.y_m)  # best in the west
    kept = representatives(got, value, 250.0, 5)
    assert [words for _, words in kept][:3] == ["most water an hour", "nearest the drop", "deepest inside"]
    i = [i for i, _ in kept]
    assert value[i[0]] == value.max()
    assert got.drop_m[i[1]] == got.drop_m.min()
    gaps = [math.hypot(got.x_m[a] - got.x_m[b], got.y_m[a] - got.y_m[b]) for a in i for b in i if a < b]
    assert min(gaps) >= 250.0
    assert len(kept) == 5
    assert len(representatives(got, value, 250.0, 1)) == 1
    assert representatives(got, value, 250.0, 5) == kept


def test_a_point_that_is_best_at_two_things_is_kept_once(twin):
    got = spread_of(twin)
    kept = representatives(got, got.shore_m, 250.0, 2, {"deepest inside": got.shore_m, "most open": -got.drop_m})
    assert [words for _, words in kept] == ["most water an hour", "most open"]


def test_points_without_a_value_are_kept_only_for_another_reason(twin):
    got = spread_of(twin)
    none = np.full(len(got.x_m), np.nan)
    assert [w for _, w in representatives(got, none, 250.0, 5)] == ["nearest the drop", "deepest inside"]
    assert representatives(got, none, 250.0, 5, {"most sheltered": none}) == ()
    with pytest.raises(RangeError, match="give each point one"):
        representatives(got, none[:3], 250.0, 5)


def test_openness_and_shelter(twin):
    lift = np.full((2, 72), 5.0)
    lift[0, :36] = 80.0  # closed to the east
    lift[1, 54] = np.nan
    arrays = SurveyArrays(np.arange(72) * 5.0, np.zeros(2), lift, np.full((2, 72), 5.0))
    np.testing.assert_allclose(openness(arrays, Limits()), [0.5, 71 / 72])
    windward = shelter(arrays, 90.0)
    np.testing.assert_allclose(windward, [80.0, 5.0])
    assert np.isnan(shelter(arrays, 270.0)[1])


def test_the_records_carry_geographic_positions(twin):
    got = spread_of(twin)
    ground = flat(twin)
    kept = dip_points(got, [(0, "deepest inside")], ground.grid)
    assert kept[0].chosen_for == "deepest inside"
    x, y = LocalFrame(ground.grid.lat_deg, ground.grid.lon_deg).to_xy(kept[0].lon_deg, kept[0].lat_deg)
    assert (x, y) == pytest.approx((got.x_m[0], got.y_m[0]), abs=1e-3)
    assert kept[0].shore_clearance_m == got.shore_m[0]
