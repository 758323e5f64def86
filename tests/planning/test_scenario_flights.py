"""Legs flown again in other weather: the same one in the same, the same end of a line, another way where it must be."""

import numpy as np
import pytest
from leg_scene import FLYING, HANGING_M, Scene
from route_scene import CALM, flat, make_ground

from diproute.planning.scenario_flights import _flown
from diproute.records import Wind
from diproute.routing.choice import choose
from diproute.routing.flight import Anew, Flight
from diproute.routing.flown import fly
from diproute.routing.leg import make_leg

DROPS = ((-1500.0, 0.0), (1500.0, 0.0))
BREEZE = Wind((0.0,), (250.0,), (6.0,))


def again(ground, dip, wind, towards=True):
    """The leg to one of two points, in a calm and in another wind."""
    scene, other = Scene(ground, DROPS, towards=towards), Scene(ground, DROPS, wind=wind, towards=towards)
    x, y = np.array([dip[0]]), np.array([dip[1]])
    near, windy = (one.gates(x, y, one.top(x, y), "dip", departure=towards) for one in (scene, other))
    (first, *_) = fly(scene.field, near, choose(scene.field, near), 0)
    return scene, first, _flown(scene.field, first, Anew.of(scene.airspace, FLYING, wind), windy, other.far)


@pytest.mark.parametrize(("dip", "point"), [((-4500.0, 300.0), 0), ((4500.0, 300.0), 1)])
def test_the_leg_goes_to_the_same_point_of_a_line(dip, point):
    scene, first, flight = again(flat(500, 500, 20.0), dip, BREEZE)
    assert first.far == flight.far == point
    leg = make_leg(scene.airspace, flight, HANGING_M, "Head", "loaded")
    assert (leg.x_m[-1], leg.y_m[-1]) == pytest.approx(DROPS[point])
    assert flight.wind == BREEZE
    assert flight.seconds != pytest.approx(first.seconds, rel=1e-3)


def test_in_the_same_wind_it_is_the_same_flight():
    _, first, flight = again(flat(400, 400, 20.0), (3500.0, 300.0), CALM)
    assert flight is first


@pytest.mark.parametrize("from_deg", [60.0, 150.0, 240.0, 330.0])
def test_a_wind_from_any_side_leaves_a_leg_over_a_ridge(from_deg):
    top = np.zeros((500, 500))
    top[230:270, 300:305] = 350.0
    _, _, flight = again(make_ground(top, 20.0), (3800.0, 200.0), Wind((0.0,), (from_deg,), (7.0,)))
    assert isinstance(flight, Flight)
