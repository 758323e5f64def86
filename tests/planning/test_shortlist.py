"""The kept points: every water in reach, apart from each other, and near the best of all points of a water."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from diproute.planning import screening
from diproute.planning.assessment import fly_sites, judge
from diproute.planning.screening import sweep
from diproute.planning.shortlist import Candidate, shortlist
from diproute.planning.travel_fields import solve_fields
from diproute.sites.candidates import dip_points, spread


@pytest.fixture(scope="module")
def kept(sample_fields):
    return shortlist(sample_fields).kept


def test_every_water_in_reach_keeps_a_point(sample_fields, kept):
    prepared = sample_fields.prepared
    reach = prepared.incident.search.radius_m
    names = {candidate.point.water.name for candidate in kept}
    assert names == {w.name for w in prepared.opened.waters if w.polygon.distance(shapely.Point(0, 0)) < reach}


def test_kept_points_of_a_water_are_apart(kept):
    for water in {candidate.point.water.id for candidate in kept}:
        xy = np.array([(c.point.x_m, c.point.y_m) for c in kept if c.point.water.id == water])
        away = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
        assert (away[~np.eye(len(xy), dtype=bool)] >= 300).all()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["Crown Lake", "Weir Reservoir"])
def test_kept_points_come_near_the_best_of_all(sample_fields, kept, name):
    """Points of the whole water, evenly taken, each judged in full; the search for legs is local and costs a little."""
    prepared = sample_fields.prepared
    (water,) = (water for water in prepared.opened.waters if water.name == name)
    limits, search = prepared.incident.limits, prepared.incident.search
    points = spread(water, prepared.ground, limits.shore_clearance_m, [(0.0, 0.0, search.radius_m)])
    count = len(sweep(prepared, [points]).x_m)
    some = [(i, "every point") for i in range(0, count, max(1, count // 25))]

    def best(candidates):
        sites = [judge(sample_fields, one) for one in fly_sites(sample_fields, candidates)]
        return max(site.sortie.litres_per_hour for site in sites if not site.refused)

    everywhere = best([Candidate(point, 1.0, None) for point in dip_points(points, some, prepared.ground.grid)])
    assert best([c for c in kept if c.point.water is water]) >= 0.96 * everywhere


def test_same_list_twice(small_prepared):
    fields = solve_fields(small_prepared, small_prepared.incident.weather)
    one, two = (shortlist(fields) for _ in range(2))
    assert [c.point for c in one.kept] == [c.point for c in two.kept]
    assert one.looked_at == two.looked_at > 100


@pytest.mark.parametrize("keep", [1, 3, 6])
def test_waters_that_cannot_make_the_list_change_nothing_in_it(sample_fields, kept, keep, monkeypatch):
    """Gates are looked at only while the bound of the next water lies above the list."""
    monkeypatch.setattr(screening, "AT_ONCE", 1)
    prepared = sample_fields.prepared
    search = replace(prepared.incident.search, keep=keep)
    few = replace(sample_fields, prepared=replace(prepared, incident=replace(prepared.incident, search=search)))
    found = shortlist(few)
    firsts = {}
    for candidate in kept:  # the best of every water first
        if np.isfinite(candidate.value):
            firsts.setdefault(candidate.point.water.id, candidate)
    wanted = sorted(firsts.values(), key=lambda one: -one.value)
    usable = [one for one in found.kept if np.isfinite(one.value)]
    assert [(one.point, one.value) for one in usable] == [(one.point, one.value) for one in wanted[:keep]]
    assert found.not_kept >= len(wanted) - keep > 0


def test_gates_of_waters_below_the_list_are_not_looked_at(sample_fields, monkeypatch):
    monkeypatch.setattr(screening, "AT_ONCE", 1)
    prepared = sample_fields.prepared
    circles = [(0.0, 0.0, prepared.incident.search.radius_m)]
    shore_m = prepared.incident.limits.shore_clearance_m
    reached = [spread(water, prepared.ground, shore_m, circles) for water in prepared.opened.waters]
    reached = [points for points in reached if len(points.x_m)]
    points, counts = sweep(prepared, reached), [len(some.x_m) for some in reached]
    asked = screening.Asked(np.ones(len(counts), bool), enough=1)
    value = screening.worth(sample_fields, points, counts, asked=asked)
    everything = screening.worth(sample_fields, points, counts)
    ends = np.cumsum(counts)[:-1]
    best = np.array([np.nanmax(part, initial=0.0) for part in np.split(everything, ends)])
    assert not asked.waters.all()
    assert asked.waters[np.argmax(best)]
    for part, whole, looked in zip(np.split(value, ends), np.split(everything, ends), asked.waters, strict=True):
        assert np.array_equal(part, whole, equal_nan=True) if looked else np.isnan(part).all()
    # what was left out was bounded below the best
    assert np.nanmax(screening.most_water(sample_fields, points)[np.repeat(~asked.waters, counts)]) < best.max()
