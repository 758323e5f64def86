"""The list of what is not known, and the table of layers with their age."""

import re
from datetime import timedelta

import pytest
from composed import changed, full, plain

from diproute.writing.map import sources
from diproute.writing.map.unknowns import unknowns


def listed(plan):
    return [(one.of, one.what) for one in unknowns(plan)]


def test_what_is_not_known_is_listed_with_its_place():
    plan = plain()
    found = unknowns(plan)
    assert ("layer", "water.gpkg: how current it is") in listed(plan)
    assert ("layer", "vertical error of the elevation") in listed(plan)
    wire = next(one for one in found if one.of.startswith("power line"))
    assert wire.what == "height (assumed 148 ft)"
    assert wire.at[0] == pytest.approx(42.08, abs=0.05)
    tower = next(one for one in found if one.of == "tower")
    assert "not verified" in tower.what
    bay = next(one for one in found if one.of == "North bay")
    assert bay.what == "level and depth"
    for number, site in enumerate(plan.sites):
        mine = [one for one in found if one.site == number]
        assert {one.at for one in mine} == {(site.lat, site.lon)}
        assert "depth at the dip point" in {one.what for one in mine}


def test_what_becomes_known_leaves_the_list():
    plan = plain()
    site = changed(plan.sites[0], depth_m=9.0)
    better = changed(plan, sites=(site, *plan.sites[1:]), layers=(changed(plan.layers[2], current="2026-08-01"),))
    gone = set(listed(plan)) - set(listed(better))
    assert ("layer", "water.gpkg: how current it is") in gone
    assert (site.name, "depth at the dip point") in gone


def test_a_leg_over_unknown_ground_is_listed():
    plan = full()
    leg = changed(plan.sites[0].routes[0], under_known=False, slope_known=False)
    found = listed(changed(plan, sites=(changed(plan.sites[0], routes=(leg,)), *plan.sites[1:])))
    assert (plan.sites[0].name, "what is under the load everywhere on the loaded leg") in found
    assert (plan.sites[0].name, "how steep the loaded leg is") in found


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "0 days"), (1, "1 day"), (59, "59 days"), (61, "2 months"), (400, "13 months"), (1905, "5 years")],
)
def test_the_age_of_a_layer_counts_from_the_plan(days, words):
    plan = plain()
    day = plan.when.date() - timedelta(days=days)
    assert sources.age(f"{day}", plan) == words
    assert sources.age(f"{day}T00:00:00+00:00", plan) == words


@pytest.mark.parametrize("current", [None, "", "last year", "2026-13-45", "20260801"])
def test_a_date_that_cannot_be_read_has_no_age(current):
    assert sources.age(current, plain()) == "not known"


def test_a_later_date_is_said_to_be_later():
    assert sources.age("2027-01-01", plain()) == "dated later than the plan"


def test_every_layer_has_a_row_and_what_it_does_not_state_says_so():
    plan = plain()
    rows = re.findall(r"<tr>.*?</tr>", sources.table(plan))[1:]
    assert len(rows) == len(plan.layers)
    assert "2021-05-01" in rows[0]
    assert "5 years" in rows[0]
    assert "CC0-1.0" in rows[0]
    assert '<td class="unknown">not stated</td><td class="unknown">not known</td>' in rows[2]
    assert "10 ft" in rows[1]  # 3 m, rounded
