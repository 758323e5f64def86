"""The what-if grid: the plan's own numbers in its own weather, and never open where the slow full answer is closed."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from diproute.planning.assessment import fly_kept, judge
from diproute.planning.later import fly_later
from diproute.planning.ranking import ordered
from diproute.planning.scenario_flights import fly_scenarios
from diproute.planning.scenarios import work_scenarios
from diproute.planning.sensitivity import work_cases
from diproute.planning.shortlist import shortlist
from diproute.planning.travel_fields import solve_fields
from diproute.planning.what_if import grid_winds, what_if, with_temperature

SAMPLED = (0, 3, 14, 21, 26, 36, 43, 52, 57, 66, 75)  # winds of the grid that the slow answer is asked for


@pytest.fixture(scope="module")
def worked(prepared_of):
    """The small incident in a wind that is a node of the grid, with everything that the grid is made from."""
    prepared = prepared_of({"weather.wind": "270 deg 12 kt"})
    fields = solve_fields(prepared, prepared.incident.weather)
    flown = fly_kept(fields, shortlist(fields).kept)
    judged = [judge(fields, one) for one in flown]
    sites, order = ordered(judged, work_cases(fields, judged, flown))
    flown = fly_later(fields, [flown[i] for i in order])
    return SimpleNamespace(fields=fields, sites=sites, flown=flown, grid=what_if(fields, sites, flown))


def by_node(grid, site):
    return site.litres_per_hour.reshape(len(grid.temperature_k), len(grid.wind_m_s))


def test_the_nodes(worked):
    grid, incident = worked.grid, worked.fields.prepared.incident
    assert grid.wind_from_deg[0] is None
    assert grid.wind_m_s[0] == 0.0
    assert len(grid.wind_m_s) == len(grid.wind_from_deg) == 1 + 16 * 5
    assert max(grid.wind_m_s) == pytest.approx(incident.most_wind_m_s)
    assert len(set(zip(grid.wind_from_deg, grid.wind_m_s, strict=True))) == 81
    assert len(grid.temperature_k) == 6
    assert incident.weather.air.temperature_k in grid.temperature_k
    assert list(grid.temperature_k) == sorted(grid.temperature_k)


def test_the_plan_s_own_weather_gives_the_plan_s_own_numbers(worked):
    grid, weather = worked.grid, worked.fields.weather
    t = grid.temperature_k.index(weather.air.temperature_k)
    (w,) = (
        w
        for w, (deg, speed) in enumerate(zip(grid.wind_from_deg, grid.wind_m_s, strict=True))
        if deg == weather.wind.from_deg[0] and math.isclose(speed, weather.wind.speed_m_s[0])
    )
    node = t * len(grid.wind_m_s) + w
    compared = 0
    for one in grid.sites:
        site = worked.sites[one.site]
        if site.rank is None:
            assert math.isnan(one.litres_per_hour[node])
            continue
        compared += 1
        assert one.litres_per_hour[node] == pytest.approx(site.sortie.litres_per_hour, rel=1e-6)
        assert one.fill[node] == site.load.fill
        assert one.line_m[node] == site.line.length_m
        arrival, departure = site.approach.pair
        assert (one.approach_deg[node], one.departure_deg[node]) == (arrival.course_deg, departure.course_deg)
    assert compared > 0


def test_no_node_is_open_where_the_slow_answer_is_closed(worked):
    """And where both are open the water an hour agrees: within 6 % in the middle, 20 % in nine of ten."""
    grid, fields, winds = worked.grid, worked.fields, grid_winds(worked.fields)
    rows = [one.site for one in grid.sites]
    some, flown = [worked.sites[i] for i in rows], [worked.flown[i] for i in rows]
    ratios, slow_open = [], 0
    for w in SAMPLED:
        slow = fly_scenarios(fields, flown, [replace(fields.weather, wind=winds[w])])
        for t in (1, 2, 4):
            air = with_temperature(fields.weather.air, grid.temperature_k[t])
            rate = work_scenarios(fields.prepared, some, [air], slow.flights).litres_per_hour[:, 0]
            here = np.array([by_node(grid, one)[t, w] for one in grid.sites])
            assert not (np.isfinite(here) & np.isnan(rate)).any(), (w, t)
            slow_open += int(np.isfinite(rate).sum())
            both = np.isfinite(here) & np.isfinite(rate)
            ratios += list(here[both] / rate[both])
    assert len(ratios) > 0.8 * slow_open
    assert abs(np.median(ratios) - 1.0) < 0.06
    assert np.mean(np.abs(np.array(ratios) - 1.0) < 0.2) >= 0.9


def test_hotter_never_brings_more(worked):
    for one in worked.grid.sites:
        rate = by_node(worked.grid, one)
        assert (np.isnan(rate[1:]) | (rate[1:] <= rate[:-1] + 1e-6)).all()


def test_a_closed_node_has_a_reason_and_an_open_one_has_all_its_numbers(worked):
    closed = opened = 0
    for one in worked.grid.sites:
        for node, why in enumerate(one.why):
            told = [
                row[node] for row in (one.litres_per_hour, one.fill, one.line_m, one.approach_deg, one.departure_deg)
            ]
            if why < 0:
                opened += 1
                assert not np.isnan(told).any()
            else:
                closed += 1
                assert np.isnan(told).all()
                assert worked.grid.reasons[why].code
    assert closed > 0
    assert opened > 0


def test_no_course_takes_more_tailwind_than_the_limit(worked):
    grid, limits = worked.grid, worked.fields.prepared.incident.limits
    from_deg = np.array([0.0 if deg is None else deg for deg in grid.wind_from_deg] * 6)
    speed = np.array(grid.wind_m_s * 6)
    for one in grid.sites:
        for course in (one.approach_deg, one.departure_deg):
            known = np.isfinite(course)
            tail = -speed[known] * np.cos(np.radians(course[known] - from_deg[known]))
            across = speed[known] * np.abs(np.sin(np.radians(course[known] - from_deg[known])))
            assert tail.max() <= limits.tailwind_m_s + 1e-6
            assert across.max() <= limits.crosswind_m_s + 1e-6


def test_a_site_that_the_wind_closes_is_asked_for_in_a_calm(prepared_of):
    """In a wind that closes everything the grid still says what a calm brings."""
    prepared = prepared_of({"weather.wind": "270 deg 40 kt"})
    fields = solve_fields(prepared, prepared.incident.weather)
    flown = fly_kept(fields, shortlist(fields).kept)
    sites = [judge(fields, one) for one in flown]
    assert all(site.refused for site in sites)
    grid = what_if(fields, sites, flown)
    assert grid is not None
    assert any(np.isfinite(by_node(grid, one)[:, 0]).any() for one in grid.sites)


def test_no_site_that_weather_changes_no_grid(worked):
    refused = [replace(site, refused=(*site.refused, site.cautions[0])) for site in worked.sites]
    assert what_if(worked.fields, refused, worked.flown) is None
