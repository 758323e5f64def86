"""What a leg says of itself, in its reader's units."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from route_scene import CALM, PLAIN, flat, make_ground

from diproute.records import AvoidArea, Finding, Wind
from diproute.routing.airspace import prepare
from diproute.routing.leg import fly_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve
from diproute.wording import Reader, say

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=3.0, descent_m_s=2.5)
METRIC, US = Reader("metric"), Reader("us")


def flown(ground=None, avoid=(), wind=CALM, site_m=45.0, drop_m=45.0):
    airspace = prepare(flat(300, 300, 20.0) if ground is None else ground, avoid, PLAIN)
    field = solve(airspace, FLYING, wind, Sources.of(1000.0, 0.0, drop_m), towards=True)
    (leg,) = fly_legs(field, [Ask(-1000.0, 0.0, site_m, 30.0)], "Head", "loaded")
    return leg


def test_a_climb_or_descent_in_turns_says_where_and_how_long():
    (said,) = flown(site_m=-255.0).cautions  # 300 m below the floor that begins at the site itself
    assert (
        say(said, METRIC)
        == "the loaded leg to Head climbs 300 m in turns at the start, 1 min 40 s on top of its own way"
    )
    assert say(said, US).startswith("the loaded leg to Head climbs 984 ft in turns at the start, ")
    (up,) = flown(drop_m=345.0).cautions  # 300 m up take 100 s, the way 50 s
    assert say(up, METRIC) == "the loaded leg to Head climbs 150 m in turns at the end, 50 s on top of its own way"
    (down,) = flown(site_m=345.0).cautions
    assert (
        say(down, METRIC)
        == "the loaded leg to Head descends 175 m in turns at the end, 1 min 10 s on top of its own way"
    )


def test_a_wait_on_the_way_says_how_far_along():
    told = Finding.of(
        "climb-in-turn", leg="empty", to=None, back="Head", height_m=30.0, end=None, along_m=2300.0, wait_s=9.0
    )
    assert say(told, METRIC) == "the empty leg from Head climbs 30 m in turns 2.3 km along, 9 s on top of its own way"


def test_a_wind_table_that_ends_below_the_leg_is_said():
    leg = flown(wind=Wind((0.0, 50.0), (240.0, 240.0), (3.0, 5.0)))
    assert [say(c, METRIC) for c in leg.cautions] == [
        "flown between 75 m and 75 m, the wind is known from 0 m to 50 m only and held beyond"
    ]
    assert flown(wind=Wind((0.0, 80.0), (240.0, 240.0), (3.0, 5.0))).cautions == ()


def test_an_area_that_costs_extra_is_said_where_it_is_crossed():
    people = Finding.of("area-said", text="people")
    box = shapely.box(-300, -4000, 300, 4000)
    leg = flown(avoid=(AvoidArea("Camp", people, False, 2.0, box),))
    assert [say(c) for c in leg.cautions] == ["crosses Camp: people"]
    above = AvoidArea("Airspace", people, False, 2.0, box, floor_m=200.0)
    assert flown(avoid=(above,)).cautions == ()


def test_an_area_narrower_than_a_cell_is_not_flown_through_unseen():
    """Between two places of the leg, 20 m apart."""
    people = Finding.of("area-said", text="people")
    wall = shapely.box(205, -4000, 210, 4000)
    leg = flown(avoid=(AvoidArea("Camp", people, False, 2.0, wall),))
    assert [say(c) for c in leg.cautions] == ["crosses Camp: people"]
    above = AvoidArea("Airspace", people, True, 1.0, wall, floor_m=150.0)
    assert flown(avoid=(above,)).highest_m < 150.0
    assert flown(avoid=(above,), drop_m=345.0).names == ("Airspace",)  # the climb to the drop leads through it
    low = replace(above, ceiling_m=160.0)
    over = flown(avoid=(low,), site_m=345.0, drop_m=345.0)  # all the way above it
    assert (over.altitude_m - over.hanging_m).min() > 160.0


def test_several_areas_in_the_way_are_all_named():
    def ring(inner, outer):
        return shapely.Point(1000, 0).buffer(outer).difference(shapely.Point(1000, 0).buffer(inner))

    areas = tuple(
        AvoidArea(name, Finding.of("area-said", text=why), True, 1.0, shape)
        for name, why, shape in (("Camp", "people", ring(300, 500)), ("School", "children", ring(700, 900)))
    )
    blocked = flown(avoid=areas)
    assert blocked.names == ("Camp", "School")
    assert say(blocked.why) == "no way that keeps a slung load clear of Camp (people), School (children)"


def test_a_wind_too_strong_at_the_height_flown_only_is_told_as_that():
    told = say(Finding.of("blocked-wind", share=None))
    assert told == "at the height flown the wind leaves no way over the ground"


@pytest.mark.parametrize("workers", [2, 3])
def test_the_legs_do_not_hang_on_the_number_of_threads(workers):
    rng = np.random.default_rng(1)
    airspace = prepare(make_ground(rng.uniform(0, 60, (200, 200)), 20.0), (), PLAIN)
    field = solve(airspace, FLYING, CALM, Sources.of(1000.0, 0.0, 120.0), towards=True)
    asks = [Ask(float(x), float(y), 120.0, 30.0) for x, y in rng.uniform(-1500, 1500, (8, 2))]
    alone = fly_legs(field, asks, "Head", "loaded", workers=1)
    for one, other in zip(alone, fly_legs(field, asks, "Head", "loaded", workers=workers), strict=True):
        np.testing.assert_array_equal(one.time_s, other.time_s)
        np.testing.assert_array_equal(one.x_m, other.x_m)
