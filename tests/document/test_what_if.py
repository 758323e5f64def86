"""The what-if grid in the document: small numbers, read back to equal, refused when it does not hang together."""

import json

import pytest
from outlook_fixture import full_plan

from diproute.document import Plan, plan_text


@pytest.fixture(scope="module")
def plan():
    return full_plan()


@pytest.fixture
def document(plan):
    return json.loads(plan_text(plan))


def test_the_grid_is_rounded_and_closed_nodes_are_null(plan, document):
    grid = document["what_if"]
    assert grid["wind_from_deg"] == [None, 0.0, 90.0]
    assert grid["wind_m_s"] == [0.0, 5.0, 15.0]
    assert grid["temperature_k"] == [298.0, 303.0]
    first, refused = grid["sites"]
    assert first["site"] == plan.sites[0].id
    assert first["litres_per_hour"] == [4012, 3999, None, 3500, 3500, None]
    assert first["fill"] == [0.85, 0.85, None, 0.85, 0.85, None]
    assert first["approach_deg"] == [0, 0, None, 0, 0, None]
    assert first["why"] == [None, None, 1, None, None, 1]
    assert refused["litres_per_hour"] == [None] * 6
    assert [grid["reasons"][i]["code"] for i in set(refused["why"])] == ["no-lift"]


def test_it_is_read_back_to_equal_what_was_written(plan):
    assert Plan.model_validate_json(plan_text(plan)) == plan


def test_a_plan_of_a_release_before_has_none(document):
    del document["what_if"]
    assert Plan.model_validate_json(json.dumps(document)).what_if is None


@pytest.mark.parametrize(
    "spoil",
    [
        lambda grid: grid["wind_m_s"].append(20.0),
        lambda grid: grid["temperature_k"].append(310.0),
        lambda grid: grid["sites"][0]["fill"].pop(),
        lambda grid: grid["sites"][0]["why"].__setitem__(2, 9),
        lambda grid: grid["sites"][0].__setitem__("site", "nowhere"),
        lambda grid: grid["sites"][0]["litres_per_hour"].__setitem__(0, -1),
    ],
)
def test_a_grid_that_does_not_hang_together_is_refused(document, spoil):
    spoil(document["what_if"])
    with pytest.raises(ValueError, match=r"what|site|fill|greater"):
        Plan.model_validate_json(json.dumps(document))
