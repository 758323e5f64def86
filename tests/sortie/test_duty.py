import pytest

from diproute.errors import RangeError
from diproute.records import Sortie
from diproute.sortie.duty import duty_left, sorties_left

H = 3600.0
SORTIE = Sortie(20, 2.2 * H, 16000.0, 7272.7, 500.0, 44.0, (800.0,) * 20)  # 2 h flown and 12 min of fuelling


def test_a_fresh_day():
    left = duty_left()
    assert (left.flight_s, left.duty_s, left.flight_limit) == (8 * H, 14 * H, "day")
    assert sorties_left(left, SORTIE, 720.0) == 4


def test_six_days_of_flying_leave_less():
    left = duty_left(flown_before_s=[7 * H, 7 * H, 7 * H, 7 * H, 5 * H, 8 * H])  # the sixth day back counts no more
    assert (left.flight_s, left.flight_limit) == (3 * H, "six days")
    assert sorties_left(left, SORTIE, 720.0) == 1


def test_a_long_day_on_duty_leaves_less():
    left = duty_left(flown_today_s=2 * H, on_duty_s=9.7 * H)
    assert left.flight_s == 6 * H
    assert left.duty_s == pytest.approx(4.3 * H)
    assert sorties_left(left, SORTIE, 720.0) == 2  # 2.2 h + 2 h: the last one takes no fuel


def test_nothing_is_left_never_less():
    left = duty_left(flown_today_s=9 * H, on_duty_s=15 * H)
    assert (left.flight_s, left.duty_s) == (0.0, 0.0)
    assert sorties_left(left, SORTIE, 720.0) == 0


@pytest.mark.parametrize("wrong", [(-1.0, 0.0), (2 * H, H), (float("nan"), H)])
def test_impossible_times_are_refused(wrong):
    with pytest.raises(RangeError, match="on duty"):
        duty_left(*wrong)


def test_fuelling_longer_than_the_fuel_cycle_is_refused():
    with pytest.raises(RangeError, match="refuelling"):
        sorties_left(duty_left(), SORTIE, 3 * H)
