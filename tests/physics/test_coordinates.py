import re

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from diproute.errors import QuantityError, RangeError
from diproute.physics.coordinates import format_ddm, format_dms, format_mgrs, parse_position
from diproute.physics.geodesy import LocalFrame, distance_and_course

HEAD = 42 + 10.5 / 60, -(160 + 3.25 / 60)
POINT = 64.84052, -147.60437  # the point of the 2011 interagency policy, written three ways


@pytest.mark.parametrize(
    "text",
    [
        "42 10.500 N 160 03.250 W",
        "N 42 10.500 W 160 03.250",
        "N42 10.5 W160 3.25",
        "42 10.500N, 160 03.250W",
        "42°10.500'N 160°03.250'W",
        "42° 10.500′ N; 160° 03.250′ W",
        "42º 10.500’ n 160º 03.250’ w",
        "N42-10.500 W160-03.250",
        "42-10.500N/160-03.250W",
        "42:10.500 N 160:03.250 W",
        "4210.500N 16003.250W",
        "N4210.500 W16003.250",
        "421030N 1600315W",
        "42 10 30 N 160 03 15 W",
        "42° 10' 30\" N 160° 03' 15\" W",
        "42° 10′ 30″ N 160° 03′ 15″ W",
        "42° 10' 30'' N 160° 03' 15'' W",
        "42d10'30\"N 160d03'15\"W",
        "42 deg 10 min 30 sec N, 160 deg 3 min 15 sec W",
        "42.175 N 160.0541666667 W",
        "42.175° north, 160.0541666667° west",
        "lat 42.175 N lon 160.0541666667 W",
        "Latitude: 42.175 N, Longitude: 160.0541666667 W",
        "+42.175 -160.0541666667",
        "+42.175, −160.0541666667",
        "+42.175-160.0541666667/",
        "+42 10.500 -160 03.250",
        "42.175 N -160.0541666667",
        "42\u00a010.500\u2009N\u202f160\u00a003.250\u2009W",
    ],
)
def test_one_position_in_many_hands(text):
    assert parse_position(text, "drop.at") == pytest.approx(HEAD, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("N 64 50.431' W 147 36.262'", 1),
        ("64 50' 25.9\" N 147 36' 15.7\" W", 2),
        ("06WVS7133090817", 1.5),
        ("6W VS 71330 90817", 1.5),
        ("06w vs 7133 9081", 8),
        ("6WVS713908", 71),
    ],
)
def test_the_point_of_the_policy(text, metres):
    lat, lon = parse_position(text, "drop.at")
    assert distance_and_course(lon, lat, POINT[1], POINT[0])[0] < metres


def test_incident_format_example():
    assert parse_position("42.1010 N 160.0420 W", "base.at") == pytest.approx((42.101, -160.042), abs=1e-12)


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [("0.5 S 0 E", -0.5, 0), ("-0 30 +0 15", -0.5, 0.25), ("0 N 0 W", 0, 0), ("90 S 180 W", -90, -180)],
)
def test_near_zero_and_at_the_ends(text, lat, lon):
    assert parse_position(text, "at") == (lat, lon)
    assert "-0.0" not in str(parse_position("0 N 0 W", "at"))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("42.1 -160.05", "one hemisphere letter .* or one sign on each .* found 1"),
        ("42.1, 160.05", "found 0"),
        ("42 N", "found 1"),
        ("42.1 N 160.05", "found 1"),
        ("-42 N 160 W", "found 3"),
        ("N42.1 N 160 W", "found 3"),
        ("160.05 W 42.1 N", "swapped"),
        ("-160.05 +42.1", "latitude -160.05 is outside .* swapped"),
        ("42.1 W -160.05", "swapped"),
        ("42 N 43 N", r"wanted a latitude \(N, S\) and a longitude"),
        ("95 N 10 E", "latitude 95 is outside"),
        ("42 N 200 W", "longitude -200 is outside"),
        ("42 60.0 N 160 00 W", "below 60"),
        ("42 10 60 N 160 00 00 W", "below 60"),
        ("4260.0N 16000.0W", "below 60"),
        ("421N 16003W", "outside"),
        ("42.5 10.5 N 160 W", "only the last .* decimals"),
        ("42..1 N 160 W", "only the last .* decimals"),
        ("42' 10° N 160 W", "in that order"),
        ("42° 10° N 160 W", "in that order"),
        ("1 2 3 4 N 5 W", "in that order"),
        ("42,1 N 160,05 W", "decimal point"),
        ("42,1 N 160 W", "beside each number"),
        ("+42,1 -160", "beside each number"),
        ("N 42 10 W", "in that order"),
        ("10:30", "found 0"),
        ("hello", "cannot read 'hello'"),
        ("42 N 160 W!", "cannot read '!'"),
        ("", "position as text"),
        (None, "position as text"),
        (42.1, "position as text"),
        ((42.1, -160.0), "position as text"),
        ("38SMB4484", "coarser than 100 m"),
        ("38SMB", "coarser than 100 m"),
        ("38SMB44148", "as many figures"),
        ("38SMB 4414 847", "as many figures"),
        ("38SMB 441408 847068", "as many figures"),
        ("99SMB4414084706", "no MGRS square 99SMB"),
        ("38NMB4414084706", "no MGRS square 38NMB"),
        ("38XMB4414084706", "no MGRS square 38XMB"),
        ("38SAB4414084706", "no MGRS square 38SAB"),
        ("38SJB4414084706", "no MGRS square 38SJB"),
        ("38SMX4414084706", "no MGRS square 38SMX"),
        ("00SMB4414084706", "no MGRS square 00SMB"),
        ("32XNE4414084706", "no MGRS square 32XNE"),
    ],
)
def test_refusals(text, message):
    with pytest.raises(QuantityError, match=message) as caught:
        parse_position(text, "drop.at")
    assert str(caught.value).startswith("drop.at: got")
    assert caught.value.where == "drop.at"
    assert caught.value.got == text


@given(st.text(alphabet="0123456789.,+-NSEW°'\" /", max_size=30))
def test_any_text_gives_a_place_on_earth_or_a_refusal(text):
    try:
        lat, lon = parse_position(text, "at")
    except QuantityError:
        return
    assert -90 <= lat <= 90
    assert -180 <= lon <= 180


# printing, and the way back
@given(st.floats(-90, 90), st.floats(-180, 180))
def test_printed_positions_read_back(lat, lon):
    for text, digit in (
        (format_ddm(lat, lon), 0.0005 / 60),
        (format_ddm(lat, lon, 5), 0.000005 / 60),
        (format_dms(lat, lon), 0.05 / 3600),
        (format_dms(lat, lon, 0), 0.5 / 3600),
    ):
        assert parse_position(text, "at") == pytest.approx((lat, lon), abs=digit * 1.0001 + 1e-12)
        assert not re.search(r"\b60(\.0*)?['\"]", text)


@given(st.floats(-80, 83.999), st.floats(-180, 180))
@example(72.609375, 0.0)  # on the edges of a zone and of a square
@example(2.0, 0.0)
@example(5.0, 180.0)
@example(-16.7, 179.9999999)
@example(8.0, 0.0)
@example(84 - 1e-6, 10.0)
@example(-1e-11, 0.0)
def test_mgrs_reads_back(lat, lon):
    read = parse_position(format_mgrs(lat, lon), "at")
    assert distance_and_course(lon, lat, *read[::-1])[0] < 1.5


@pytest.mark.parametrize(
    ("lat", "lon"), [(72, 9), (72, 9.5), (72, 21), (72, 33), (56, 3), (64, 3), (-80, 0), (0, 0), (16, 12), (8, 180)]
)
def test_mgrs_reads_back_on_the_edge_of_a_band_with_zones_of_its_own(lat, lon):
    """The corner of such a metre's square lies with the band below, whose zones are cut elsewhere."""
    read = parse_position(format_mgrs(lat, lon), "at")
    assert read[0] == pytest.approx(lat, abs=2e-5)
    assert (read[1] - lon + 180) % 360 - 180 == pytest.approx(0.0, abs=6e-5)


@pytest.mark.parametrize("text", ["32XNE0000000000", "33WTV9336399233", "33XTV9336300233"])
def test_mgrs_squares_that_do_not_exist_are_refused(text):
    with pytest.raises(QuantityError, match="no MGRS square"):
        parse_position(text, "at")


# independent route: UTM of our own frame, cut off at the metre
@given(st.floats(1, 55), st.floats(-179.9, 179.9).filter(lambda lon: 1e-6 < lon % 6 < 6 - 1e-6))
def test_mgrs_figures_are_utm_cut_off(lat, lon):
    zone = int((lon + 180) // 6) + 1
    x, y = LocalFrame(0, 6 * zone - 183).to_xy(lon, lat)
    east, north = 500000 + 0.9996 * x, 0.9996 * y
    figures = format_mgrs(lat, lon)[-10:]
    for got, exact in ((int(figures[:5]), east % 100000), (int(figures[5:]), north % 100000)):
        assert -1e-3 <= (exact - got) % 100000 < 1.001 or (exact - got) % 100000 > 100000 - 1e-3


@pytest.mark.parametrize(
    ("lat", "lon", "ddm", "dms"),
    [
        (41 + 59.9996 / 60, 0.99999999, "N 42° 00.000' E 001° 00.000'", "N 42° 00' 00.0\" E 001° 00' 00.0\""),
        (-41 - 59.9994 / 60, -179.99999999, "S 41° 59.999' W 180° 00.000'", "S 42° 00' 00.0\" W 180° 00' 00.0\""),
        (0, 0, "N 00° 00.000' E 000° 00.000'", "N 00° 00' 00.0\" E 000° 00' 00.0\""),
        (POINT[0], POINT[1], "N 64° 50.431' W 147° 36.262'", "N 64° 50' 25.9\" W 147° 36' 15.7\""),
    ],
)
def test_rolls_over_to_the_next_degree(lat, lon, ddm, dms):
    assert format_ddm(lat, lon) == ddm
    assert format_dms(lat, lon) == dms


@pytest.mark.parametrize("printer", [format_ddm, format_dms, format_mgrs])
def test_unknown_is_said_and_swapped_is_refused(printer):
    assert printer(np.nan, 10) == "not known"
    assert printer(10, np.nan) == "not known"
    with pytest.raises(RangeError, match="swapped"):
        printer(-160.05, 42.1)
