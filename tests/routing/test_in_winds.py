"""A leg in many winds: its own flight in its own wind, in every other one what the law of flight says of its paths."""

from dataclasses import replace

import numpy as np
import pytest
from leg_scene import FLYING, Scene
from route_scene import CALM, flat, make_ground

from diproute.records import Wind
from diproute.routing.choice import choose
from diproute.routing.flight import Anew
from diproute.routing.flown import fly, fly_again
from diproute.routing.heights_kernel import ANSWERS, FLYABLE, ORBITS_DOWN, ORBITS_UP, PRICE, WHOLE
from diproute.routing.in_winds import EndInWinds, InWinds, fly_in_winds
from diproute.routing.refine_kernel import CLOSE_M, cost
from diproute.routing.refine_kernel import Scene as Kernels
from diproute.routing.scene import end_of, own_work
from diproute.routing.winds_kernel import Timed, Winds, time_path

WINDS = (CALM, *(Wind((0.0,), (deg,), (speed,)) for speed in (4.0, 9.0) for deg in (0.0, 90.0, 180.0, 270.0)))
AT = (3500.0, 300.0)


def ridge():
    top = np.zeros((500, 500))
    top[230:270, 300:305] = 250.0
    return make_ground(top, 20.0)


class Grid:
    """A leg over a ground with its gates in every wind."""

    def __init__(self, ground, winds=WINDS, own=CALM):
        x, y = np.array([AT[0]]), np.array([AT[1]])
        scenes = [Scene(ground, wind=wind) for wind in winds]
        first = Scene(ground, wind=own)
        near = first.gates(x, y, first.top(x, y), "dip", departure=True)
        (self.flight, *_) = fly(first.field, near, choose(first.field, near), 0)
        self.ends = (
            EndInWinds([one.gates(x, y, one.top(x, y), "dip", departure=True) for one in scenes], 0),
            EndInWinds([one.far for one in scenes], 0),
        )
        self.anews = [Anew.of(first.airspace, FLYING, wind) for wind in winds]
        self.winds = InWinds.of(self.anews)
        self.found = fly_in_winds(self.flight, self.winds, self.ends, np.ones(len(winds), np.bool_))


@pytest.fixture(scope="module")
def over_a_ridge():
    return Grid(ridge())


def test_in_its_own_wind_it_is_the_flight_itself(over_a_ridge):
    found, flight = over_a_ridge.found, over_a_ridge.flight
    assert (found.seconds[0], found.transit_s[0]) == (flight.seconds, flight.transit_s)
    assert (found.lift_m[0], found.lower_m[0]) == (flight.lift_m, flight.lower_m)
    assert (found.departure_deg[0], found.arrival_deg[0]) == (flight.departure_deg, flight.arrival_deg)


def test_its_times_are_near_those_of_the_leg_flown_anew(over_a_ridge):
    one = over_a_ridge
    assert one.found.flown.all()
    for w, anew in enumerate(one.anews):
        again = fly_again(one.flight, anew, one.ends[0].at(w), one.ends[1].at(w))
        assert one.found.seconds[w] == pytest.approx(again.seconds, rel=0.15)


def test_no_leg_is_quicker_than_straight_with_all_the_wind_behind(over_a_ridge):
    away = np.hypot(*AT)
    for wind, transit_s in zip(WINDS, over_a_ridge.found.transit_s, strict=True):
        assert transit_s >= away / (FLYING.airspeed_m_s + wind.speed_m_s[0])


def test_every_course_is_open_in_its_wind(over_a_ridge):
    one = over_a_ridge
    for w in range(len(WINDS)):
        for end, course in zip(one.ends, (one.found.departure_deg[w], one.found.arrival_deg[w] + 180.0), strict=True):
            gates = end.gates[w]
            (d,) = np.flatnonzero(np.abs((gates.bearing_deg - course + 180.0) % 360.0 - 180.0) < 1e-6)
            assert (gates.speed_m_s[0, d] > 0).any()


def test_a_wind_that_opens_no_gate_of_an_end_has_no_leg():
    one = Grid(flat(400, 400, 20.0), WINDS[:3])
    shut = replace(one.ends[1].gates[1], speed_m_s=np.zeros_like(one.ends[1].gates[1].speed_m_s))
    ends = one.ends[0], EndInWinds([one.ends[1].gates[0], shut, one.ends[1].gates[2]], 0)
    found = fly_in_winds(one.flight, one.winds, ends, np.ones(3, np.bool_))
    assert found.flown.tolist() == [True, False, True]
    assert np.isnan([found.lift_m[1], found.lower_m[1], found.departure_deg[1], found.transit_s[1]]).all()


def test_what_is_not_asked_is_not_answered():
    one = Grid(flat(400, 400, 20.0), WINDS[:3])
    asked = np.array([True, False, True])
    assert fly_in_winds(one.flight, one.winds, one.ends, asked).flown.tolist() == asked.tolist()


def test_the_kernel_and_its_plain_twin_agree(over_a_ridge):
    """The twin holds the path against the law wind by wind."""
    one = over_a_ridge
    leg, corners, count = one.flight.search, one.flight.corners, len(WINDS)
    g = leg.gate
    speed = np.stack(
        [[end.gates[w].speed_m_s[0, g[2 * e], g[2 * e + 1]] for w in range(count)] for e, end in enumerate(one.ends)],
        axis=-1,
    )
    asked = np.flatnonzero((speed > 0).all(axis=1))
    most = np.full(count, 2.0 * one.flight.seconds)
    found = Timed(np.full(count, np.inf), np.full(count, np.inf), np.full(count, -1, np.int64))
    ends = [end_of(end.at(0), 0) for end in one.ends]
    anew = one.anews[0]
    air = anew.air._replace(east=np.zeros(1), north=np.zeros(1))
    scene = Kernels(*ends, anew.craft, air, anew.land)
    winds = Winds(asked, one.winds.east, one.winds.north, speed, most, one.winds.craft)
    time_path((7, leg, corners), winds, one.winds.crafts, scene, own_work(), np.zeros(ANSWERS), found)
    assert len(asked) > 3
    for w in range(count):
        if w not in asked:
            assert found.path[w] == -1
            continue
        now, out = one.anews[w], np.zeros(ANSWERS)
        here = Kernels(*(end_of(end.at(w), 0) for end in one.ends), now.craft, now.air, now.land)
        seconds = cost(leg, corners, here, CLOSE_M, np.int64(WHOLE), np.inf, own_work(), out)
        good = out[FLYABLE] > 0 and min(out[ORBITS_UP], out[ORBITS_DOWN]) == 0 and seconds - out[PRICE] <= most[w]
        assert (found.path[w] == 7) == good
        if good:
            assert found.seconds[w] == pytest.approx(seconds, rel=1e-9)
