"""The story of a day: what changes hands and why, from hours made up by hand."""

import math
from datetime import datetime, timedelta, timezone
from types import SimpleNamespace

import pytest

from diproute.planning.story import tell
from diproute.records import Finding, Hour, SiteHour
from diproute.wording import Reader, say

EIGHT = datetime(2026, 8, 14, 8, tzinfo=timezone(timedelta(hours=-10)))
TARN, LAKE, LAKE_2 = (
    SimpleNamespace(name=name, point=SimpleNamespace(water=SimpleNamespace(id=water)))
    for name, water in (("Tarn", "tarn"), ("Lake 1", "lake"), ("Lake 2", "lake"))
)
CLOSED = Finding.of("opens", site="a stand-in")


def works(rate, fill=1.0, density_altitude_m=2000.0):
    return SiteHour(rate, fill, 300.0, 50.0, 0.0, density_altitude_m, ())


def closed(why=CLOSED):
    return SiteHour(math.nan, math.nan, math.nan, math.nan, math.nan, 2000.0, (why,))


def hour(number, *sites, wind=(240.0, 5.0), gust=None):
    rates = [-math.inf if math.isnan(site.litres_per_hour) else site.litres_per_hour for site in sites]
    best = None if max(rates) == -math.inf else rates.index(max(rates))
    return Hour(EIGHT + timedelta(hours=number), 300.0, *wind, tuple(sites), best, gust)


def change(*hours, sites=(TARN, LAKE)):
    (found,) = (found for found in tell(sites, hours) if found.code == "first-changes")
    return found.values


def test_nothing_changes_nothing_is_told():
    assert tell((TARN, LAKE), [hour(0, works(9000), works(8000)), hour(1, works(9500), works(8000))]) == ()


def test_another_point_of_the_same_water_is_no_change():
    assert tell((LAKE, LAKE_2), [hour(0, works(9000), works(8000)), hour(1, works(9000), works(9500))]) == ()


def test_one_that_closes_and_opens_again():
    found = tell(
        (TARN, LAKE),
        [hour(0, works(9000), works(8000)), hour(1, closed(), works(8000)), hour(2, works(9000), works(8000))],
    )
    assert [one.code for one in found] == ["first-changes", "first-changes", "site-closed"]
    lost, won, shut = (one.values for one in found)
    assert lost == {
        "at": "2026-08-14T09:00:00-10:00",
        "site": "Lake 1",
        "before": "Tarn",
        "why": Finding.of("no-longer-works", site="Tarn", why=(CLOSED,)),
    }
    assert won["why"] == Finding.of("opens", site="Tarn")
    assert shut == {
        "site": "Tarn",
        "at": "2026-08-14T09:00:00-10:00",
        "until": "2026-08-14T10:00:00-10:00",
        "why": (CLOSED,),
    }


def test_one_that_stays_closed_has_no_end():
    (first, shut) = tell((TARN, LAKE), [hour(0, works(9000), works(8000)), hour(1, closed(), works(8000))])
    assert first.code == "first-changes"
    assert shut.values["until"] is None
    assert say(shut, Reader("us")) == "Tarn does not work from 09:00: a stand-in opens"


def test_one_that_never_works_is_no_story():
    assert tell((TARN, LAKE), [hour(0, closed(), works(8000)), hour(1, closed(), works(8000))]) == ()


def test_no_site_and_then_one():
    found = tell((LAKE,), [hour(0, works(8000)), hour(1, closed()), hour(2, works(8000))])
    assert [say(one) for one in found[:2]] == ["from 09:00 no site works", "from 10:00 Lake 1 is first"]


def test_thin_air_takes_the_fill_of_the_first():
    before = hour(0, works(9000, 0.9, 2400.0), works(8000))
    why = change(before, hour(1, works(7000, 0.7, 2700.0), works(7900)))["why"]
    assert why.code == "fill-falls"
    assert say(why, Reader("us")) == (
        "the density altitude at Tarn goes from 7\u202f874 ft to 8\u202f858 ft and its bucket setting from 90 % to "
        "70 %, Lake 1 takes 100 %"
    )
    assert "2\u202f400 m to 2\u202f700 m" in say(why, Reader("metric"))


def test_cooler_air_gives_the_rival_more():
    why = change(hour(0, works(8000), works(7000, 0.7)), hour(1, works(8100), works(9000, 0.9)))["why"]
    assert why == Finding.of("fill-rises", rival="Lake 1", rival_fill_before=0.7, rival_fill=0.9)
    assert say(why) == "Lake 1 takes a bucket setting of 90 % instead of 70 % in the cooler air"


def test_the_wind_moves_what_both_deliver():
    before = hour(0, works(9000), works(8000), wind=(150.0, 2.0))
    why = change(before, hour(1, works(8000), works(8500), wind=(240.0, 6.0)))["why"]
    assert why.code == "rates-change"
    assert say(why, Reader("us")) == (
        "with the wind going from 150° true 4 kt to 240° true 12 kt, Tarn goes from 2\u202f378 US gal to "
        "2\u202f113 US gal an hour, Lake 1 from 2\u202f113 US gal to 2\u202f245 US gal"
    )
    assert "Tarn goes from 9\u202f000 L to 8\u202f000 L an hour" in say(why, Reader("metric"))


def test_a_wind_that_stays_is_not_named():
    why = change(hour(0, works(9000), works(8000)), hour(1, works(8000), works(8500), wind=(240.4, 5.2)))["why"]
    assert why.values["wind"] is None
    assert say(why).startswith("Tarn goes from 9\u202f000 L to 8\u202f000 L an hour")


@pytest.mark.parametrize("wind", [(240.0, 5.0), (150.0, 4.1)])
def test_gusts_are_named_as_gusts_and_never_as_the_wind(wind):
    """A forecast change brings its gusts with another direction before the steady wind has turned."""
    before = hour(0, works(9000), works(8000), wind=(150.0, 4.1))
    why = change(before, hour(1, works(8000), works(8500), wind=wind, gust=15.4))["why"]
    sentence = say(why, Reader("us"))
    steady = f"{wind[0]:.0f}° true {wind[1] * 3600 / 1852:.0f} kt, gusts up to 30 kt"
    assert f"from 150° true 8 kt to {steady}, Tarn" in sentence
    assert "true 30 kt" not in sentence
