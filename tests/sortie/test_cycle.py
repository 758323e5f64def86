import math
from dataclasses import fields, replace

import numpy as np
import pytest
from demo_flight import L_H, NO_LINE, RIG
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.records import keys
from diproute.sortie.cycle import RoundTrip, cost, cost_of, cycle, dip_seconds, farthest_drop_s

WAY = RoundTrip(100.0, 90.0, 15.0, 12.7, 2.54, 6.0, 12.0, 8.0)  # lowered at 250 ft/min, 1.27 m/s
TRIP = cycle(RIG, WAY)
SHORT = replace(RIG, line=NO_LINE)


def test_parts_in_flying_order_with_seconds_and_fuel():
    got = [(part.name, part.seconds, part.burn_kg) for part in TRIP.parts]
    wanted = [  # by hand: litres an hour of the demo's file, 0.8 kg/L
        ("fill", 32.6, 32.6 * 190 * L_H),
        ("lift", 10.0, 10 * 190 * L_H),
        ("transit loaded", 100.0, 100 * 180 * L_H),
        ("lower at the drop", 2.0, 2 * 190 * L_H),
        ("drop", 8.0, 8 * 190 * L_H),
        ("turn at the drop", 8.0, 8 * 190 * L_H),
        ("lift at the drop", 4.0, 4 * 190 * L_H),
        ("transit empty", 90.0, 90 * 165 * L_H),
        ("lower", 10.0, 10 * 190 * L_H),
        ("turn at the dip", 12.0, 12 * 190 * L_H),
        ("manoeuvre", 45.0, 45 * 190 * L_H),
    ]
    assert [name for name, _, _ in got] == [name for name, _, _ in wanted]
    for (_, seconds, burn), (_, s, b) in zip(got, wanted, strict=True):
        assert seconds == pytest.approx(s)
        assert burn == pytest.approx(b)
    assert TRIP.seconds == pytest.approx(321.6)


def test_the_factor_is_on_filling_dropping_and_manoeuvring_alone():
    usual = {part.name: part.seconds for part in TRIP.parts}
    slow = {part.name: part.seconds for part in cycle(RIG, replace(WAY, fixed=1.5)).parts}
    changed = {name: slow[name] / usual[name] for name in usual if slow[name] != usual[name]}
    assert changed == pytest.approx({"fill": 1.5, "drop": 1.5, "manoeuvre": 1.5})


def test_a_long_line_costs_time_at_every_fill():
    assert cycle(RIG, WAY).seconds - cycle(SHORT, WAY).seconds == pytest.approx(7.6)


def test_waiting_is_a_part_of_its_own_and_costs_fuel():
    waiting = cycle(SHORT, replace(WAY, wait_s=30.0))
    names = [part.name for part in waiting.parts]
    assert names == list(keys.CYCLE_PARTS)
    assert waiting.parts[names.index("wait for the dip")].burn_kg == pytest.approx(30 * 190 * L_H)


def test_after_the_drop_and_in_the_dip():
    after = cost_of(TRIP)
    assert float(after.after_s) == pytest.approx(8 + 4 + 90 + 10 + 12)
    assert float(after.after_kg) == pytest.approx((90 * 165 + 34 * 190) * L_H)
    assert dip_seconds(TRIP) == pytest.approx(10 + 12 + 32.6 + 10)


@pytest.mark.parametrize(
    ("loaded", "empty", "hover"), [(300.0, 165.0, 190.0), (180.0, 300.0, 190.0), (180.0, 165.0, 300.0)]
)
def test_slow_parts_burn_at_the_largest_rate_whichever_it_is(loaded, empty, hover):
    craft = replace(
        RIG.helicopter, burn_loaded_kg_s=loaded * L_H, burn_empty_kg_s=empty * L_H, burn_hover_kg_s=hover * L_H
    )
    parts = {part.name: part for part in cycle(replace(RIG, helicopter=craft), replace(WAY, wait_s=20.0)).parts}
    for slow in (keys.WAIT, keys.MANOEUVRE):
        assert parts[slow].burn_kg == pytest.approx(parts[slow].seconds * 300 * L_H)
    for part in (keys.FILL, keys.LIFT, keys.DROPPING, keys.LOWER, keys.DIP_TURN, keys.DROP_TURN, keys.DROP_LIFT):
        assert parts[part].burn_kg == pytest.approx(parts[part].seconds * hover * L_H)
    assert parts[keys.TRANSIT_LOADED].burn_kg == pytest.approx(100.0 * loaded * L_H)
    assert parts[keys.TRANSIT_EMPTY].burn_kg == pytest.approx(90.0 * empty * L_H)


times = st.lists(st.floats(0.0, 900.0), min_size=9, max_size=9)


@given(st.lists(times, min_size=1, max_size=4), st.floats(0.5, 1.5))
def test_many_cycles_at_once_cost_what_each_costs_part_by_part(ways, fixed):
    many = cost(RIG, RoundTrip(*np.array(ways).T, fixed=fixed))
    for i, way in enumerate(ways):
        one = cost_of(cycle(RIG, RoundTrip(*way, fixed=fixed)))
        for name in (field.name for field in fields(one)):
            assert getattr(many, name)[i] == pytest.approx(float(getattr(one, name)), rel=1e-12, abs=1e-9)


def test_a_leg_that_cannot_be_flown_spoils_no_neighbour():
    got = cost(RIG, RoundTrip(np.array([100.0, math.nan]), np.array([90.0, 90.0]), 15.0, 12.7, 2.54, 6.0, 12.0, 8.0))
    assert got.seconds[0] == pytest.approx(TRIP.seconds)
    assert math.isnan(got.seconds[1])
    assert math.isnan(got.burn_kg[1])


def test_the_last_cycle_may_serve_the_farthest_drop():
    shares = np.array([0.75, 0.25])  # mean 130 s, the farthest 220: by hand
    assert farthest_drop_s(RIG.helicopter, [100.0, 220.0], shares) == pytest.approx(90.0 * 190 / 165)
    thirsty_empty = replace(RIG.helicopter, burn_empty_kg_s=200 * L_H)  # never less than the time itself
    assert farthest_drop_s(thirsty_empty, [100.0, 220.0], shares) == pytest.approx(90.0)
    both = farthest_drop_s(RIG.helicopter, [[100.0, 50.0], [220.0, 50.0]], shares)
    assert both == pytest.approx([90.0 * 190 / 165, 0.0])


@pytest.mark.parametrize("name", [field.name for field in fields(RoundTrip)])
@pytest.mark.parametrize("value", [-1.0, float("nan")])
def test_less_than_nothing_or_unknown_is_refused(name, value):
    with pytest.raises(RangeError, match=name):
        cycle(SHORT, replace(RoundTrip(1.0, 1.0, 1.0, 1.0), **{name: value}))
