"""Wires on the way: listed, measured, and crossed at a right angle where that costs little."""

import numpy as np
import pytest
import shapely
from route_scene import CALM, PLAIN, make_ground

from diproute.records import Obstacle
from diproute.routing.airspace import prepare
from diproute.routing.leg import fly_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve
from diproute.routing.wire_crossings import angle_between
from diproute.wording import Reader, say

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=4.0, descent_m_s=3.0)


def crossed(line, ground_m=100.0, wire_m=30.0, assumed=False, site=(-4000.0, 0.0), drop=(4000.0, 0.0), wide=450):
    wire = Obstacle(
        "power line, 110 kV", "wire", wire_m, assumed, None, None, shapely.LineString(line), "made up", True
    )
    tower = Obstacle("mast", "mast", 30.0, False, None, None, shapely.Point(0, 0), "made up")
    top = np.full((450, 450), np.nan)
    top[225 - wide // 2 : 225 + wide // 2] = ground_m
    ground = make_ground(top, 20.0, (tower, wire))
    airspace = prepare(ground, (), PLAIN)
    field = solve(airspace, FLYING, CALM, Sources.of(*drop, ground_m + 45.0), towards=True)
    return fly_legs(field, [Ask(*site, ground_m + 45.0, 25.0)], "Head", "loaded")[0]


def test_a_crossing_at_a_right_angle_is_left_straight_and_measured():
    leg = crossed([(500.0, -3000.0), (500.0, 3000.0)], assumed=True)
    (crossing,) = leg.crossings
    assert leg.length_m == pytest.approx(8000.0, abs=1.0)
    assert crossing.angle_deg == pytest.approx(90.0, abs=0.5)
    assert crossing.top_m == pytest.approx(130.0)
    assert crossing.clearance_m == pytest.approx(15.0)  # bucket's bottom at 145 m, the surface was not raised here
    assert crossing.name == "power line, 110 kV"
    assert [c.code for c in leg.cautions] == ["wire-height-assumed"]
    told = "crosses power line, 110 kV, height assumed, taken as "
    assert say(leg.cautions[0], Reader("metric")) == told + "130 m AMSL"
    assert say(leg.cautions[0], Reader("us")) == told + "427 ft MSL"


@pytest.mark.parametrize("slant", [30.0, 40.0, 60.0])
def test_a_slanting_wire_is_crossed_at_a_right_angle_for_little(slant):
    x, y = 3000 * np.cos(np.radians(slant)), 3000 * np.sin(np.radians(slant))
    leg = crossed([(-x, -y), (x, y)])
    (crossing,) = leg.crossings
    assert crossing.angle_deg >= 75.0
    assert leg.length_m <= 8000.0 * 1.021
    assert not leg.cautions


def test_a_wire_along_a_narrow_way_stays_oblique_and_is_said():
    leg = crossed([(-3900.0, -200.0), (3900.0, 200.0)], wide=6)  # 80 m are open between unknown ground
    assert len(leg.crossings) == 1
    assert leg.crossings[0].angle_deg < 45.0
    assert [c.code for c in leg.cautions] == ["wire-oblique"]
    assert say(leg.cautions[0]) == (
        f"crosses power line, 110 kV at {leg.crossings[0].angle_deg:.0f}°, not squarely: watch it"
    )


def test_a_wire_that_ends_is_gone_round_for_little():
    assert crossed([(500.0, 3000.0), (500.0, -300.0)]).crossings == ()
    assert len(crossed([(500.0, 3000.0), (500.0, -3000.0)]).crossings) == 1


def test_no_wire_no_crossing():
    assert crossed([(500.0, 1000.0), (500.0, 3000.0)]).crossings == ()


@pytest.mark.parametrize(
    ("course", "wire", "angle"),
    [((1, 0), (0, 5), 90), ((1, 0), (-3, 0), 0), ((1, 1), (1, 0), 45), ((2, 0), (-1, 1), 45)],
)
def test_the_angle_between_two_lines_is_at_most_a_right_angle(course, wire, angle):
    assert angle_between(np.array(course), np.array(wire)) == pytest.approx(angle)
