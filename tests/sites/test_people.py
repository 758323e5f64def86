"""Which areas are taken to hold people, and how near to them a place may lie."""

import pytest
import shapely

from diproute.records import AvoidArea, Finding
from diproute.sites.people import holds_people, people_near


def area(name="Camp", text="", kind=None, hard=True, floor_m=None, shape=None):
    why = Finding.of("area-said", text=text) if kind is None else Finding.of("area-mapped", kind=kind, file="map")
    return AvoidArea(name, why, hard, 1.0, shape or shapely.box(0, 0, 10, 10), floor_m)


@pytest.mark.parametrize(
    ("keys", "people"),
    [
        ({}, True),  # nobody says why: taken for people
        ({"text": "houses"}, True),
        ({"text": "crew at work"}, True),
        ({"hard": False}, False),  # crossed at a price: no reason to keep people out of it
        ({"floor_m": 800.0}, False),  # nobody stands in the air
        ({"kind": "road"}, False),
        ({"kind": "railway"}, False),
        ({"kind": "residential"}, True),
        ({"text": "controlled airspace"}, False),
        ({"text": "Wires across the valley"}, False),
        ({"text": "power line"}, False),
        ({"name": "Runway 07"}, False),
        ({"name": "Danger area 4"}, False),
        ({"name": "Wireton", "text": "village"}, True),  # a word, not a part of one
    ],
)
def test_people_are_taken_to_be_where_nobody_says_otherwise(keys, people):
    assert holds_people(area(**keys)) == people


def test_the_nearest_is_named_with_its_distance():
    near, far = area("Near"), area("Far", shape=shapely.box(60, 0, 70, 10))
    found = people_near((far, near), 61.0, 40.0, 5.0)
    assert found.code == "people-near"
    assert found.values["away_m"] == pytest.approx(20.0)
    assert found.values["area"].values["name"] == "Far"
    found = people_near((far, near), 61.0, 34.0, 5.0)
    assert found.values["area"].values["name"] == "Near"


def test_just_at_the_distance_is_far_enough_and_within_an_area_is_none():
    one = (area(),)
    assert people_near(one, 60.96, 10.0 + 60.96, 5.0) is None
    assert people_near(one, 60.96, 10.0 + 60.95, 5.0).values["away_m"] == pytest.approx(60.95)
    assert people_near(one, 60.96, 5.0, 5.0).values["away_m"] == 0.0
    assert people_near((area(kind="road"),), 60.96, 5.0, 5.0) is None
    assert people_near((), 60.96, 5.0, 5.0) is None
