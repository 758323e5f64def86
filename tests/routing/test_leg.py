"""What a leg says of itself: wires crossed, areas crossed at a price, where the wind table ends, orbits."""

import numpy as np
import pytest
import shapely
from leg_scene import Scene, area
from route_scene import flat, make_ground

from diproute.records import Obstacle, Wind
from diproute.routing.blocked import Blocked
from diproute.routing.wire_crossings import angle_between
from diproute.wording import Reader, say


def one(ground=None, drop=(2500.0, 0.0), dip=(-2500.0, 0.0), **keys):
    (leg,) = Scene(flat(400, 400, 20.0) if ground is None else ground, (drop,), **keys).fly(dip)
    return leg


def wired(line, wire_m=30.0, assumed=False, wide=400):
    wire = Obstacle(
        "power line, 110 kV", "wire", wire_m, assumed, None, None, shapely.LineString(line), "made up", True
    )
    top = np.full((400, 400), np.nan)
    top[200 - wide // 2 : 200 + wide // 2] = 100.0
    return make_ground(top, 20.0, (wire,))


def codes(leg):
    return [found.code for found in leg.cautions]


def test_a_crossing_is_listed_and_measured():
    leg = one(wired([(500.0, -3000.0), (500.0, 3000.0)], assumed=True))
    (crossing,) = leg.crossings
    assert crossing.name == "power line, 110 kV"
    assert crossing.angle_deg == pytest.approx(90.0, abs=3.0)
    assert crossing.top_m == pytest.approx(130.0)
    # the surface was not raised here: the bucket is 45 m over the ground
    assert crossing.clearance_m == pytest.approx(15.0, abs=0.1)
    found = next(found for found in leg.cautions if found.code == "wire-height-assumed")
    told = "crosses power line, 110 kV, height assumed, taken as "
    assert say(found, Reader("metric")) == told + "130 m AMSL"
    assert say(found, Reader("us")) == told + "427 ft MSL"


@pytest.mark.parametrize("slant", [60.0, 75.0])
def test_a_crossing_that_is_steep_enough_is_no_caution(slant):
    x, y = 3000 * np.cos(np.radians(slant)), 3000 * np.sin(np.radians(slant))
    leg = one(wired([(-x, -y), (x, y)]))
    (crossing,) = leg.crossings
    assert crossing.angle_deg >= 45.0
    assert "wire-oblique" not in codes(leg)


def test_a_wire_along_a_narrow_way_is_crossed_obliquely_and_said():
    leg = one(wired([(-2900.0, -150.0), (2900.0, 150.0)], wide=20))
    assert len(leg.crossings) == 1
    assert leg.crossings[0].angle_deg < 45.0
    found = next(found for found in leg.cautions if found.code == "wire-oblique")
    angle = leg.crossings[0].angle_deg
    assert say(found) == f"crosses power line, 110 kV at {angle:.0f}°, not squarely: watch it"


def test_no_wire_on_the_way_no_crossing():
    assert one(wired([(500.0, 1000.0), (500.0, 3000.0)])).crossings == ()


@pytest.mark.parametrize(
    ("course", "wire", "angle"),
    [((1, 0), (0, 5), 90), ((1, 0), (-3, 0), 0), ((1, 1), (1, 0), 45), ((2, 0), (-1, 1), 45)],
)
def test_the_angle_between_two_lines_is_at_most_a_right_angle(course, wire, angle):
    assert angle_between(np.array(course), np.array(wire)) == pytest.approx(angle)


def test_a_wind_table_that_ends_below_the_leg_is_said():
    leg = one(wind=Wind((0.0, 50.0), (240.0, 240.0), (3.0, 5.0)))
    assert "wind-extrapolated" in codes(leg) or any("held beyond" in say(found) for found in leg.cautions)
    assert not any("held beyond" in say(found) for found in one(wind=Wind((0.0,), (240.0,), (3.0,))).cautions)


def test_an_area_that_costs_extra_is_said_where_it_is_crossed():
    box = shapely.box(-300, -3900, 300, 3900)
    leg = one(areas=(area(box, hard=False, cost=2.0),))
    assert [say(found) for found in leg.cautions if found.code == "area-crossed"] == ["crosses Camp: people"]
    above = one(areas=(area(box, hard=False, cost=2.0, floor_m=300.0),))
    assert "area-crossed" not in codes(above)


def test_a_priced_area_is_gone_round_where_that_is_cheaper():
    box = shapely.box(-300, -400, 300, 400)
    leg = one(areas=(area(box, hard=False, cost=5.0),))
    assert not shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersects(box.buffer(-20))


def test_several_areas_in_the_way_are_all_named():
    def ring(inner, outer):
        return shapely.Point(2500, 0).buffer(outer).difference(shapely.Point(2500, 0).buffer(inner))

    areas = (area(ring(300, 500)), area(ring(700, 900), "School", "children"))
    blocked = one(areas=areas)
    assert isinstance(blocked, Blocked)
    assert blocked.names == ("Camp", "School")
    assert say(blocked.why) == "no way that keeps a slung load clear of Camp (people), School (children)"


def test_orbits_are_said_with_place_and_heights():
    top = np.zeros((400, 400))
    top[:, 300:] = 600.0
    leg = one(make_ground(top, 20.0), drop=(3000.0, 0.0), dip=(-1000.0, 0.0))
    circles = [piece for piece in leg.pieces if piece.kind == "orbits"]
    told = [say(found, Reader("metric")) for found in leg.cautions if found.code == "orbits"]
    assert len(told) == len(circles) > 0
    for piece, words in zip(circles, told, strict=True):
        count = round(abs(piece.turn_deg) / 360)
        assert f"flies {count} orbit" in words
        assert f"{round(leg.altitude_m[piece.first])} m" in words.replace("\u202f", "")


def test_a_leg_is_the_same_leg_twice():
    rng = np.random.default_rng(1)
    ground = make_ground(rng.uniform(0, 60, (200, 200)), 20.0)
    first, again = (one(ground, drop=(1000.0, 0.0), dip=(-1000.0, 300.0)) for _ in range(2))
    np.testing.assert_array_equal(first.time_s, again.time_s)
    np.testing.assert_array_equal(first.x_m, again.x_m)
