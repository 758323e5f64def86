import pytest
from demo_flight import BUCKET, L_H, LIGHT, LONG_LINE, NO_LINE

from diproute.errors import RangeError
from diproute.sortie.cycle import after_drop, cycle, hole_seconds

TRIP = cycle(
    LIGHT, BUCKET, LONG_LINE, loaded_s=100.0, empty_s=90.0, lift_m=15.0, lower_m=20.0, departure_turn_s=12.0,
    arrival_turn_s=14.0,
)  # fmt: skip


def test_parts_in_flying_order_with_seconds_and_fuel():
    got = [(part.name, part.seconds, part.burn_kg) for part in TRIP.parts]
    wanted = [  # by hand: litres an hour of the demo's file, 0.8 kg/L
        ("fill", 32.6, 32.6 * 190 * L_H),
        ("lift", 10.0, 10 * 190 * L_H),
        ("departure turn", 12.0, 12 * 190 * L_H),
        ("transit loaded", 100.0, 100 * 180 * L_H),
        ("drop", 8.0, 8 * 190 * L_H),
        ("transit empty", 90.0, 90 * 165 * L_H),
        ("arrival turn", 14.0, 14 * 190 * L_H),
        ("lower", 10.0, 10 * 190 * L_H),
        ("manoeuvre", 45.0, 45 * 190 * L_H),
    ]
    assert [name for name, _, _ in got] == [name for name, _, _ in wanted]
    for (_, seconds, burn), (_, s, b) in zip(got, wanted, strict=True):
        assert seconds == pytest.approx(s)
        assert burn == pytest.approx(b)
    assert TRIP.seconds == pytest.approx(321.6)


def test_a_long_line_costs_time_at_every_fill():
    short = cycle(LIGHT, BUCKET, NO_LINE, loaded_s=100.0, empty_s=90.0, lift_m=15.0, lower_m=20.0)
    long = cycle(LIGHT, BUCKET, LONG_LINE, loaded_s=100.0, empty_s=90.0, lift_m=15.0, lower_m=20.0)
    assert long.seconds - short.seconds == pytest.approx(7.6)


def test_waiting_is_a_part_of_its_own_and_costs_fuel():
    waiting = cycle(LIGHT, BUCKET, NO_LINE, loaded_s=1.0, empty_s=1.0, lift_m=3.0, lower_m=3.0, wait_s=30.0)
    names = [part.name for part in waiting.parts]
    assert names.index("arrival turn") < names.index("wait for the hole") < names.index("lower")
    assert waiting.parts[names.index("wait for the hole")].burn_kg == pytest.approx(30 * 190 * L_H)


def test_after_the_drop_and_in_the_hole():
    seconds, burn = after_drop(TRIP)
    assert seconds == pytest.approx(90 + 14 + 10)
    assert burn == pytest.approx((90 * 165 + 24 * 190) * L_H)
    assert hole_seconds(TRIP) == pytest.approx(10 + 32.6 + 10)


@pytest.mark.parametrize(
    "name", ["loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s", "wait_s"]
)
@pytest.mark.parametrize("value", [-1.0, float("nan")])
def test_less_than_nothing_or_unknown_is_refused(name, value):
    given = {"loaded_s": 1.0, "empty_s": 1.0, "lift_m": 1.0, "lower_m": 1.0, name: value}
    with pytest.raises(RangeError, match=name):
        cycle(LIGHT, BUCKET, NO_LINE, **given)
