"""Exact times and lowest profiles against hand calculation and a linear programme."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from route_scene import CALM, PLAIN, USUAL, flat, make_ground
from scipy.optimize import linprog

from diproute.routing.airspace import prepare
from diproute.routing.profile import NearEnd, Track, cut, fly_way, lowest, relieved
from diproute.routing.speed_model import Flying

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=3.0, descent_m_s=2.0)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**31), pieces=st.integers(1, 12))
def test_time_and_profile_are_those_of_a_linear_programme(seed, pieces):
    rng = np.random.default_rng(seed)
    floor, took = rng.uniform(0, 120, pieces), rng.uniform(1, 20, pieces)
    start, end = rng.uniform(0, 120, 2)
    needed, bottom, time, wait = lowest(floor, took, start, end, FLYING)
    n = needed.size
    step = np.concatenate([[0.0], took, [0.0]])
    # unknowns: heights z (n), times t (n). Least t[-1] with z above the floor and both rates kept.
    rows, right = [], []

    def add(**terms):
        row = np.zeros(2 * n)
        for name, value in terms.items():
            if name != "le":
                row[int(name[1:]) + (n if name[0] == "t" else 0)] += value
        rows.append(row)
        right.append(terms["le"])

    for i in range(1, n):
        add(**{f"t{i - 1}": 1.0, f"t{i}": -1.0, "le": -step[i - 1]})
        add(**{f"z{i}": 1.0, f"z{i - 1}": -1.0, f"t{i}": -3.0, f"t{i - 1}": 3.0, "le": 0.0})
        add(**{f"z{i}": -1.0, f"z{i - 1}": 1.0, f"t{i}": -2.0, f"t{i - 1}": 2.0, "le": 0.0})
    bounds = [(start, start), *[(f, None) for f in needed[1:-1]], (end, end), (0.0, 0.0), *[(0.0, None)] * (n - 1)]
    cost = np.zeros(2 * n)
    cost[-1] = 1.0
    best = linprog(cost, A_ub=np.array(rows), b_ub=right, bounds=bounds)
    assert best.status == 0
    assert time[-1] == pytest.approx(best.fun, rel=1e-6, abs=1e-6)
    # at those times no profile lies lower at any place
    fixed = [*bounds[:n], *[(t, t) for t in time]]
    low = linprog(np.concatenate([np.ones(n), np.zeros(n)]), A_ub=np.array(rows), b_ub=np.array(right) + 1e-7,
                  bounds=fixed)  # fmt: skip
    assert low.status == 0
    assert bottom == pytest.approx(low.x[:n], abs=1e-3)
    assert (wait >= 0).all()
    assert time[-1] == pytest.approx(took.sum() + wait.sum())


def test_a_way_is_cut_at_every_cell_it_crosses():
    airspace = prepare(flat(60, 60, 10.0), (), PLAIN)
    x, y = np.array([-203.0, 51.0, 121.0]), np.array([-107.0, 88.0, -163.0])
    pieces = cut(airspace, x, y)
    assert pieces.length_m.sum() == pytest.approx(np.hypot(np.diff(x), np.diff(y)).sum(), abs=1e-6)
    along = np.linspace(0, 1, 20001)
    cells = set()
    for i in range(2):
        px, py = x[i] + along * (x[i + 1] - x[i]), y[i] + along * (y[i + 1] - y[i])
        cells |= set(zip(np.floor((300 - py) / 10).astype(int), np.floor((px + 300) / 10).astype(int), strict=True))
    assert set(zip(pieces.row, pieces.col, strict=True)) == cells


def test_a_climb_that_the_way_is_too_short_for_is_done_in_a_turn_and_said():
    top = np.zeros((300, 300))
    top[:, 200:] = 300.0
    airspace = prepare(make_ground(top, 20.0), (), PLAIN)
    x, y = np.array([-1000.0, 2000.0]), np.zeros(2)
    profile = fly_way(airspace, FLYING, CALM, Track(x, y, 45.0, 345.0, 0.0))
    # the plateau's first cell is closed in by the spread of one cell: its rim is met after 1980 m, 300 m up at 3 m/s
    assert profile.seconds == pytest.approx(300.0 / 3.0 + 1020.0 / 40.0, rel=1e-6)
    assert profile.wait_s.sum() == pytest.approx(100.0 - 1980.0 / 40.0, rel=1e-6)
    assert (profile.bottom_m >= profile.floor_m - 1e-9).all()


@pytest.mark.parametrize(
    ("floor_m", "away_m", "elapsed_s", "near_top_m", "allowed_m"),
    [
        (100.0, 80.0, 10.0, 0.0, 20.0),  # 12.5 % of 80 m above the end's 10 m
        (100.0, 80.0, 2.0, 0.0, 16.0),  # 3 m/s for 2 s is less
        (100.0, 80.0, 2.0, 40.0, 45.0),  # the margin over what stands there is more
        (100.0, 80.0, 2.0, 200.0, 100.0),  # never higher than the floor en route
        (12.0, 80.0, 10.0, 0.0, 12.0),
        (100.0, 2000.0, 200.0, np.nan, 100.0),  # past the corridor, or not known: no relief
    ],
)
def test_near_an_end_the_floor_gives_way_no_further_than_this(floor_m, away_m, elapsed_s, near_top_m, allowed_m):
    away, elapsed, top, floor = (np.array([v]) for v in (away_m, elapsed_s, near_top_m, floor_m))
    end = NearEnd(10.0, 0.125, 3.0, away, elapsed, top)
    assert relieved(floor, end, 5.0) == pytest.approx([allowed_m])


def test_near_the_ends_the_cruise_clearance_is_gained_at_what_the_aircraft_climbs():
    airspace = prepare(flat(400, 400, 20.0), (), USUAL)
    profile = fly_way(airspace, FLYING, CALM, Track(np.array([-3000.0, 3000.0]), np.zeros(2), 5.0, 15.0, 40.0))
    assert profile.seconds == pytest.approx(6000.0 / 40.0)  # 3 m/s at 40 m/s is 7.5 %, less than the 12.5 % allowed
    rising = np.interp([200.0, 400.0], profile.distance_m, profile.bottom_m)
    assert rising == pytest.approx([5.0 + 15.0, 5.0 + 30.0], abs=1.6)  # within a cell's rise
    assert np.interp(3000.0, profile.distance_m, profile.bottom_m) == pytest.approx(45.0)


def test_near_the_ends_the_legs_own_corridor_is_kept_clear():
    top = np.zeros((400, 400))
    top[195:205, 70] = 60.0  # a row of trees across the way, 400 m after the start at x = -3000
    airspace = prepare(make_ground(top, 20.0), (), USUAL)
    profile = fly_way(airspace, FLYING, CALM, Track(np.array([-3000.0, 3000.0]), np.zeros(2), 5.0, 15.0, 40.0))
    over = np.abs(profile.x_m + 2590.0) <= 10.0
    assert profile.bottom_m[over].min() >= 65.0 - 1e-6
    assert profile.wait_s.sum() > 0.0  # 60 m up in 400 m takes longer than the 10 s of the way


def test_a_closed_cell_on_the_way_is_no_way():
    top = np.zeros((100, 100))
    top[50, 70] = np.nan
    airspace = prepare(make_ground(top, 20.0), (), PLAIN)
    track = Track(np.array([-500.0, 700.0]), np.array([-5.0, -5.0]), 45.0, 45.0, 0.0)
    assert fly_way(airspace, FLYING, CALM, track) is None


def test_a_leg_of_no_length_is_straight_up():
    airspace = prepare(flat(100, 100, 20.0), (), PLAIN)
    here = np.array([100.0, 100.0]), np.array([50.0, 50.0])
    assert fly_way(airspace, FLYING, CALM, Track(*here, 10.0, 40.0, 0.0)).seconds == pytest.approx(10.0)
    assert fly_way(airspace, FLYING, CALM, Track(*here, 40.0, 10.0, 0.0)).seconds == pytest.approx(15.0)
