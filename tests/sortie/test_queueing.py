import math
from itertools import product

import numpy as np
import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.sortie.queueing import assign, wait


def simulate(crew, spacing_s, hours):
    """Loads an hour of each helicopter, by discrete events; crew is (cycle_s, dip_s) of each."""
    world = simpy.Environment()
    dip = simpy.Resource(world, capacity=1)
    loads = [0] * len(crew)
    start = 20 * max(cycle for cycle, _ in crew)  # leave the first gathering at the dip out

    def clear(request):
        yield world.timeout(spacing_s)
        dip.release(request)

    def work(who, cycle_s, dip_s):
        while True:
            request = dip.request()
            yield request
            yield world.timeout(dip_s)
            world.process(clear(request))
            loads[who] += world.now >= start
            yield world.timeout(cycle_s - dip_s)

    for who, (cycle_s, dip_s) in enumerate(crew):
        world.process(work(who, cycle_s, dip_s))
    world.run(start + 3600 * hours)
    return np.array(loads) / hours


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6])
@pytest.mark.parametrize(
    ("cycle_s", "dip_s", "spacing_s"), [(300.0, 50.0, 30.0), (180.0, 45.0, 20.0), (600.0, 60.0, 0.0)]
)
def test_one_kind_is_the_closed_formula_and_the_simulation(count, cycle_s, dip_s, spacing_s):
    waits = wait([count], [cycle_s], [dip_s], spacing_s)
    flow = 3600 * count / (cycle_s + waits[0])
    assert float(flow) == pytest.approx(3600 * min(count / cycle_s, 1 / (dip_s + spacing_s)), rel=1e-12)
    assert simulate([(cycle_s, dip_s)] * count, spacing_s, 50).sum() == pytest.approx(float(flow), rel=0.002)


@pytest.mark.parametrize(
    "crew",
    [
        [(300.0, 50.0), (420.0, 60.0)],
        [(200.0, 50.0), (230.0, 70.0), (310.0, 45.0)],
        [(160.0, 40.0), (160.0, 40.0), (290.0, 75.0), (333.0, 60.0)],
    ],
)
def test_a_mixture_is_close_to_the_simulation(crew):
    cycle, dip = np.array(crew).T
    waits = wait(np.ones(len(crew)), cycle, dip, 30.0)
    got, twin = (3600 / (cycle + waits)).sum(), simulate(crew, 30.0, 100).sum()
    assert got == pytest.approx(twin, rel=0.08)
    assert got <= min((3600 / cycle).sum(), 3600 / (dip + 30.0).min()) * (1 + 1e-9)


def test_mixtures_keep_to_what_the_docstring_says():
    rng, ratio = np.random.default_rng(0), []
    for _ in range(60):
        kinds = rng.integers(2, 6)
        cycle, dip = rng.uniform(150, 400, kinds), rng.uniform(30, 80, kinds)
        waits = wait(np.ones(kinds), cycle, dip, 30.0)
        twin = simulate(list(zip(cycle, dip, strict=True)), 30.0, 40).sum()
        ratio.append(twin / (3600 / (cycle + waits)).sum())
    assert max(abs(1 - r) for r in ratio) < 0.13
    assert abs(1 - np.mean(ratio)) < 0.015


def test_the_dip_is_never_asked_for_more_than_all_of_the_time():
    rng = np.random.default_rng(1)
    for _ in range(300):
        kinds = rng.integers(1, 5)
        number, cycle = rng.integers(1, 7, kinds), rng.uniform(120, 900, kinds)
        dip = rng.uniform(0.05, 1.0, kinds) * cycle
        waits = wait(number, cycle, dip, 30.0)
        assert (number * (dip + 30.0) / (cycle + waits)).sum() <= 1.0 + 1e-9
        assert (waits >= 0.0).all()


def test_waits_of_many_sites_at_once():
    got = wait(np.array([[1, 0], [3, 1], [0, 0]]), [200.0, math.nan], [50.0, math.nan], 30.0)
    assert got[0].tolist() == [0.0, 0.0]
    assert np.isnan(got[1]).all()
    assert got[2].tolist() == [0.0, 0.0]


@given(
    st.integers(1, 8), st.floats(60, 1000), st.floats(0.05, 1.0), st.floats(0, 60),
)  # fmt: skip
def test_more_helicopters_never_more_than_their_number_of_times_one(count, cycle_s, share, spacing_s):
    dip_s = share * cycle_s
    one = 1 / (cycle_s + wait([1], [cycle_s], [dip_s], spacing_s)[0])
    many = count / (cycle_s + wait([count], [cycle_s], [dip_s], spacing_s)[0])
    assert many <= count * one * (1 + 1e-12)
    assert many >= one * (1 - 1e-12)


@pytest.mark.parametrize(
    "wrong", [([-1], [9.0], [1.0], 0.0), ([1], [0.0], [0.0], 0.0), ([1], [9.0], [10.0], 0.0), ([1], [9.0], [1.0], -1.0),
              ([1], [9.0], [-1.0], 1.0), ([1], [9.0], [1.0], math.nan)],
)  # fmt: skip
def test_impossible_times_are_refused(wrong):
    with pytest.raises(RangeError, match="wanted"):
        wait(*wrong)


def brute(count, litres, alone, cycle, dip, spacing_s):
    """Try every way to send every helicopter to a site or nowhere."""
    kinds, sites = litres.shape
    each = [kind for kind in range(kinds) for _ in range(count[kind])]
    most = 0.0
    for places in product(range(-1, sites), repeat=len(each)):
        total = 0.0
        for site in range(sites):
            here = [kind for kind, place in zip(each, places, strict=True) if place == site]
            number = np.array([here.count(kind) for kind in range(kinds)])
            waits = wait(number, cycle[:, site], dip[:, site], spacing_s)
            slowed = cycle[:, site] / (cycle[:, site] + waits)
            total += sum(litres[k, site] * alone[k, site] * slowed[k] for k in here)
        most = max(most, total if not math.isnan(total) else 0.0)
    return most


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([(3,), (2, 1), (2, 2), (1, 1, 1)]), st.integers(1, 3))
def test_the_assignment_is_the_best_of_all(seed, count, sites):
    rng = np.random.default_rng(seed)
    shape = (len(count), sites)
    cycle = rng.uniform(120, 500, shape)
    dip = rng.uniform(0.1, 0.6, shape) * cycle
    litres = rng.uniform(300, 3000, shape)
    litres[rng.random(shape) < 0.15] = math.nan
    alone = rng.uniform(0.6, 1.0, shape) * 3600 / cycle
    got = assign(count, litres, alone, cycle, dip, 30.0)
    assert got.total_litres_per_hour == pytest.approx(brute(count, litres, alone, cycle, dip, 30.0), rel=1e-6)
    assert (got.helicopters.sum(axis=1) <= count).all()
    assert np.isfinite(got.litres_per_hour).all()


def test_a_queue_sends_the_second_helicopter_to_the_second_site():
    # Site A: 100 s cycles of which 60 in the dip. Two there: the flow rises from 36 to 40 loads only.
    litres, cycle, dip = np.full((1, 2), 800.0), np.array([[100.0, 250.0]]), np.array([[60.0, 60.0]])
    apart = assign([2], litres, 3600 / cycle, cycle, dip, 30.0)
    assert apart.helicopters.tolist() == [[1, 1]]
    assert apart.wait_s.tolist() == [[0.0, 0.0]]
    together = assign([2], litres[:, :1], 3600 / cycle[:, :1], cycle[:, :1], dip[:, :1], 30.0)
    assert together.helicopters.tolist() == [[2]]
    assert together.wait_s[0, 0] == pytest.approx(80.0)
    assert together.loads_per_hour[0, 0] == pytest.approx(40.0)


def test_no_site_to_work_leaves_everybody_out():
    none = np.full((1, 2), math.nan)
    got = assign([3], none, none, none, none, 30.0)
    assert got.helicopters.tolist() == [[0, 0]]
    assert got.total_litres_per_hour == 0.0


def test_a_fleet_too_large_to_share_out_is_refused():
    table = np.full((8, 40), 100.0)
    with pytest.raises(RangeError, match="ways to share out"):
        assign([6] * 8, table, table, table, table / 2, 30.0)
