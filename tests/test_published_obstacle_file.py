"""Records of the FAA digital obstacle file. Nothing in this file was computed by diproute.

Column layout: DOF_README 2018/2019, restated in a public parser. Records: from the published daily file of June 2026 and
the file current to 21 December 2025, as restated in the tests of two public parsers (a US government work).
Accuracy codes: DOF_README, as restated by public parsers. Old layout: a state transport department's reader (2012).
"""
# ruff: noqa: E501  records stand column by column, as published

from datetime import date

import pytest
from layer_scene import LAT, flat, grid, incident, write_vector
from shapely import box

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.layers import open_layers
from diproute.reading.obstacle_file import HORIZONTAL_M, VERTICAL_M, read_obstacle_file
from diproute.reading.obstacles import read_obstacles
from diproute.records import Finding

FT = 0.3048  # NIST SP 811, Appendix B
NM = 1852.0

HEADER = """\
  CURRENCY DATE = 06/27/26
                                     LATITUDE    LONGITUDE     OBSTACLE            AGL  AMSL LT ACC MAR FAA       ACTION
OAS#      V CO ST CITY             DEG MIN SEC  DEG MIN SEC   TYPE                 HT    HT    H V IND STUDY            JDATE
-------------------------------------------------------------------------------------------------------------------------------
"""
RIG = "01-001307 O US AL DAUPHIN ISLAND   30 10 45.00N 088 04 39.00W RIG                1 00236 00236 R 5 D M 1990ASO01578OE C 2014138 "
RIG_2 = "01-001459 O US AL DAUPHIN ISLAND   30 11 20.00N 088 07 15.00W RIG                1 00240 00241 R 5 D M 1992ASO02229OE C 2014138 "
STACK = "01-001472 O US AL FORT MORGAN      30 11 20.00N 087 57 10.00W STACK              1 00193 00193 R 5 D M 1992ASO02230OE C 2014138 "
TANK = "02-292529 U US AK EARECKSON AIR ST 52 43 15.70N 174 06 36.60E TANK               1 00013 00187 N 4 D N 2020AAL00320OE A 2020246 "
BELOW = "06-310880 U US CA EL CENTRO        32 49 30.90N 115 40 17.60W BLDG               1 00027 -0017 R 4 D N 2023AWP08259OE A 2025263 "


def read(tmp_path, *lines, header=HEADER):
    path = tmp_path / "DOF.DAT"
    path.write_bytes((header + "\r\n".join([*lines, ""])).encode("latin-1"))
    return read_obstacle_file(path, -180, -90, 180, 90)


@pytest.mark.parametrize(
    ("line", "number", "verified", "lat", "lon", "type_", "agl_ft", "amsl_ft", "accuracy_ft", "error_ft", "when"),
    [
        (RIG, "01-001307", True, 30 + 10 / 60 + 45 / 3600, -(88 + 4 / 60 + 39 / 3600), "rig", 236, 236, 500, 50, date(2014, 5, 18)),
        (RIG_2, "01-001459", True, 30 + 11 / 60 + 20 / 3600, -(88 + 7 / 60 + 15 / 3600), "rig", 240, 241, 500, 50, date(2014, 5, 18)),
        (STACK, "01-001472", True, 30 + 11 / 60 + 20 / 3600, -(87 + 57 / 60 + 10 / 3600), "stack", 193, 193, 500, 50, date(2014, 5, 18)),
        (TANK, "02-292529", False, 52 + 43 / 60 + 15.7 / 3600, 174 + 6 / 60 + 36.6 / 3600, "tank", 13, 187, 250, 50, date(2020, 9, 2)),
        (BELOW, "06-310880", False, 32 + 49 / 60 + 30.9 / 3600, -(115 + 40 / 60 + 17.6 / 3600), "bldg", 27, -17, 250, 50,
         date(2025, 9, 20)),
    ],
)  # fmt: skip
def test_published_records(
    tmp_path, line, number, verified, lat, lon, type_, agl_ft, amsl_ft, accuracy_ft, error_ft, when
):
    found = read(tmp_path, line)
    assert found.current == date(2026, 6, 27)
    (record,) = found.obstacles
    assert (record.number, record.verified, record.type, record.quantity) == (number, verified, type_, 1)
    assert record.lat_deg == pytest.approx(lat, abs=1e-9)
    assert record.lon_deg == pytest.approx(lon, abs=1e-9)
    assert record.height_m == pytest.approx(agl_ft * FT)
    assert record.top_m == pytest.approx(amsl_ft * FT)
    assert record.accuracy_m == pytest.approx(accuracy_ft * FT)
    assert record.vertical_error_m == pytest.approx(error_ft * FT)
    assert record.dated == when
    assert not record.dismantled


def test_accuracy_codes():
    feet = {"1": 20, "2": 50, "3": 100, "4": 250, "5": 500, "6": 1000}
    assert pytest.approx({**{k: v * FT for k, v in feet.items()}, "7": NM / 2, "8": NM, "9": None}) == HORIZONTAL_M
    tall = {"A": 3, "B": 10, "C": 20, "D": 50, "E": 125, "F": 250, "G": 500, "H": 1000}
    assert pytest.approx({**{k: v * FT for k, v in tall.items()}, "I": None}) == VERTICAL_M


def test_days_of_the_year():
    # "2012001 = 1 Jan 2012", the state transport department's reader
    assert RIG[120:127] == "2014138"


def test_the_day_of_the_year_is_counted_from_one(tmp_path):
    assert read(tmp_path, RIG[:120] + "2012001 ").obstacles[0].dated == date(2012, 1, 1)


def test_only_what_lies_in_the_box(tmp_path):
    read(tmp_path, RIG, STACK, TANK, BELOW)
    found = read_obstacle_file(tmp_path / "DOF.DAT", -88.1, 30, -87.9, 31)
    assert [record.number for record in found.obstacles] == ["01-001307", "01-001472"]


def test_a_box_may_lie_across_180_degrees(tmp_path):
    east, west = (RIG.replace("088 04 39.00W", place) for place in ("179 57 00.00E", "179 57 00.00W"))
    read(tmp_path, RIG, east, west, TANK)
    for left, right in ((179.9, 180.1), (-180.1, -179.9)):
        found = read_obstacle_file(tmp_path / "DOF.DAT", left, 30, right, 31)
        assert [record.lon_deg for record in found.obstacles] == pytest.approx([179.95, -179.95])


# Old layout: type 63-74, quantity 76, AGL 78-82, AMSL 84-88, lighting 90, horizontal 92, vertical 94, date 115-121
OLD = RIG[:62] + "RIG         " + " 1 00236 00336 R 5 D M 1990ASO01578OE C     2012001"


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (OLD, "layout of before 2018"),
        (RIG[:35] + "XX 10 45.00N" + RIG[47:], "line 5 does not fit"),
        (RIG[:35] + "30 70 45.00N" + RIG[47:], "line 5 does not fit"),
        (RIG[:83] + "0A236" + RIG[88:], "line 5 does not fit"),
        (RIG[:60], "line 5 does not fit"),
        (RIG[:120] + "2014999 ", "line 5 does not fit"),
        ("nonsense", "line 5 does not fit"),
    ],
    ids=["old", "latitude", "minutes", "height", "short", "day", "nonsense"],
)
def test_what_does_not_fit_is_refused(tmp_path, line, words):
    with pytest.raises(LayerError, match=words) as caught:
        read(tmp_path, line)
    assert "\n" not in str(caught.value)


def test_a_blank_height_is_not_known(tmp_path):
    (record,) = read(tmp_path, RIG[:83] + "     " + RIG[88:]).obstacles
    assert record.height_m is None
    assert record.top_m == pytest.approx(236 * FT)


# ----------------------------------------------------------------------------------- the records as obstacles
def near_dauphin(tmp_path, *lines, today=date(2026, 8, 14), header=HEADER):
    read(tmp_path, *lines, header=header)
    frame = LocalFrame(30.19, -88.03)
    found, cautions = read_obstacles([(tmp_path / "DOF.DAT", None)], frame, grid(12_000, 50), today)
    return found, {c.code: c for c in cautions}, frame


def test_records_become_obstacles(tmp_path):
    found, said, frame = near_dauphin(tmp_path, RIG, STACK)
    assert [(o.name, o.kind, o.verified) for o in found] == [
        ("stack 01-001472", "chimney", True), ("rig 01-001307", "obstacle", True),
    ]  # fmt: skip
    x, y = frame.to_xy(-(88 + 4 / 60 + 39 / 3600), 30 + 10 / 60 + 45 / 3600)
    assert (found[1].geometry.x, found[1].geometry.y) == pytest.approx((x, y))
    assert found[1].accuracy_m == pytest.approx(500 * FT)
    assert found[1].top_m == pytest.approx(236 * FT)
    assert set(said) == {"obstacle-kind-unknown"}


def test_unverified_old_dismantled_and_directionless_records_are_said(tmp_path):
    unverified = RIG[:10] + "U" + RIG[11:]
    gone = STACK[:118] + "D" + STACK[119:]
    wire = RIG_2[:62] + "CATENARY          " + RIG_2[80:97] + "9 I" + RIG_2[100:]
    found, said, _ = near_dauphin(tmp_path, unverified, gone, wire, today=date(2026, 10, 1))
    assert {o.kind for o in found} == {"obstacle", "catenary"}
    assert said["obstacle-unverified"].values == {"count": 1}
    (left,) = said["obstacles-left-out"].values["left"]
    assert left == Finding.of("obstacle-gone", count=1, state="dismantled", filed=True)
    assert said["wire-direction-unknown"].values == {"count": 1}
    assert said["obstacle-file-old"].values.items() >= {"days": 96, "current": "2026-06-27"}.items()
    assert said["obstacle-place-unknown"].values["count"] == 1
    catenary = next(o for o in found if o.kind == "catenary")
    assert catenary.is_wire
    assert catenary.accuracy_m is None
    assert catenary.vertical_error_m is None


def test_a_file_without_a_date_says_so(tmp_path):
    _, said, _ = near_dauphin(
        tmp_path, RIG, header=HEADER.replace("CURRENCY DATE = 06/27/26", "                        ")
    )
    assert "obstacle-file-undated" in said


def test_a_catenary_keeps_a_disc_clear(tmp_path):
    deg = "42 06 00.00N 160 03 00.00W"
    wire = RIG[:35] + deg + RIG[61:62] + "CATENARY          " + RIG[80:]
    (tmp_path / "towers.dat").write_text(HEADER + wire + "\n", encoding="latin-1")
    water = write_vector(tmp_path / "w.gpkg", [box(-200, -200, 200, 200)], kind=["lake"])
    opened = open_layers(incident(flat(tmp_path / "a.tif", 0.0), water, radius=900, obstacles=tmp_path / "towers.dat"))
    ground, on = opened.ground, opened.ground.grid
    assert LAT == 42.1
    middle = on.rows // 2
    high = (236 + 50) * FT  # with the vertical accuracy of code D
    assert ground.top[middle, on.cols // 2] == pytest.approx(high, abs=1e-3)
    assert ground.top[middle, on.cols // 2 + 29] == pytest.approx(high, abs=1e-3)
    assert ground.top[middle, on.cols // 2 + 34] == 0
