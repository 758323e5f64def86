import pickle

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.geodesy import LocalFrame, destination, distance_and_course

latitudes = st.floats(-85, 85)
longitudes = st.floats(-179.9, 179.9)
courses = st.floats(0, 359.99)
FRAMES = {at: LocalFrame(*at) for at in [(42.1, -160.05), (-37.9, 144.4), (69.5, 18.0), (0.0, 179.99)]}


# independent route: GeographicLib's own Python package
@given(latitudes, longitudes, latitudes, longitudes)
def test_distance_and_course_by_geographiclib(lat1, lon1, lat2, lon2):
    theirs = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)
    distance, course = distance_and_course(lon1, lat1, lon2, lat2)
    assert distance == pytest.approx(theirs["s12"], abs=1e-5)
    if 1 < theirs["s12"] < 19.9e6:  # on top of each other or antipodal, the course is anybody's
        assert (course - theirs["azi1"] + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)


@given(latitudes, longitudes, courses, st.floats(1, 50000))
def test_destination_by_geographiclib_and_back(lat, lon, course, metres):
    theirs = Geodesic.WGS84.Direct(lat, lon, course, metres)
    to_lon, to_lat = destination(lon, lat, course, metres)
    assert to_lat == pytest.approx(theirs["lat2"], abs=1e-10)
    assert (to_lon - theirs["lon2"] + 180) % 360 - 180 == pytest.approx(0, abs=1e-9)
    distance, start = distance_and_course(lon, lat, to_lon, to_lat)
    assert distance == pytest.approx(metres, abs=1e-6)
    assert (start - course + 180) % 360 - 180 == pytest.approx(0, abs=1e-3)


# the working frame
@pytest.mark.parametrize("at", FRAMES)
def test_plane_distances_agree_with_the_geodesic(at):
    frame, rng = FRAMES[at], np.random.default_rng(7)
    radius, angle = 30000 * np.sqrt(rng.random((2, 400))), 2 * np.pi * rng.random((2, 400))
    x, y = radius * np.sin(angle), radius * np.cos(angle)
    lon, lat = frame.to_lonlat(x, y)
    plane = np.hypot(x[1] - x[0], y[1] - y[0])
    geodesic, _ = distance_and_course(lon[0], lat[0], lon[1], lat[1])
    worst = np.abs(plane / geodesic - 1).max()
    assert worst < 0.001  # what the method asks for
    assert worst < 2e-5  # what the docstring says


@given(st.sampled_from(sorted(FRAMES)), st.floats(-60000, 60000), st.floats(-60000, 60000))
def test_to_lonlat_and_back(at, x, y):
    frame = FRAMES[at]
    assert frame.to_xy(*frame.to_lonlat(x, y)) == pytest.approx((x, y), abs=1e-6)


@pytest.mark.parametrize("at", FRAMES)
def test_centre_is_the_origin(at):
    assert FRAMES[at].to_xy(at[1], at[0]) == pytest.approx((0, 0), abs=1e-9)


# independent route: the true course of a short step along grid north
@given(st.sampled_from(sorted(FRAMES)), st.floats(-30000, 30000), st.floats(-30000, 30000))
def test_convergence_is_the_true_course_of_grid_north(at, x, y):
    frame = FRAMES[at]
    (lon, _), (lat, _) = (south := frame.to_lonlat([x, x], [y - 5, y + 5]))
    _, course = distance_and_course(lon, lat, south[0][1], south[1][1])
    assert frame.convergence_deg(x, y) == pytest.approx((course + 180) % 360 - 180, abs=1e-4)


def test_convergence_turns_grid_into_true():
    frame = FRAMES[(42.1, -160.05)]
    assert frame.convergence_deg(20000, 0) > 0  # east of the central meridian in the north
    assert FRAMES[(-37.9, 144.4)].convergence_deg(20000, 0) < 0
    lon, lat = frame.to_lonlat(20000, 0)
    there = destination(lon, lat, 90, 1000)
    dx, dy = np.subtract(frame.to_xy(*there), (20000, 0))
    grid = np.degrees(np.arctan2(dx, dy))
    assert grid + frame.convergence_deg(20000, 0) == pytest.approx(90, abs=0.01)


def test_frame_across_the_date_line():
    frame = FRAMES[(0.0, 179.99)]
    x, _ = frame.to_xy([179.98, -179.99], [0, 0])
    np.testing.assert_allclose(x, [-1113.19, 2226.39], atol=0.01)


def test_crs_is_metres_and_scale_one():
    crs = FRAMES[(42.1, -160.05)].crs
    assert crs.is_projected
    assert {axis.unit_name for axis in crs.axis_info} == {"metre"}
    assert "+k=1 " in FRAMES[(42.1, -160.05)].crs.srs


def test_frame_survives_a_pickle():
    frame = pickle.loads(pickle.dumps(FRAMES[(42.1, -160.05)]))
    assert frame.to_xy(-160.0, 42.2) == FRAMES[(42.1, -160.05)].to_xy(-160.0, 42.2)


# arrays
def test_shapes_broadcast_and_nan_stays():
    frame = FRAMES[(42.1, -160.05)]
    x, y = frame.to_xy(np.array([[-160.0], [np.nan]]), [42.0, 42.1, 42.2])
    assert x.shape == y.shape == (2, 3)
    assert np.isnan(x[1]).all()
    assert np.isnan(y[1]).all()
    lon, lat = frame.to_lonlat([0, np.nan], 0)
    assert np.isnan([lon[1], lat[1]]).all()
    turn = frame.convergence_deg([[0, np.nan]], [[1.0], [2.0]])
    np.testing.assert_array_equal(np.isnan(turn), [[False, True], [False, True]])
    metres, course = distance_and_course(-160, 42, [-160, np.nan, -161], 42)
    np.testing.assert_array_equal(np.isnan(metres), [False, True, False])
    np.testing.assert_array_equal(np.isnan(course), [True, True, False])  # no course from a place to itself
    assert np.isnan(destination(-160, 42, [np.nan], 1000)).all()
    assert np.isnan(destination(-160, 42, 0, np.nan)).all()
    assert all(type(value) is float for value in (*frame.to_xy(-160, 42), *destination(-160, 42, 0, 1)))
    assert type(frame.convergence_deg(1.0, 1.0)) is float


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: LocalFrame(-160.05, 42.1), r"latitude: got -160\.05, .* swapped\?"),
        (lambda: FRAMES[(42.1, -160.05)].to_xy(42.1, -160.05), r"latitude: got -160\.05, .* swapped\?"),
        (lambda: FRAMES[(42.1, -160.05)].to_xy(200, 42), r"longitude: got 200, .* west is negative"),
        (lambda: distance_and_course(0, 91, 0, 0), r"latitude: got 91, wanted -90 to 90 deg"),
        (lambda: destination(0, 0, 1000, 5), r"course_deg: got 1000, wanted -360 to 720 deg"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(RangeError, match=message):
        call()
