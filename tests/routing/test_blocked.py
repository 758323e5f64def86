"""An end of a leg inside an area that is flown over: refused below its ceiling, and the areas that refuse it named."""

from dataclasses import replace

import pytest
import shapely
from route_scene import PLAIN, flat

from diproute.records import AvoidArea, Finding
from diproute.routing.airspace import prepare
from diproute.routing.blocked import closed_cells, covering, under_ceiling

PEOPLE = Finding.of("area-said", text="people")
WITH_ERROR = replace(PLAIN, vertical_error_m=8.0)


def area(name, ceiling_m=None, hard=True, floor_m=None, box=(0, 0, 200, 200)):
    return AvoidArea(name, PEOPLE, hard, 2.0, shapely.box(*box), floor_m, ceiling_m)


def scene(*areas, rules=WITH_ERROR):
    return prepare(flat(60, 60, 20.0), areas, rules)


def names(found):
    return None if found is None else found.names


@pytest.mark.parametrize(("bottom_m", "shut"), [(150.0, ("Low",)), (157.9, ("Low",)), (158.0, None), (200.0, None)])
def test_an_end_is_clear_from_the_ceiling_and_the_error_on(bottom_m, shut):
    assert names(under_ceiling(scene(area("Low", 150.0)), 100.0, 100.0, bottom_m)) == shut


def test_beside_the_area_nothing_is_in_the_way_and_in_a_cell_that_it_touches_it_is():
    here = scene(area("Low", 150.0, box=(0, 0, 205, 200)))
    assert names(under_ceiling(here, 217.0, 100.0, 50.0)) == ("Low",)
    assert names(under_ceiling(here, 223.0, 100.0, 50.0)) is None
    assert names(under_ceiling(here, -3.0, 100.0, 50.0)) == ("Low",)  # the area touches its rim
    assert names(under_ceiling(here, -23.0, 100.0, 50.0)) is None


def test_of_several_the_higher_are_named():
    both = scene(area("Low", 150.0), area("High", 300.0), area("Far", 900.0, box=(-500, -500, -400, -400)))
    assert names(under_ceiling(both, 100.0, 100.0, 100.0)) == ("Low", "High")
    assert names(under_ceiling(both, 100.0, 100.0, 200.0)) == ("High",)
    assert names(under_ceiling(both, 100.0, 100.0, 158.0)) == ("High",)
    assert names(under_ceiling(both, 100.0, 100.0, 308.0)) is None


@pytest.mark.parametrize("x", [101, 118])
@pytest.mark.parametrize("y", [101, 118])
def test_what_lies_anywhere_in_the_cell_is_named_and_its_neighbours_are_not(x, y):
    around = [(80, 80, 99, 140), (121, 80, 140, 140), (80, 80, 140, 99), (80, 121, 140, 140)]
    beside = [area("Beside", 900.0, box=box) for box in around]
    small = area("Small", 150.0, box=(x, y, x + 1, y + 1))
    assert names(under_ceiling(scene(small, *beside), 110.0, 110.0, 50.0)) == ("Small",)


def test_an_open_ended_area_far_above_does_not_matter():
    both = scene(area("Sky", floor_m=900.0), area("Low", 150.0))
    assert names(under_ceiling(both, 100.0, 100.0, 50.0)) == ("Low",)


def test_an_area_that_only_costs_closes_no_end():
    assert under_ceiling(scene(area("Dear", 150.0, hard=False)), 100.0, 100.0, 50.0) is None
    mixed = scene(area("Dear", 500.0, hard=False), area("Low", 150.0))
    assert names(under_ceiling(mixed, 100.0, 100.0, 50.0)) == ("Low",)
    assert under_ceiling(mixed, 100.0, 100.0, 200.0) is None


def test_an_area_that_the_aircraft_passes_under_closes_no_end():
    """The floor of 53 m, 40 m hanging and the error once more stay below 101.1 m."""
    assert under_ceiling(scene(area("Sky", 500.0, floor_m=101.1)), 100.0, 100.0, 50.0) is None
    assert names(under_ceiling(scene(area("Sky", 500.0, floor_m=101.0)), 100.0, 100.0, 50.0)) == ("Sky",)


def test_an_area_without_a_ceiling_closes_its_cells_and_one_with_it_none():
    shut, over, sky = area("Camp"), area("Low", 150.0), area("Sky", floor_m=101.1)
    here = scene(shut, over, sky)
    closed = closed_cells(here, shut)
    assert closed[20:30, 30:40].all()
    assert not closed[:18].any()
    assert not closed[:, :28].any()
    assert not closed_cells(here, over).any()
    assert not closed_cells(here, sky).any()
    assert names(covering(here, 100.0, 100.0)) == ("Camp",)
    assert covering(scene(over, sky), 100.0, 100.0) is None
