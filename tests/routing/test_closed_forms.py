"""Legs against answers in closed form, once the gates are counted as they say of themselves.

What is left over the closed form are arcs, flown slower than the cruise, and courses that go by steps of five degrees.
"""

import numpy as np
import pytest
import shapely
from leg_scene import Scene, area, gates_s, straight_m
from pyproj import Geod
from route_scene import USUAL, flat, make_ground

from diproute.physics.wind import wind_triangle
from diproute.records import Wind
from diproute.routing.blocked import Blocked
from diproute.routing.choice import choose
from diproute.wording import say

CRUISE_M_S = 40.0


def exact_s(leg, metres, speed=CRUISE_M_S):
    """The gates, and the rest of a length at one speed."""
    return gates_s(leg) + (metres - straight_m(leg)) / speed


@pytest.mark.parametrize("towards", [True, False])
def test_flat_ground_without_wind_is_the_geodesic(towards):
    scene = Scene(flat(800, 800, 20.0), ((120.0, -40.0),), towards=towards)
    places = np.random.default_rng(4).uniform(-7000, 7000, (30, 2))
    places = places[np.hypot(*places.T) > 2000.0]
    over = []
    for leg in scene.fly(*places):
        # GeographicLib through pyproj.Geod: an independent distance on the ellipsoid
        _, _, metres = Geod(ellps="WGS84").inv(leg.lon_deg[0], leg.lat_deg[0], leg.lon_deg[-1], leg.lat_deg[-1])
        over.append(leg.seconds / exact_s(leg, metres) - 1)
        assert not any(piece.kind == "orbits" for piece in leg.pieces)  # 30 m are won on the way
    assert min(over) > -5e-4
    assert max(over) < 1e-2
    assert np.median(over) < 3e-3


@pytest.mark.parametrize("towards", [True, False])
@pytest.mark.parametrize("speed", [4.0, 12.0])
def test_a_uniform_wind_gives_the_wind_triangle(speed, towards):
    scene = Scene(flat(500, 500, 30.0), wind=Wind((0.0,), (240.0,), (speed,)), towards=towards)
    courses = np.arange(5.0, 365.0, 20.0)
    places = 6000.0 * np.column_stack([np.sin(np.radians(courses)), np.cos(np.radians(courses))])
    over = []
    for leg in scene.fly(*places):
        # what is left between the corridors, each on its own stated course, is flown at the wind triangle's speed
        east = leg.x_m[-1] - leg.x_m[0]
        north = leg.y_m[-1] - leg.y_m[0]
        for gate in (leg.departure, leg.arrival):
            east -= gate.straight_m * np.sin(np.radians(gate.course_deg))
            north -= gate.straight_m * np.cos(np.radians(gate.course_deg))
        flown = float(np.degrees(np.arctan2(east, north))) % 360.0
        rest_s = np.hypot(east, north) / wind_triangle(flown, CRUISE_M_S, 240.0, speed)[0]
        over.append(leg.seconds / (gates_s(leg) + rest_s) - 1)
    # nothing beats it, and what is left over are the arcs, flown slower and with their own drift
    assert min(over) > -1e-4
    assert max(over) < 6e-3
    assert np.median(over) < 3e-3


@pytest.mark.parametrize("thick", [1, 5])
def test_a_wall_with_a_gap(thick):
    """A wall of unknown ground with a gap of 1000 m, of which the lateral clearance takes 60 m on each side."""
    top = np.zeros((600, 600))
    top[:, 300 - thick // 2 : 301 + thick // 2] = np.nan
    top[100:200, 290:310] = 0.0
    scene = Scene(make_ground(top, 10.0), ((1800.0, -1000.0),), rules=USUAL)
    (leg,) = scene.fly((-2000.0, -1500.0))
    y, half = 3000.0 - 2000.0 + 70.0, 70.0 + 5.0 * thick
    length = np.hypot(2000.0 - half, y + 1500.0) + 2 * half + np.hypot(1800.0 - half, y + 1000.0)
    assert -5e-3 < leg.seconds / exact_s(leg, length) - 1 < 3e-2  # two turns of 60 and 70 degrees
    assert not shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersects(
        shapely.box(-10 - 5 * thick, -3000, 5 * thick, 1000)
    )


@pytest.mark.parametrize(
    ("dip", "drop"),
    [((-4300, 150), (4100, -350)), ((-4300, 150), (5000, 0)), ((-6000, 1000), (5000, 0)), ((-3000, 100), (3500, 500))],
)
@pytest.mark.parametrize("towards", [True, False])
def test_round_a_closed_disc_by_tangent_arc_tangent(dip, drop, towards):
    radius = 2000.0
    disc = shapely.Point(0, 0).buffer(radius, quad_segs=180)
    scene = Scene(flat(1400, 1400, 10.0), (drop,), areas=(area(disc),), towards=towards)
    (leg,) = scene.fly(dip)
    a, b = np.hypot(*dip), np.hypot(*drop)
    apart = np.arccos((dip[0] * drop[0] + dip[1] * drop[1]) / a / b)
    arc = apart - np.arccos(radius / a) - np.arccos(radius / b)
    length = np.sqrt(a**2 - radius**2) + np.sqrt(b**2 - radius**2) + radius * arc
    assert 0 < leg.seconds / exact_s(leg, length) - 1 < 1.2e-2
    assert not shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersects(disc)


@pytest.mark.parametrize(("crest", "over"), [(150.0, True), (3000.0, False)])
@pytest.mark.parametrize("towards", [True, False])
def test_a_ridge_is_flown_over_or_round_whichever_is_quicker(crest, over, towards):
    top = np.zeros((700, 700))
    top[250:, 348:352] = crest  # a ridge across the way, its northern end at y = 7000 - 250 * 20 = 2000
    scene = Scene(make_ground(top, 20.0), ((3500.0, -600.0),), towards=towards)
    (leg,) = scene.fly((-3500.0, -600.0))
    around = 2 * np.hypot(3500 - 60, 7000 - 249 * 20 + 600) + 120
    length = 7000.0 if over else around
    assert -1e-3 < leg.seconds / exact_s(leg, length) - 1 < 1.2e-2
    crossed = np.abs(leg.x_m) < 60.0
    above = (leg.altitude_m - leg.hanging_m)[crossed].min()
    assert (above >= crest + 45.0 - 1e-6) == over


def test_a_climb_that_the_way_is_too_short_for_is_flown_in_whole_orbits():
    """The fire 600 m over the water and 3.5 km away: a third of it can be won on the way."""
    top = np.zeros((400, 400))
    top[:, 300:] = 600.0
    top[:, 200:300] = np.linspace(0, 600, 100)
    scene = Scene(make_ground(top, 20.0), ((3000.0, 0.0),))
    (leg,) = scene.fly((-500.0, 0.0))
    circles = [piece for piece in leg.pieces if piece.kind == "orbits"]
    assert circles
    won = 0.0
    for piece in circles:
        assert abs(piece.turn_deg) % 360.0 == pytest.approx(0.0, abs=1e-6)
        took = leg.time_s[piece.last] - leg.time_s[piece.first]
        height = leg.altitude_m[piece.last] - leg.altitude_m[piece.first]
        assert height <= took * 0.85 * scene.flying.climb_m_s + 1e-6
        assert took == pytest.approx(abs(piece.turn_deg) / 360 * 2 * np.pi * piece.radius_m / 28.294, rel=1e-3)
        won += height
    assert won > 150.0
    # climbing all the way and in the orbits, no quicker than the whole height asks for
    assert leg.seconds >= 600.0 / scene.flying.climb_m_s


def test_the_bound_never_exceeds_what_is_flown_and_the_choice_hardly():
    top = np.zeros((400, 400))
    top[150:170, 100:300] = 200.0
    scene = Scene(make_ground(top, 20.0))
    places = np.random.default_rng(2).uniform(-3000, 3000, (12, 2))
    places = places[np.hypot(*places.T) > 1200.0]
    x, y = places.T
    near = scene.gates(x, y, scene.top(x, y), "dip", departure=True)
    chosen = choose(scene.field, near).seconds.min(axis=1)
    bound = scene.field.bound(x, y, scene.top(x, y))
    for leg, least, low in zip(scene.fly(*places), chosen, bound, strict=True):
        assert low <= leg.seconds + 1e-6
        assert leg.seconds > 0.9 * least  # the choice knows one arc, and no orbits at the other end


def test_no_way_names_the_area():
    ring = shapely.Point(2000, 0).buffer(900).difference(shapely.Point(2000, 0).buffer(500))
    other = shapely.box(-3000, -3000, -2500, -2500)
    scene = Scene(flat(400, 400, 20.0), ((2000.0, 0.0),), areas=(area(other, "Village"), area(ring, "Camp")))
    (blocked,) = scene.fly((-2000.0, 0.0))
    assert isinstance(blocked, Blocked)
    assert blocked.names == ("Camp",)
    assert say(blocked.why) == "no way that keeps a slung load clear of Camp (people)"


def test_unknown_ground_is_no_way():
    top = np.zeros((200, 200))
    top[:, 100] = np.nan
    (blocked,) = Scene(make_ground(top, 20.0), ((1000.0, 0.0),)).fly((-1000.0, 0.0))
    assert isinstance(blocked, Blocked)
    assert say(blocked.why) == "the ground, or what stands on it, is not known between here and there"


def test_airspace_above_is_flown_under_and_low_airspace_over():
    box = shapely.box(-300, -4000, 300, 4000)

    def flown(**levels):
        (leg,) = Scene(flat(400, 400, 20.0), ((2500.0, 0.0),), areas=(area(box, **levels),)).fly((-2500.0, 0.0))
        return leg

    high = flown(floor_m=200.0)
    assert high.altitude_m[np.abs(high.x_m) < 320.0].max() < 200.0
    low = flown(ceiling_m=150.0)
    assert (low.altitude_m - low.hanging_m)[np.abs(low.x_m) < 300.0].min() >= 150.0 - 1e-6
    assert isinstance(flown(floor_m=80.0), Blocked)  # 45 m and 40 m hanging do not pass under


@pytest.mark.parametrize("wide", [2.0, 5.0])
def test_a_sliver_of_an_area_is_not_flown_through_unseen(wide):
    wall = shapely.box(205, -3000, 205 + wide, 3000)
    (leg,) = Scene(flat(500, 500, 20.0), ((2500.0, 0.0),), areas=(area(wall),)).fly((-2500.0, 0.0))
    assert not shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersects(wall)
    assert leg.length_m > 2 * np.hypot(2500.0, 3000.0)


def test_a_wind_of_more_than_the_share_of_the_airspeed_is_no_way():
    ground = flat(200, 200, 20.0)
    (blocked,) = Scene(ground, ((1000.0, 0.0),), wind=Wind((0.0,), (90.0,), (24.5,))).fly((-1000.0, 0.0))
    assert isinstance(blocked, Blocked)
