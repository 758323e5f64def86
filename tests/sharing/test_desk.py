"""A plan's sites become records: nothing safer than the plan says, and unknown stays unknown."""

from datetime import timedelta

import pytest
from plan_fixture import make_plan
from said import NOW

from diproute.sharing.desk import desk_records
from diproute.sharing.record import Who
from diproute.sharing.seal import read_record


@pytest.fixture(scope="module")
def plan():
    return make_plan()


@pytest.fixture(scope="module")
def made(plan):
    return desk_records(plan, Who(agency="North District", by="R. Doe"), NOW, NOW + timedelta(days=200))


def test_every_site_has_its_record(plan, made):
    assert [one.record.properties.name for one in made] == [site.name for site in plan.sites]
    assert len({one.id for one in made}) == len(plan.sites)
    for one in made:
        assert read_record(one.body) == one
        assert not one.record.first_hand
        assert one.record.properties.seen is None
        assert one.record.properties.invented == plan.invented


def test_numbers_are_rounded_to_the_safe_side(plan, made):
    for site, one in zip(plan.sites, made, strict=True):
        computed = one.record.properties.computed
        assert computed.level_low_dm <= site.level_low_m * 10 + 1e-5
        assert computed.level_high_dm >= site.elevation_m * 10 - 1e-5
        assert (computed.depth_dm is None) == (site.depth_m is None)
        if site.depth_m is not None:
            assert 0 <= site.depth_m * 10 - computed.depth_dm < 1 + 1e-5
        if site.line.needed_m is not None:
            assert 0 <= computed.line_needed_dm - site.line.needed_m * 10 + 1e-5 < 1 + 2e-5
        assert (computed.air.density_altitude_dm is None) == (site.density_altitude_m is None)
        if site.density_altitude_m is not None:
            assert computed.air.density_altitude_dm >= site.density_altitude_m * 10 - 1e-5


def test_a_course_over_unknown_ground_has_no_lift(plan, made):
    unknown = 0
    for site, one in zip(plan.sites, made, strict=True):
        climb = one.record.properties.computed.climb
        outward = {round(direction.course_deg * 10): direction for direction in site.directions}
        for course, approach, departure in zip(climb.courses_ddeg, climb.approach_dm, climb.departure_dm, strict=True):
            if not outward[course].known:
                assert departure is None
                unknown += 1
            if not outward[(course + 1800) % 3600].known:
                assert approach is None
            if departure is not None:
                assert departure >= outward[course].departure_lift_m * 10 - 1e-5
            if approach is not None:
                assert approach >= outward[course].arrival_lift_m * 10 - 1e-5
    assert unknown > 0


def test_obstacles_and_layers_are_named(plan, made):
    for site, one in zip(plan.sites, made, strict=True):
        computed = one.record.properties.computed
        named = {thing.what for thing in site.things if thing.obstacle is not None}
        assert named <= {hazard.what for hazard in computed.hazards}
        assert [source.file for source in computed.sources] == [layer.file for layer in plan.layers]
        assert computed.run == plan.run


def test_a_name_of_a_layer_that_is_no_name_is_made_plain(plan):
    spoilt = plan.model_copy(
        update={"sites": (plan.sites[0].model_copy(update={"name": "<b>Lake</b>\n", "water": " "}),)}
    )
    (one,) = desk_records(spoilt, Who(agency="N", by="R"), NOW, NOW + timedelta(days=1))
    assert "<" not in one.record.properties.name
    assert one.record.properties.water.name == "no name"
