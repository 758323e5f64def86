"""One-way circuits: the empty leg keeps away from the loaded one where it can, and says where it cannot."""

import numpy as np
import pytest
import shapely
from leg_scene import HANGING_M, Scene
from route_scene import flat, make_ground

from diproute.routing.airspace import prepare, priced
from diproute.routing.choice import choose
from diproute.routing.flown import fly
from diproute.routing.leg import make_leg
from diproute.routing.separation import apart_from, told_apart
from diproute.wording import Reader, say

DROP, DIP = (3000.0, 0.0), (-3000.0, 0.0)


def both(ground, apart_m=400.0):
    (loaded,) = Scene(ground, (DROP,)).fly(DIP)
    scene = Scene(ground, (DROP,), towards=False)
    x, y = np.array([DIP[0]]), np.array([DIP[1]])
    near = scene.gates(x, y, scene.top(x, y), "dip", departure=False)
    field = apart_from(scene.field, loaded, apart_m)
    (first, *_) = fly(field, near, choose(scene.field, near), 0)
    empty = make_leg(field.airspace, first, HANGING_M, "Head", "empty")
    return loaded, told_apart(empty, loaded, apart_m)


def test_the_empty_leg_keeps_its_distance():
    loaded, empty = both(flat(400, 400, 20.0))
    assert (empty.x_m[0], empty.x_m[-1]) == pytest.approx((3000.0, -3000.0))
    path = shapely.LineString(np.column_stack([loaded.x_m, loaded.y_m]))
    middle = np.abs(empty.x_m) < 1500.0
    gap = shapely.distance(shapely.points(empty.x_m[middle], empty.y_m[middle]), path)
    assert gap.min() >= 400.0 * 0.9
    assert empty.length_m < 7000.0


def test_a_gap_too_narrow_for_two_is_said():
    top = np.full((400, 400), np.nan)
    top[190:210] = 0.0  # a corridor 400 m wide in unknown ground
    _, empty = both(make_ground(top, 20.0))
    found = [found for found in empty.cautions if found.code == "legs-close"]
    assert len(found) == 1
    told = say(found[0], Reader("metric"))
    assert told.endswith("km of the empty leg come closer than 400 m to the other one: no one-way circuit there")


def test_a_price_leaves_dearer_areas_dearer():
    from route_scene import PLAIN

    airspace = prepare(flat(40, 40, 20.0), (), PLAIN)
    twice = priced(
        priced(airspace, [shapely.box(-100, -100, 100, 100)], lambda _: 5.0),
        [shapely.box(-200, -200, 200, 200)],
        lambda _: 3.0,
    )
    assert twice.costs == (1.0, 3.0, 5.0)
    assert np.array(twice.costs)[twice.fine.cost][20, [5, 12, 20]].tolist() == [1.0, 3.0, 5.0]
