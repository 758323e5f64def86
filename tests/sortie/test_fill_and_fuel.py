import math

import numpy as np
import pytest
from demo_flight import BUCKET, CREW_KG, FRESH, LIGHT, LONG_LINE

from diproute.errors import RangeError
from diproute.sortie.cycle import after_drop, cycle
from diproute.sortie.fill_and_fuel import best_of_many, tabulate
from diproute.sortie.fuel_cycle import Ferry, best, site_terms
from diproute.sortie.hover_chart import hover_limit
from diproute.sortie.load import Place


def terms(**changes):
    given = {"crew_kg": CREW_KG, "water_kg_l": FRESH, "chart_kg": 2600.0, "cycle_s": 300.0, "cycle_kg": 12.0,
             "reserve_s": 1200.0, "ferry": (300.0, 300.0, 720.0)}  # fmt: skip
    return site_terms(LIGHT, BUCKET, LONG_LINE.mass_kg, **(given | changes))


def test_many_sites_at_once_are_the_same_as_one_by_one():
    rng = np.random.default_rng(11)
    heights, kelvins = (
        rng.uniform(0, 4200, (6, 1)),
        np.array([[283.0, 300.0, 315.0, 325.0]]),
    )  # some beyond the hottest curve
    legs, ways = rng.uniform(30, 400, (6, 1)), rng.uniform(60, 900, (6, 1))
    trips = [cycle(LIGHT, BUCKET, LONG_LINE, loaded_s=s, empty_s=s, lift_m=9.0, lower_m=9.0) for s in legs[:, 0]]
    spared = np.array([after_drop(t) for t in trips])
    got = best_of_many(
        terms(
            chart_kg=hover_limit(LIGHT.hoge, heights, kelvins),
            cycle_s=np.array([t.seconds for t in trips])[:, None],
            cycle_kg=np.array([t.burn_kg for t in trips])[:, None],
            after_s=spared[:, :1],
            after_kg=spared[:, 1:],
            ferry=(ways, 1.1 * ways, 720.0),
        )
    )
    assert got.cycles.shape == (6, 4)
    refused = 0
    for i in range(6):
        for j in range(4):
            place = Place("dip", float(heights[i, 0]), float(kelvins[0, j]))
            one = best(
                LIGHT, BUCKET, LONG_LINE, trips[i], crew_kg=CREW_KG, water_kg_l=FRESH, places=(place,),
                ferry=Ferry(ways[i, 0], 1.1 * ways[i, 0], 720.0, "drop"), reserve_s=1200.0,
            )  # fmt: skip
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
    assert (best_of_many(terms(ferry=(ways, 300.0, 720.0))).cycles > 0).tolist() == [True, False]
    assert (best_of_many(terms(ferry=(300.0, ways, 720.0))).cycles > 0).tolist() == [True, False]


def test_fresh_and_salt_water_and_lines_of_two_lengths_side_by_side():
    lines, water = np.array([0.0, 22.9]), np.array([1.025, 0.9991])
    ways = {"crew_kg": CREW_KG, "chart_kg": 2520.0, "cycle_s": 300.0, "cycle_kg": 12.0, "reserve_s": 1200.0,
            "ferry": (300.0, 300.0, 720.0)}  # fmt: skip
    both = best_of_many(site_terms(LIGHT, BUCKET, lines, water_kg_l=water, **ways))
    for i in (0, 1):
        one = best_of_many(site_terms(LIGHT, BUCKET, lines[i], water_kg_l=water[i], **ways))
        assert both.kilograms_per_hour[i] == one.kilograms_per_hour
        assert (both.setting[i], both.cycles[i]) == (one.setting, one.cycles)
        assert both.margin_kg[i] == one.margin_kg


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
