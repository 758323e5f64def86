"""Where the sun stands, against an almanac's formula of our own, and the glare it makes."""

import math
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.planning.sun import darkness, daylight, glare, sun_at

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)


def almanac_sun(lat_deg, lon_deg, when):
    """Azimuth and elevation without refraction.

    The Astronomical Almanac's low-precision formulas for the sun (0.01 deg, 1950 to 2050) and for sidereal time, from
    memory.
    """
    n = (when - J2000).total_seconds() / 86400
    g = math.radians(357.528 + 0.9856003 * n)
    longitude = math.radians(280.460 + 0.9856474 * n + 1.915 * math.sin(g) + 0.020 * math.sin(2 * g))
    tilt = math.radians(23.439 - 0.0000004 * n)
    ascension = math.atan2(math.cos(tilt) * math.sin(longitude), math.cos(longitude))
    declination = math.asin(math.sin(tilt) * math.sin(longitude))
    sidereal = math.radians(15 * (18.697374558 + 24.06570982441908 * n) + lon_deg)
    hour, lat = sidereal - ascension, math.radians(lat_deg)
    elevation = math.asin(
        math.sin(lat) * math.sin(declination) + math.cos(lat) * math.cos(declination) * math.cos(hour)
    )
    azimuth = math.atan2(-math.sin(hour), math.tan(declination) * math.cos(lat) - math.sin(lat) * math.cos(hour))
    return math.degrees(azimuth) % 360, math.degrees(elevation)


@given(
    lat=st.floats(-65, 65), lon=st.floats(-180, 180),
    when=st.datetimes(datetime(2025, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),
)  # fmt: skip
def test_sun_stands_where_the_almanac_says(lat, lon, when):
    azimuth, elevation = sun_at(lat, lon, when)
    wanted_azimuth, wanted_elevation = almanac_sun(lat, lon, when)
    refraction = 0.6 if wanted_elevation < 15 else 0.1  # half a degree at the horizon, 0.06 at 15
    assert elevation == pytest.approx(wanted_elevation, abs=refraction)
    off = (azimuth - wanted_azimuth + 180) % 360 - 180
    assert abs(off) * math.cos(math.radians(wanted_elevation)) < 0.1


@pytest.mark.parametrize(
    ("place", "day", "hours", "rise", "sets"),
    [  # printed to the minute in almanacs and newspapers, from memory
        ((51.5074, -0.1278), datetime(2023, 6, 21), 1, (4, 43), (21, 21)),  # London, summer time
        ((51.5074, -0.1278), datetime(2023, 12, 21), 0, (8, 3), (15, 53)),
    ],
)
def test_sunrise_and_sunset(place, day, hours, rise, sets):
    zone = timezone(timedelta(hours=hours))
    found = daylight(*place, day.replace(hour=12, tzinfo=zone))
    for got, wanted in ((found.sunrise, rise), (found.sunset, sets)):
        assert abs((got - day.replace(hour=wanted[0], minute=wanted[1], tzinfo=zone)).total_seconds()) <= 90


def test_sun_is_at_the_horizon_when_it_rises():
    found = daylight(42.1, -160.05, datetime(2026, 8, 14, 15, tzinfo=timezone(timedelta(hours=-10))))
    _, elevation = almanac_sun(42.1, -160.05, found.sunrise)
    assert elevation == pytest.approx(-0.833, abs=0.05)  # 34' of refraction and 16' of half its width, from memory
    assert found.sunrise.date() == found.sunset.date() == datetime(2026, 8, 14).date()


def test_flying_window_is_half_an_hour_wider():
    # NWCG PMS 510, 30 minutes before sunrise to 30 minutes after sunset, from memory
    found = daylight(42.1, -160.05, datetime(2026, 8, 14, 15, tzinfo=timezone(timedelta(hours=-10))))
    assert found.sunrise - found.first == timedelta(minutes=30)
    assert found.last - found.sunset == timedelta(minutes=30)


@pytest.mark.parametrize(("lat", "month", "stays"), [(78.2, 6, "up"), (78.2, 12, "down"), (-78.2, 6, "down")])
def test_polar_day_and_night_have_no_sunset_and_are_told_apart(lat, month, stays):
    found = daylight(lat, 15.6, datetime(2026, month, 21, 12, tzinfo=UTC))
    assert (found.sunrise, found.sunset, found.first, found.last) == (None, None, None, None)
    assert found.stays == stays


# Fairbanks, Alaska: sunrise and sunset about the solstice as newspapers print them, from memory: 2:57 am and 12:47 am
FAIRBANKS, ALASKA = (64.84, -147.72), timezone(timedelta(hours=-8))


@pytest.mark.parametrize("hour", [3, 9, 15, 21])
@pytest.mark.parametrize("zone", [ALASKA, UTC, timezone(timedelta(hours=9)), timezone(timedelta(hours=-11))])
def test_a_northern_summer_day_has_its_light_whatever_the_offset(hour, zone):
    """There is no civil dawn on this day, and the sun sets after midnight by the clock."""
    when = datetime(2026, 6, 21, hour, tzinfo=ALASKA).astimezone(zone)
    found = daylight(*FAIRBANKS, when)
    assert abs(found.sunrise - datetime(2026, 6, 21, 2, 57, tzinfo=ALASKA)) < timedelta(minutes=3)
    assert abs(found.sunset - datetime(2026, 6, 22, 0, 47, tzinfo=ALASKA)) < timedelta(minutes=3)
    assert found.sunrise.utcoffset() == when.utcoffset()
    assert found.first <= when <= found.last
    assert found.stays is None


def test_past_midnight_by_the_clock_it_is_still_the_day_of_the_sun():
    late = daylight(*FAIRBANKS, datetime(2026, 6, 22, 0, 30, tzinfo=ALASKA))
    assert late == daylight(*FAIRBANKS, datetime(2026, 6, 21, 15, tzinfo=ALASKA))
    assert darkness(*FAIRBANKS, datetime(2026, 6, 22, 0, 30, tzinfo=ALASKA)) is None
    early = daylight(42.1, -160.05, datetime(2026, 8, 14, 1, tzinfo=timezone(timedelta(hours=-10))))
    assert early == daylight(42.1, -160.05, datetime(2026, 8, 14, 15, tzinfo=timezone(timedelta(hours=-10))))


@given(
    lat=st.floats(-89, 89), lon=st.floats(-180, 180), hours=st.integers(-12, 14),
    when=st.datetimes(datetime(2025, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),
)  # fmt: skip
def test_the_sun_is_up_between_rise_and_set_and_down_before_and_after(lat, lon, hours, when):
    found = daylight(lat, lon, when.astimezone(timezone(timedelta(hours=hours))))
    hair = 0.06  # the almanac's and the library's own accuracy [deg]
    if found.stays is not None:
        noon = max(almanac_sun(lat, lon, when + timedelta(minutes=10 * i))[1] for i in range(-144, 145))
        least = min(almanac_sun(lat, lon, when + timedelta(minutes=10 * i))[1] for i in range(-144, 145))
        assert (least > -0.833 - 0.8) if found.stays == "up" else (noon < -0.833 + 0.8)  # a day's change at most
        return
    for moment in (found.sunrise, found.sunset):
        if moment is not None:
            assert almanac_sun(lat, lon, moment)[1] == pytest.approx(-0.833, abs=hair)
            assert abs(moment - when) <= timedelta(hours=24)
    if found.sunrise is not None and found.sunset is not None:
        assert timedelta(0) < found.sunset - found.sunrise < timedelta(hours=24)
        middle = found.sunrise + (found.sunset - found.sunrise) / 2
        assert almanac_sun(lat, lon, middle)[1] > -0.833 - hair


def test_on_the_last_day_before_the_polar_day_the_light_runs_to_midnight():
    days = [daylight(72.2, -34.4, datetime(2026, 5, day, 14, tzinfo=UTC)) for day in range(1, 15)]
    kinds = [(d.sunrise is not None, d.sunset is not None, d.stays) for d in days]
    assert kinds[0] == (True, True, None)
    assert kinds[-1] == (False, False, "up")
    assert kinds == sorted(kinds, key=lambda kind: (not kind[0], not kind[1]))  # no day of light is lost in between
    for d in days:
        assert (d.first is None) == (d.stays is not None)
        assert darkness(72.2, -34.4, datetime(2026, 5, days.index(d) + 1, 14, tzinfo=UTC)) is None


def test_a_time_without_its_offset_is_refused():
    with pytest.raises(RangeError, match="offset"):
        daylight(42.1, -160.05, datetime(2026, 8, 14, 15))


@pytest.mark.parametrize(
    ("lat", "month", "hour", "dark"),
    [(42.1, 8, 15, False), (42.1, 8, 23, True), (42.1, 8, 4, True), (78.2, 6, 23, False), (78.2, 12, 12, True)],
)
def test_flying_in_the_dark_is_cautioned(lat, month, hour, dark):
    found = darkness(lat, 15.6, datetime(2026, month, 14, hour, tzinfo=timezone(timedelta(hours=1))))
    assert (found is not None) == dark
    if found is not None:
        assert found.code == "dark"
        assert found.values["at"] == f"2026-{month:02d}-14T{hour:02d}:00:00+01:00"
        assert (found.values["first"] is None) == (lat > 66)


def test_a_plan_in_the_dark_says_so(plan_of, small_plan):
    night = plan_of({"when": "2026-08-14T22:30-10:00"})
    assert "dark" in {f.code for f in night.cautions}
    assert "dark" not in {f.code for f in small_plan.cautions}


@pytest.mark.parametrize(
    ("course", "azimuth", "elevation", "blinds"),
    [(270, 275, 10, True), (270, 299, 19, True), (270, 301, 10, False), (270, 275, 21, False), (270, 275, -0.5, False),
     (90, 275, 10, False), (355, 5, 10, True)],
)  # fmt: skip
def test_glare(course, azimuth, elevation, blinds):
    found = glare(course, azimuth, elevation)
    assert (found is not None) == blinds
    if found is not None:
        assert found.code == "sun-in-the-eyes"
        assert found.values == {
            "elevation_deg": elevation,
            "azimuth_deg": azimuth,
            "off_deg": abs((course - azimuth + 180) % 360 - 180),
            "course_deg": course,
            "departing": False,
        }


def test_low_sun_ahead_is_a_caution_of_the_site(plan_of, small_plan):
    # wind from the west in the evening: the arrival is flown into wind, and into the sun
    keys = {"weather.wind": "285 deg 16 kt", "limits.tailwind": "0 kt", "limits.crosswind": "4 kt"}
    evening = plan_of({**keys, "when": "2026-08-14T18:30-10:40"})
    codes = [{f.code for f in site.cautions} for site in evening.usable]
    assert codes
    assert all("sun-in-the-eyes" in said for said in codes)
    assert not any("sun-in-the-eyes" in {f.code for f in site.cautions} for site in small_plan.usable)
