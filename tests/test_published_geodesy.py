"""Numbers from print for geodesics, UTM, MGRS and coordinate display. Nothing in this file was computed by diproute."""

import pytest
from pyproj import Geod

from diproute.physics.coordinates import format_ddm, format_dms, format_mgrs, parse_position
from diproute.physics.geodesy import LocalFrame, destination, distance_and_course


def dms(degrees, minutes=0.0, seconds=0.0):
    sign = -1 if str(degrees).startswith("-") else 1
    return sign * (abs(degrees) + minutes / 60 + seconds / 3600)


FLINDERS = dms(-37, 57, 3.72030), dms(144, 25, 29.52440)
BUNINYONG = dms(-37, 39, 10.15610), dms(143, 55, 35.38390)
SECOND = 1 / 3600


# Geoscience Australia / ICSM GDA technical manual, as restated by others (GRS 80; WGS 84 agrees to 0.1 mm)
def test_flinders_peak_to_buninyong():
    distance, course = distance_and_course(*FLINDERS[::-1], *BUNINYONG[::-1])
    _, reverse = distance_and_course(*BUNINYONG[::-1], *FLINDERS[::-1])
    assert distance == pytest.approx(54972.271, abs=0.001)
    assert course == pytest.approx(dms(306, 52, 5.37), abs=0.01 * SECOND)
    assert reverse == pytest.approx(dms(127, 10, 25.07), abs=0.01 * SECOND)


# Same manual, MGA zone 55 (from memory, and computed: the last digit of the second easting is 1). UTM is our frame on
# the equator at the zone's central meridian, times 0.9996, with the false origin added.
@pytest.mark.parametrize(
    ("place", "east", "north", "convergence"),
    [
        (FLINDERS, 273741.297, 5796489.777, dms(1, 35, 3.65)),
        (BUNINYONG, 228854.051, 5828259.038, dms(1, 52, 43.22)),
    ],
)
def test_map_grid_of_australia(place, east, north, convergence):
    frame = LocalFrame(0, 147)
    x, y = frame.to_xy(place[1], place[0])
    assert 500000 + 0.9996 * x == pytest.approx(east, abs=0.001)
    assert 10000000 + 0.9996 * y == pytest.approx(north, abs=0.001)
    assert abs(frame.convergence_deg(x, y)) == pytest.approx(convergence, abs=0.01 * SECOND)


# T. Vincenty, Direct and inverse solutions of geodesics, Survey Review XXIII no. 176, 1975, Table II. From memory, and
# computed. Another ellipsoid than ours: this checks the library that the package stands on.
@pytest.mark.parametrize(
    ("axis", "inverse", "lat1", "azimuth1", "metres", "lat2", "lon2", "azimuth2"),
    [
        (6377397.155, 299.1528128, dms(55, 45), dms(96, 36, 8.79960), 14110526.170,
         dms(-33, 26), dms(108, 13), dms(137, 52, 22.01454)),
        (6378388, 297, dms(37, 19, 54.95367), dms(95, 27, 59.63089), 4085966.703,
         dms(26, 7, 42.83946), dms(41, 28, 35.50729), dms(118, 5, 58.96161)),
        (6378388, 297, dms(35, 16, 11.24862), dms(15, 44, 23.74850), 8084823.839,
         dms(67, 22, 14.77638), dms(137, 47, 28.31435), dms(144, 55, 39.92147)),
        (6378388, 297, 1.0, 89.0, 19960000.000, dms(-0.0, 59, 53.83076), dms(179, 17, 48.02997), dms(91, 0, 6.11733)),
        (6378388, 297, 1.0, dms(4, 59, 59.99995), 19780006.558,
         dms(1, 1, 15.18952), dms(179, 46, 17.84244), dms(174, 59, 59.88481)),
    ],
)  # fmt: skip
def test_vincenty_1975(axis, inverse, lat1, azimuth1, metres, lat2, lon2, azimuth2):
    lon, lat, back = Geod(a=axis, rf=inverse).fwd(0, lat1, azimuth1, metres)
    # the table prints five decimals of a second and millimetres; its sources agree within 4e-5 seconds
    assert lat == pytest.approx(lat2, abs=4e-5 * SECOND)
    assert lon == pytest.approx(lon2, abs=4e-5 * SECOND)
    assert (back + 180) % 360 == pytest.approx(azimuth2, abs=4e-5 * SECOND)


# GeographicLib's own Python tests (test_geodesic.py), C. F. F. Karney
@pytest.mark.parametrize(
    ("lat1", "lon1", "course", "lat2", "lon2", "course2", "metres"),
    [
        (35.60777, -139.44815, 111.098748429560326, -11.17491, -69.95921, 129.289270889708762, 8935244.5604818305),
        (55.52454, 106.05087, 22.020059880982801, 77.03196, 197.18234, 109.112041110671519, 4105086.1713924406),
        (-21.97856, 142.59065, -32.44456876433189, 41.84138, 98.56635, -41.84359951440466, 8394328.894657671),
    ],
)
def test_geographiclib_cases(lat1, lon1, course, lat2, lon2, course2, metres):
    lon2 = (lon2 + 180) % 360 - 180
    distance, start = distance_and_course(lon1, lat1, lon2, lat2)
    _, back = distance_and_course(lon2, lat2, lon1, lat1)
    assert distance == pytest.approx(metres, abs=1e-7)
    assert start == pytest.approx(course % 360, abs=1e-11)
    assert back == pytest.approx((course2 + 180) % 360, abs=1e-11)
    assert destination(lon1, lat1, course, metres) == pytest.approx((lon2, lat2), abs=1e-12)


# GeographicLib's documentation: Wellington to Salamanca, and New York to London. From memory, and computed.
@pytest.mark.parametrize(
    ("lat1", "lon1", "lat2", "lon2", "metres", "course", "course2", "digit"),
    [
        (-41.32, 174.81, 40.96, -5.50, 19959679.267, 161.0677, 18.8252, 1e-4),
        (40.6, -73.8, 51.6, -0.5, 5551759.400, 51.199, 107.822, 1e-3),
    ],
)
def test_documentation_examples(lat1, lon1, lat2, lon2, metres, course, course2, digit):
    distance, start = distance_and_course(lon1, lat1, lon2, lat2)
    _, back = distance_and_course(lon2, lat2, lon1, lat1)
    assert distance == pytest.approx(metres, abs=0.001)
    assert start == pytest.approx(course, abs=digit)
    assert (back + 180) % 360 == pytest.approx(course2, abs=digit)


# Computed with a general library
@pytest.mark.parametrize(
    ("lat1", "lon1", "lat2", "lon2", "metres"),
    [(0, 0, 0, 1, 111319.491), (0, 0, 1, 0, 110574.389), (45, 0, 46, 0, 111141.548)],
)
def test_one_degree(lat1, lon1, lat2, lon2, metres):
    assert distance_and_course(lon1, lat1, lon2, lat2)[0] == pytest.approx(metres, abs=0.001)


# NGA.STND.0037 (MGRS truncates, never rounds). First row: GeographicLib's documentation, from memory, and computed;
# second: read; the others computed with a general library. Rows 5 and 6 are the Norway and Svalbard exceptions.
@pytest.mark.parametrize(
    ("lat", "lon", "zone", "east", "north", "digit", "reference"),
    [
        (33.3, 44.4, 38, 444140.545, 3684706.356, 0.001, "38SMB4414084706"),
        (33.5, 74.75, 43, 476779, 3706747, 1, "43SDT7677806747"),
        (38.8895, -77.0353, 18, 323478.063, 4306483.242, 0.001, "18SUJ2347806483"),
        (0, 0, 31, 166021.443, 0, 0.001, "31NAA6602100000"),
        (60, 5, 32, 276979.926, 6658157.202, 0.001, "32VKM7697958157"),
        (79, 10, 33, 393619.931, 8774533.543, 0.001, "33XUH9361974533"),
        (64.84052, -147.60437, 6, 471330.464, 7190817.907, 0.001, "06WVS7133090817"),
    ],
)
def test_utm_and_mgrs(lat, lon, zone, east, north, digit, reference):
    x, y = LocalFrame(0, 6 * zone - 183).to_xy(lon, lat)
    assert 500000 + 0.9996 * x == pytest.approx(east, abs=digit)
    assert 0.9996 * y == pytest.approx(north, abs=digit)
    assert format_mgrs(lat, lon) == reference
    read = parse_position(reference, "at")
    assert distance_and_course(lon, lat, *read[::-1])[0] < 2**0.5  # the corner of its square metre


# US interagency latitude/longitude policy reference, 2011, and BLM National Aviation Plan, App. 4: one point three ways
def test_one_point_three_ways():
    lat, lon = 64.84052, -147.60437
    assert format_ddm(lat, lon).replace("°", "") == "N 64 50.431' W 147 36.262'"
    assert format_dms(lat, lon).replace("°", "") == "N 64 50' 25.9\" W 147 36' 15.7\""
    for text, digit in (("N 64 50.431' W 147 36.262'", 0.001 / 60), ("N 64 50' 25.9\" W 147 36' 15.7\"", 0.1 / 3600)):
        assert parse_position(text, "at") == pytest.approx((lat, lon), abs=digit)
