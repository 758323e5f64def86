import math

import numpy as np
import pytest
from demo_flight import BUCKET, FRESH, LIGHT, RIG, TASK, changed

from diproute.errors import RangeError
from diproute.records import Line
from diproute.sortie.cycle import Cost, RoundTrip, cost, cycle
from diproute.sortie.fill_and_fuel import best_of_many, tabulate
from diproute.sortie.fuel_cycle import best, site_terms
from diproute.sortie.hover_chart import hover_limit
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry

FERRY = Ferry(300.0, 300.0, 720.0)


def terms(chart_kg=2600.0, cycle_s=300.0, cycle_kg=12.0, ferry=FERRY, **changes):
    task = changed(TASK, ferry=ferry, **changes)
    return site_terms(changed(RIG, **changes), task, chart_kg, Cost(cycle_s, cycle_kg, 0.0, 0.0))


def test_many_sites_at_once_are_the_same_as_one_by_one():
    rng = np.random.default_rng(11)
    heights, kelvins = (
        rng.uniform(0, 4200, (6, 1)),
        np.array([[283.0, 300.0, 315.0, 325.0]]),
    )  # some beyond the hottest curve
    legs, ways = rng.uniform(30, 400, (6, 1)), rng.uniform(60, 900, (6, 1))
    flown = [RoundTrip(float(s), float(s), 9.0, 9.0) for s in legs[:, 0]]
    one_cycle = cost(RIG, RoundTrip(legs, legs, 9.0, 9.0))
    task = changed(TASK, ferry=Ferry(ways, 1.1 * ways, 720.0, "drop"))
    got = best_of_many(site_terms(RIG, task, hover_limit(LIGHT.hoge, heights, kelvins), one_cycle))
    assert got.cycles.shape == (6, 4)
    refused = 0
    for i in range(6):
        for j in range(4):
            place = Place("dip", float(heights[i, 0]), float(kelvins[0, j]))
            alone = changed(TASK, ferry=Ferry(ways[i, 0], 1.1 * ways[i, 0], 720.0, "drop"))
            one = best(RIG, alone, (place,), cycle(RIG, flown[i]))
            if one.sortie is None:
                refused += 1
                assert got.cycles[i, j] == 0
                assert got.setting[i, j] == -1
                assert math.isnan(got.kilograms_per_hour[i, j])
                assert math.isnan(got.fuel_kg[i, j])
                continue
            assert got.cycles[i, j] == one.sortie.cycles
            assert got.kilograms_per_hour[i, j] / FRESH == pytest.approx(one.sortie.litres_per_hour)
            assert got.kilograms[i, j] / FRESH == pytest.approx(one.sortie.litres)
            assert got.seconds[i, j] == pytest.approx(one.sortie.seconds)
            assert BUCKET.fills[got.setting[i, j]] == one.load.fill
            assert got.fuel_kg[i, j] == pytest.approx(one.load.fuel_kg)
            assert got.margin_kg[i, j] == pytest.approx(one.load.margin_kg)
    assert 0 < refused < 24


@pytest.mark.parametrize("unknown", ["chart_kg", "cycle_s", "cycle_kg"])
def test_what_is_not_known_flies_nothing_and_spoils_no_neighbour(unknown):
    values = {"chart_kg": [2600.0, 2600.0], "cycle_s": [300.0, 300.0], "cycle_kg": [12.0, 12.0]}
    values[unknown][1] = math.nan
    got = best_of_many(terms(**{name: np.array(value) for name, value in values.items()}))
    assert got.cycles[0] > 0
    assert got.cycles[1] == 0
    assert math.isnan(got.kilograms_per_hour[1])


def test_a_way_that_is_not_known_flies_nothing():
    ways = np.array([300.0, math.nan])
    assert (best_of_many(terms(ferry=Ferry(ways, 300.0, 720.0))).cycles > 0).tolist() == [True, False]
    assert (best_of_many(terms(ferry=Ferry(300.0, ways, 720.0))).cycles > 0).tolist() == [True, False]


def test_fresh_and_salt_water_side_by_side():
    water = np.array([1.025, 0.9991])
    both = best_of_many(terms(chart_kg=2520.0, water_kg_l=water))
    for i in (0, 1):
        one = best_of_many(terms(chart_kg=2520.0, water_kg_l=float(water[i])))
        assert both.kilograms_per_hour[i] == one.kilograms_per_hour
        assert (both.setting[i], both.cycles[i]) == (one.setting, one.cycles)
        assert both.margin_kg[i] == one.margin_kg


def test_a_heavier_line_never_brings_more():
    light, heavy = (best_of_many(terms(chart_kg=2520.0, line=Line(30.0, kg))) for kg in (0.0, 60.0))
    assert heavy.kilograms_per_hour < light.kilograms_per_hour


@pytest.mark.parametrize("fuel_kg", [None, 300.0])
def test_part_fills_take_each_time_what_then_lifts(fuel_kg):
    """Load by load, by hand: the room for water grows by the fuel of a cycle."""
    part = changed(RIG, bucket=changed(BUCKET, part_fill=True))
    got = best_of_many(terms(chart_kg=2400.0, bucket=part.bucket), fuel_kg)
    held = 1300.0 + 95.0 + part.tare_kg
    fuel, water = float(got.fuel_kg) - 300.0 * LIGHT.burn_empty_kg_s, 0.0
    for _ in range(int(got.cycles)):
        load = min(2400.0 - 60.0 - held - fuel, LIGHT.hook_limit_kg - part.tare_kg, 820.0 * FRESH)
        assert load > 0.0
        water += load
        fuel -= 12.0
    assert float(got.kilograms) == pytest.approx(water)
    assert fuel >= (300.0 + 1200.0) * LIGHT.burn_empty_kg_s - 1e-9
    whole = best_of_many(terms(chart_kg=2400.0), fuel_kg)
    assert got.kilograms_per_hour > whole.kilograms_per_hour


def test_the_last_cycle_leaves_out_what_lies_after_the_drop():
    one = Cost(300.0, 12.0, 100.0, 4.0)
    drop, dip = (tabulate(site_terms(RIG, changed(TASK, ferry=Ferry(300.0, 300.0, 720.0, at)), 2600.0, one))
                 for at in ("drop", "dip"))  # fmt: skip
    n = min(drop.fuel_kg.shape[-1], dip.fuel_kg.shape[-1])
    np.testing.assert_allclose(dip.fuel_kg[0, :n] - drop.fuel_kg[0, :n], 4.0)
    np.testing.assert_allclose(dip.seconds[0, :n] - drop.seconds[0, :n], 100.0)


def test_each_column_is_the_least_fuel_for_its_cycles():
    table = tabulate(terms())
    one_more = np.diff(table.fuel_kg[0])
    np.testing.assert_allclose(one_more, 12.0)
    empty = LIGHT.burn_empty_kg_s
    assert table.fuel_kg[0, 0] == pytest.approx(12.0 + (300 + 300 + 1200) * empty)
    assert table.fuel_kg[0, -1] <= LIGHT.fuel_capacity_kg < table.fuel_kg[0, -1] + 12.0
    np.testing.assert_allclose(table.seconds[0], 1320.0 + 300.0 * np.arange(1, table.seconds.shape[-1] + 1))


@pytest.mark.parametrize(("beyond_kg", "cycles"), [(1.0, 0), (-1.0, 1)])
def test_no_kilogram_more_than_the_tank_holds(beyond_kg, cycles):
    empty = LIGHT.burn_empty_kg_s
    reserve_s = (LIGHT.fuel_capacity_kg + beyond_kg - 12.0) / empty - 600.0  # one cycle takes the tank and that much
    assert best_of_many(terms(reserve_s=reserve_s)).cycles == cycles


@pytest.mark.parametrize("wrong", [{"cycle_s": 0.0}, {"cycle_kg": 0.0}, {"cycle_kg": -1.0}, {"cycle_kg": 0.001}])
def test_a_cycle_that_costs_nothing_is_refused(wrong):
    with pytest.raises(RangeError, match="cycle"):
        best_of_many(terms(**wrong))


def test_a_setting_that_the_crew_fixed_is_the_only_one():
    full_kg = RIG.bucket.capacity_l * TASK.water_kg_l
    np.testing.assert_allclose(terms().settings_kg, np.array(RIG.bucket.fills) * full_kg)
    np.testing.assert_allclose(terms(fill=0.7).settings_kg, [0.7 * full_kg])
