from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.magnetics import declination, to_magnetic

SUMMER = date(2026, 8, 14)


def test_says_what_it_is():
    there = declination(42.1, -160.05, 500, SUMMER)
    assert (there.model, there.date, there.zone) == ("WMM2025", SUMMER, None)
    assert 5 < there.deg < 20
    assert 0.26 < there.sigma_deg < 0.5


def test_local_time_is_turned_into_utc():
    local = datetime(2026, 8, 14, 15, 0, tzinfo=timezone(timedelta(hours=-10)))
    there = declination(42.1, -160.05, 0, local)
    assert there.date == date(2026, 8, 15)
    assert there == declination(42.1, -160.05, 0, datetime(2026, 8, 15, 1, 0, tzinfo=UTC))
    assert there == declination(42.1, -160.05, 0, datetime(2026, 8, 15, 1, 0))


@pytest.mark.parametrize("when", [date(2025, 1, 1), date(2030, 1, 1), datetime(2029, 12, 31, 23, 59)])
def test_ends_of_the_model_belong_to_it(when):
    assert np.isfinite(declination(60, 20, 0, when).deg)


@pytest.mark.parametrize(
    ("when", "message"),
    [
        (date(2024, 12, 31), "got the date 2024-12-31, wanted 2025-01-01 to 2030-01-01 .* older models"),
        (date(2030, 1, 2), "got the date 2030-01-02, .* next model"),
        (datetime(2030, 1, 1, 0, 1), "next model"),
        (datetime(2025, 1, 1, 1, tzinfo=timezone(timedelta(hours=10))), "got the date 2024-12-31"),
    ],
)
def test_other_years_are_refused(when, message):
    with pytest.raises(RangeError, match=message):
        declination(60, 20, 0, when)


@pytest.mark.parametrize(
    ("lat", "lon", "altitude", "message"),
    [
        (-160.05, 42.1, 0, "swapped"),
        (42.1, 199.95, 0, "west is negative"),
        (np.nan, 10, 0, "latitude is not known"),
        (42.1, -160, np.nan, "altitude_m is not known"),
        (42.1, -160, 1e6, "altitude_m: got 1e"),
    ],
)
def test_places_are_checked(lat, lon, altitude, message):
    with pytest.raises(RangeError, match=message):
        declination(lat, lon, altitude, SUMMER)


@given(st.floats(-60, 60), st.floats(-180, 180))
def test_height_over_ellipsoid_or_sea_is_all_one(lat, lon):
    low, high = (declination(lat, lon, height, SUMMER) for height in (0, 110))  # the geoid is within 110 m
    if low.sigma_deg < 0.6:
        assert high.deg == pytest.approx(low.deg, abs=0.005)


def test_threads_do_not_disturb_each_other():
    places = [(lat, lon) for lat in range(-60, 61, 12) for lon in range(-180, 180, 24)]
    alone = [declination(lat, lon, 0, SUMMER) for lat, lon in places]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda place: declination(*place, 0, SUMMER), places))
    assert together == alone


def test_magnetic_is_true_less_declination():
    assert to_magnetic(45, 10) == 35
    assert to_magnetic(5, 10) == 355
    assert to_magnetic(355, -10) == 5
    np.testing.assert_array_equal(to_magnetic([0.0, 90.0, np.nan], 15), [345, 75, np.nan])
    assert type(to_magnetic(1.0, 2.0)) is float
