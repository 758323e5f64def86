"""What the page works out for itself: printed numbers, places, distances; each against another way."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from mgrs import MGRS

from diproute.physics.coordinates import format_ddm, format_dms
from diproute.units import show, show_course, show_time

COUNT = 3000


def spread(count, *axes):
    """Places spread evenly (additive recurrence, M. Roberts, 2018): the same in every run."""
    step = 1.3247179572447460  # the plastic number
    return [[low + (0.5 + n * step ** -(i + 1)) % 1.0 * (high - low) for n in range(count)]
            for i, (low, high) in enumerate(axes)]  # fmt: skip


@pytest.fixture(scope="module")
def page(browser, file):
    context = browser.new_context(offline=True)
    opened = context.new_page()
    opened.goto(file.as_uri())
    yield opened
    context.close()


@pytest.mark.parametrize("what", ["height", "distance", "line", "depth", "mass", "volume", "wind", "speed"])
def test_a_number_is_printed_as_the_rest_prints_it(page, what):
    (values,) = spread(400, (-50.0, 99_000.0))
    values += [0.0, 0.5, 1.5, 2.5, 0.25, 0.35, 0.05, 0.125, 1234567.0, 926.0, 2778.0]
    drawn = page.evaluate("([values, what]) => values.map((v) => dip.show(v, what))", [values, what])
    assert drawn == [show(value, what, "us") for value in values]


def test_temperatures_times_and_courses_are_printed_likewise(page):
    (kelvin,), (seconds,), (course,) = (spread(300, axis) for axis in ((233.0, 323.0), (0.0, 9000.0), (-400.0, 800.0)))
    course += [0.5, 1.5, 359.5, 360.0, -0.5]
    drawn = page.evaluate(
        "([k, s, c]) => [k.map((v) => dip.show(v, 'temperature')), s.map(dip.span), c.map(dip.course)]",
        [kelvin, seconds, course],
    )
    assert drawn[0] == [show(value, "temperature", "us") for value in kelvin]
    assert drawn[1] == [show_time(value) for value in seconds]
    assert drawn[2] == [show_course(value) for value in course]


def test_what_is_not_known_is_printed_as_not_known(page):
    assert page.evaluate("[dip.show(null, 'mass'), dip.show(NaN, 'mass'), dip.share(null)]") == ["not known"] * 3


def test_places_in_degrees_and_minutes_and_in_seconds(page):
    lat, lon = spread(600, (-85.0, 85.0), (-180.0, 180.0))
    lat, lon = [*lat, 59.99999999, -0.0000001], [*lon, 9.99999999, 179.9999999]
    drawn = page.evaluate(
        "([a, o]) => a.map((v, i) => [dip.ddm(v, o[i]).join(' '), dip.dms(v, o[i]).join(' ')])", [lat, lon]
    )
    assert drawn == [[format_ddm(a, o), format_dms(a, o)] for a, o in zip(lat, lon, strict=True)]


def test_grid_references_agree_with_the_library(page):
    lat, lon = spread(COUNT, (-80.0, 84.0), (-180.0, 180.0))
    drawn = page.evaluate("([a, o]) => a.map((v, i) => dip.mgrs(v, o[i]))", [lat, lon])
    library = MGRS()
    wanted = [library.toMGRS(a, o) for a, o in zip(lat, lon, strict=True)]
    differ = [(got, want) for got, want in zip(drawn, wanted, strict=True) if got.replace(" ", "") != want]
    assert len(differ) <= 5
    for got, want in differ:  # a metre, where rounding falls to the other side
        squares = got.replace(" ", "")[:5], want[:5]
        assert squares[0] == squares[1]
        assert all(abs(int(g) - int(w)) <= 1 for g, w in ((got[-11:-6], want[5:10]), (got[-5:], want[10:])))


def test_distances_and_courses_agree_with_another_geodesic(page):
    lat, lon, north, east = spread(500, (-70.0, 70.0), (-180.0, 180.0), (-0.6, 0.7), (-0.9, 1.0))
    ends = [(a, o, a + n, o + e) for a, o, n, e in zip(lat, lon, north, east, strict=True)]
    drawn = np.array(page.evaluate("(ends) => ends.map((e) => dip.inverse(...e))", ends))
    lines = [Geodesic.WGS84.Inverse(*end) for end in ends]
    assert drawn[:, 0] == pytest.approx([line["s12"] for line in lines], abs=0.002)
    turn = (drawn[:, 1] - [line["azi1"] for line in lines] + 180.0) % 360.0 - 180.0
    assert abs(turn).max() < 1e-4


def test_a_place_ahead_is_where_a_ring_or_a_wedge_is_drawn(page):
    lat, lon, course, metres = spread(300, (-65.0, 70.0), (-180.0, 180.0), (0.0, 360.0), (50.0, 19_000.0))
    given = [list(one) for one in zip(lat, lon, course, metres, strict=True)]
    drawn = page.evaluate("(given) => given.map((g) => dip.ahead(...g))", given)
    for (a, o, deg, far), (b, p) in zip(given, drawn, strict=True):
        line = Geodesic.WGS84.Direct(a, o, deg, far)
        off = Geodesic.WGS84.Inverse(b, p, line["lat2"], line["lon2"])["s12"]
        assert off < max(0.5, far * 2e-4)


def test_time_in_the_wind_is_that_of_the_triangle(page):
    """Against the vectors: heading and wind add up to the track."""
    airspeed = 41.2  # of the invented helicopter, loaded
    for from_deg, speed, course in ((240.0, 6.17, 60.0), (240.0, 6.17, 240.0), (310.0, 12.0, 17.0)):
        page.evaluate("([f, s]) => { dip.data.plan.wind = [f, s]; }", [from_deg, speed])
        here = {"lat": 42.1, "lng": -160.05}
        end = Geodesic.WGS84.Direct(42.1, -160.05, course, 10_000.0)
        said = page.evaluate("([a, b]) => dip.measureWords(a, b)", [here, {"lat": end["lat2"], "lng": end["lon2"]}])
        track = np.array([np.sin(np.radians(course)), np.cos(np.radians(course))])
        blown = -speed * np.array([np.sin(np.radians(from_deg)), np.cos(np.radians(from_deg))])
        along, across = blown @ track, blown @ np.array([track[1], -track[0]])
        seconds = 10_000.0 / (along + np.sqrt(airspeed**2 - across**2))
        assert f"loaded {show_time(seconds)}," in said
