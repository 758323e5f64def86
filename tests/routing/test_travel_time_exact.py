"""Routes against answers in closed form."""

import numpy as np
import pytest
import shapely
from pyproj import Geod
from route_scene import CALM, PLAIN, flat, make_ground

from diproute.physics.wind import wind_triangle
from diproute.records import AvoidArea, Finding, Leg, Wind
from diproute.routing.airspace import prepare
from diproute.routing.blocked import Blocked
from diproute.routing.leg import fly_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve
from diproute.wording import say

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=3.0, descent_m_s=2.5)


def area(shape, name="Camp", hard=True, cost=1.0, floor_m=None, ceiling_m=None):
    return AvoidArea(name, Finding.of("area-said", text="people"), hard, cost, shape, floor_m, ceiling_m)


def one(airspace, wind, source, site, towards=True, flying=FLYING, bottom=45.0, hanging=0.0):
    field = solve(airspace, flying, wind, Sources.of(*source, bottom), towards=towards)
    return fly_legs(field, [Ask(*site, bottom, hanging)], "Head", "loaded")[0]


@pytest.mark.parametrize("cell", [10.0, 30.0])
def test_flat_ground_without_wind_is_the_geodesic(cell):
    airspace = prepare(flat(int(16000 / cell), int(16000 / cell), cell), (), PLAIN)
    field = solve(airspace, FLYING, CALM, Sources.of(120.0, -40.0, 45.0), towards=True)
    asks = [Ask(x, y, 45.0, 20.0) for x, y in np.random.default_rng(4).uniform(-7000, 7000, (40, 2))]
    for ask, leg in zip(asks, fly_legs(field, asks, "Head", "loaded"), strict=True):
        assert isinstance(leg, Leg)
        # GeographicLib through pyproj.Geod: an independent distance on the ellipsoid
        _, _, metres = Geod(ellps="WGS84").inv(leg.lon_deg[0], leg.lat_deg[0], leg.lon_deg[-1], leg.lat_deg[-1])
        assert leg.length_m == pytest.approx(metres, rel=1e-3)
        assert leg.seconds == pytest.approx(metres / 40.0, rel=1e-3)
        assert leg.waypoints == (0, leg.x_m.size - 1)
        assert (leg.x_m[0], leg.y_m[0]) == pytest.approx((ask.x_m, ask.y_m), abs=1e-6)
        assert (leg.x_m[-1], leg.y_m[-1]) == pytest.approx((120.0, -40.0), abs=1e-6)


@pytest.mark.parametrize("towards", [True, False])
@pytest.mark.parametrize("speed", [4.0, 12.0, 20.0])
def test_a_uniform_wind_gives_the_wind_triangle(speed, towards):
    airspace = prepare(flat(500, 500, 30.0), (), PLAIN)
    wind = Wind((0.0,), (240.0,), (speed,))
    field = solve(airspace, FLYING, wind, Sources.of(0.0, 0.0, 45.0), towards=towards)
    courses = np.arange(5.0, 365.0, 20.0)
    asks = [Ask(6000 * np.sin(np.radians(c)), 6000 * np.cos(np.radians(c)), 45.0, 20.0) for c in courses]
    for course, leg in zip(courses, fly_legs(field, asks, "Head", "loaded"), strict=True):
        flown = (course + 180.0) % 360.0 if towards else course
        ground_speed, _ = wind_triangle(flown, 40.0, 240.0, speed)
        assert leg.seconds == pytest.approx(6000.0 / ground_speed, rel=1e-3)


def test_wind_by_height_is_taken_at_the_height_flown():
    airspace = prepare(flat(300, 300, 30.0, height_m=500.0), (), PLAIN)
    wind = Wind((0.0, 1000.0), (270.0, 270.0), (0.0, 20.0))  # 0.02 m/s a metre
    field = solve(airspace, FLYING, wind, Sources.of(3000.0, 0.0, 545.0), towards=True)
    leg = fly_legs(field, [Ask(-3000.0, 0.0, 545.0, 30.0)], "Head", "loaded")[0]
    assert leg.altitude_m == pytest.approx(np.full(leg.altitude_m.size, 575.0), abs=1e-6)
    assert leg.seconds == pytest.approx(6000.0 / (40.0 + 0.02 * 575.0), rel=1e-4)


def test_a_wall_with_a_gap():
    cell = 10.0
    top = np.zeros((600, 600))
    top[:, 300] = np.nan  # a wall of unknown ground
    top[100:106, 300] = 0.0  # 60 m wide
    airspace = prepare(make_ground(top, cell), (), PLAIN)
    left, right = (-2000.0, -1500.0), (1800.0, -1000.0)
    leg = one(airspace, CALM, right, left)
    # with no lateral clearance the floor still counts the cells that touch: 299 to 301 are closed beside the wall, and
    # one cell is lost at each side of the gap, whose lower corners so stand at y = 3000 - 1050 = 1950
    y = 3000.0 - 105 * cell
    exact = np.hypot(-10 - left[0], y - left[1]) + 30.0 - 10 + np.hypot(right[0] - 20, y - right[1])
    assert leg.length_m == pytest.approx(exact, rel=5e-3)
    assert leg.length_m >= exact - 30.0


def test_round_a_closed_disc_by_tangent_arc_tangent():
    cell, radius = 10.0, 2000.0
    disc = shapely.Point(0, 0).buffer(radius, quad_segs=180)
    airspace = prepare(flat(1000, 1000, cell), (area(disc),), PLAIN)
    a, b = (-4300.0, 150.0), (4100.0, -350.0)
    leg = one(airspace, CALM, b, a)
    da, db = np.hypot(*a), np.hypot(*b)
    apart = np.arccos((a[0] * b[0] + a[1] * b[1]) / da / db)
    arc = apart - np.arccos(radius / da) - np.arccos(radius / db)
    exact = np.sqrt(da**2 - radius**2) + np.sqrt(db**2 - radius**2) + radius * arc
    assert leg.length_m == pytest.approx(exact, rel=5e-3)
    assert leg.length_m > exact
    assert not shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersects(disc)


@pytest.mark.parametrize(("crest", "over"), [(200.0, True), (3000.0, False)])
@pytest.mark.parametrize("towards", [True, False])
def test_a_ridge_is_flown_over_or_round_whichever_is_quicker(crest, over, towards):
    cell = 20.0
    top = np.zeros((700, 700))
    top[250:, 348:352] = crest  # a ridge across the way, its northern end at y = 7000 - 250 * 20 = 2000
    airspace = prepare(make_ground(top, cell), (), PLAIN)
    drop, site = (2500.0, -600.0), (-2500.0, -600.0)
    leg = one(airspace, CALM, drop, site, towards=towards)
    straight, waiting = 5000.0 / 40.0, crest / 3.0 + crest / 2.5 - (2500.0 - 60) / 40 * 2
    y = 7000.0 - 249 * cell
    around = (np.hypot(2500 - 60, y + 600) * 2 + 120) / 40.0
    if over:
        # up at the climb rate from one end, down at the descent rate to the other, the ridge's width level between
        exact = max(straight, crest / 3.0 + 120.0 / 40.0 + crest / 2.5)
        assert exact < around
        assert leg.highest_m == pytest.approx(crest + 45.0, abs=0.1)
    else:
        exact = around
        assert waiting > around
        assert leg.highest_m < 100.0
    assert leg.seconds == pytest.approx(exact, rel=5e-3)


def test_no_way_names_the_area_and_shows_it():
    ring = shapely.Point(2000, 0).buffer(900).difference(shapely.Point(2000, 0).buffer(500))
    other = shapely.box(-3000, -3000, -2500, -2500)
    airspace = prepare(flat(400, 400, 20.0), (area(other, "Village"), area(ring, "Camp")), PLAIN)
    blocked = one(airspace, CALM, (2000.0, 0.0), (-2000.0, 0.0))
    assert isinstance(blocked, Blocked)
    assert (blocked.why.code, blocked.names) == ("blocked-area", ("Camp",))
    assert say(blocked.why) == "no way that keeps a slung load clear of Camp (people)"
    assert blocked.geometry.equals(ring)


def test_unknown_ground_is_no_way():
    top = np.zeros((200, 200))
    top[:, 100] = np.nan
    blocked = one(prepare(make_ground(top, 20.0), (), PLAIN), CALM, (1000.0, 0.0), (-1000.0, 0.0))
    assert isinstance(blocked, Blocked)
    assert say(blocked.why) == "the ground, or what stands on it, is not known between here and there"
    assert abs(blocked.geometry.centroid.x) < 60.0


def test_a_wind_of_more_than_the_share_of_the_airspeed_is_no_way():
    airspace = prepare(flat(200, 200, 20.0), (), PLAIN)
    blocked = one(airspace, Wind((0.0,), (90.0,), (24.5,)), (1000.0, 0.0), (-1000.0, 0.0))
    assert isinstance(blocked, Blocked)
    assert blocked.why.code == "blocked-wind"
    assert say(blocked.why) == "the wind between here and there is more than 0.6 of the airspeed"
    assert isinstance(one(airspace, Wind((0.0,), (90.0,), (23.5,)), (1000.0, 0.0), (-1000.0, 0.0)), Leg)


def test_airspace_above_is_flown_under_and_low_airspace_over():
    box = shapely.box(-300, -4000, 300, 4000)
    site, drop = (-2500.0, 0.0), (2500.0, 0.0)
    high = prepare(flat(400, 400, 20.0), (area(box, floor_m=200.0),), PLAIN)
    leg = one(high, CALM, drop, site, hanging=40.0)
    assert leg.highest_m < 200.0
    low = prepare(flat(400, 400, 20.0), (area(box, ceiling_m=150.0),), PLAIN)
    leg = one(low, CALM, drop, site, hanging=40.0)
    inside = np.abs(leg.x_m) < 300.0
    assert (leg.altitude_m[inside] - 40.0).min() >= 150.0 - 1e-6
    shut = prepare(flat(400, 400, 20.0), (area(box, floor_m=80.0),), PLAIN)  # 45 m + 40 m hanging does not pass under
    assert isinstance(one(shut, CALM, drop, site, hanging=40.0), Blocked)


def test_an_area_above_that_the_profile_would_climb_into_is_gone_round():
    top = np.zeros((400, 400))
    top[:, 260:264] = 400.0  # a ridge behind the area: the climb to it leads through the area
    box = shapely.box(200, -2000, 1000, 2000)
    airspace = prepare(make_ground(top, 20.0), (area(box, floor_m=150.0),), PLAIN)
    leg = one(airspace, CALM, (3000.0, 0.0), (-2500.0, 0.0), hanging=40.0)
    assert isinstance(leg, Leg)
    inside = shapely.intersects_xy(box, leg.x_m, leg.y_m)
    assert (leg.altitude_m[inside] < 150.0).all()


def test_a_site_in_an_area_or_off_the_known_ground_is_told_at_once():
    top = np.zeros((300, 300))
    top[:60, :60] = np.nan
    camp = shapely.Point(1500, 0).buffer(300)
    airspace = prepare(make_ground(top, 20.0), (area(camp, "Camp"), area(camp, "Sky", floor_m=900.0)), PLAIN)
    inside = one(airspace, CALM, (0.0, 0.0), (1500.0, 100.0))
    assert (inside.why.code, inside.names) == ("blocked-area", ("Camp",))
    unknown = one(airspace, CALM, (0.0, 0.0), (-2500.0, 2500.0))
    assert unknown.why.code == "blocked-unknown"
    assert say(unknown.why) == "the ground, or what stands on it, is not known at the site"


def big(shut):
    """Give a grid that is solved coarse first: 2000 x 2000 cells of 10 m, with areas that close coarse cells."""
    airspace = prepare(flat(2000, 2000, 10.0), shut, PLAIN)
    assert airspace.first.factor == 4
    return airspace


def test_a_site_behind_a_gap_that_the_coarse_grid_closes_is_reached():
    ring = shapely.Point(5000, 0).buffer(500).difference(shapely.Point(5000, 0).buffer(300))
    ring = ring.difference(shapely.box(5000, -15, 6000, 15))  # a gap of 30 m to the east
    leg = one(big((area(ring),)), CALM, (-5000.0, 0.0), (5000.0, 0.0))
    assert isinstance(leg, Leg)
    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    assert not path.intersects(ring)
    # out through the gap, along the ring to where the tangent from the drop touches it, along the tangent
    exact = 500.0 + (np.pi - np.arccos(500.0 / 10000.0)) * 500.0 + np.sqrt(10000.0**2 - 500.0**2)
    assert leg.length_m == pytest.approx(exact, rel=0.01)  # cells of 10 m are wide against a ring of 500 m


def test_a_drop_in_a_closed_coarse_cell_is_still_solved():
    leg = one(big((area(shapely.Point(-5000 + 27, 3).buffer(8)),)), CALM, (-5000.0, 0.0), (5000.0, 0.0))
    assert leg.length_m == pytest.approx(10000.0, rel=1e-3)
