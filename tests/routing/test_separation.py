"""One-way circuits: the empty leg keeps away from the loaded one where it can, and says where it cannot."""

import numpy as np
import pytest
import shapely
from route_scene import CALM, PLAIN, flat, make_ground

from diproute.routing.airspace import prepare, priced
from diproute.routing.leg import fly_legs
from diproute.routing.separation import separated_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve
from diproute.wording import Reader, say

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=4.0, descent_m_s=3.0)
SITE = Ask(-3000.0, 0.0, 45.0, 30.0)


def both(ground, separation_m=400.0):
    airspace = prepare(ground, (), PLAIN)
    drop = Sources.of(3000.0, 0.0, 45.0)
    out = solve(airspace, FLYING, CALM, drop, towards=True)
    back = solve(airspace, FLYING, CALM, drop, towards=False)
    (loaded,) = fly_legs(out, [SITE], "Head", "loaded")
    (empty,) = separated_legs(back, [SITE], [loaded], separation_m, "Head", "empty")
    return loaded, empty


def test_the_empty_leg_keeps_its_distance():
    loaded, empty = both(flat(400, 400, 20.0))
    assert (empty.x_m[0], empty.x_m[-1]) == pytest.approx((3000.0, -3000.0))
    path = shapely.LineString(np.column_stack([loaded.x_m, loaded.y_m]))
    middle = np.abs(empty.x_m) < 2000.0
    gap = shapely.distance(shapely.points(empty.x_m[middle], empty.y_m[middle]), path)
    assert gap.min() >= 400.0 * 0.95
    assert loaded.length_m == pytest.approx(6000.0, abs=1.0)
    assert empty.length_m < 6600.0
    assert empty.seconds == pytest.approx(empty.length_m / 40.0)  # the price is no time
    assert not empty.cautions


def test_a_gap_too_narrow_for_two_is_said():
    top = np.full((400, 400), np.nan)
    top[190:210] = 0.0  # a corridor 400 m wide in unknown ground
    _, empty = both(make_ground(top, 20.0))
    assert [c.code for c in empty.cautions] == ["legs-close"]
    told = say(empty.cautions[0], Reader("metric"))
    assert told.endswith("km of the empty leg come closer than 400 m to the other one: no one-way circuit there")


def test_a_price_leaves_dearer_areas_dearer():
    airspace = prepare(flat(40, 40, 20.0), (), PLAIN)
    twice = priced(
        priced(airspace, [shapely.box(-100, -100, 100, 100)], lambda _: 5.0),
        [shapely.box(-200, -200, 200, 200)],
        lambda _: 3.0,
    )
    assert twice.costs == (1.0, 3.0, 5.0)
    assert np.array(twice.costs)[twice.fine.cost][20, [5, 12, 20]].tolist() == [1.0, 3.0, 5.0]
