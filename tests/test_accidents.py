"""Accidents of bucket work as negative tests: the plan refuses the place, or says what was deadly about it.

The cases are those of references.md, section 7, from summaries of the NTSB and the ATSB. Of the others there the model
can say nothing: (c) a small pond and a roll-over at the lift, (e) a descent into the lake while looking for a
vibration, (g) a suspension cable over a skid.
"""

import numpy as np
import pytest
import shapely
from small_incident import Water, disc, place, write_incident

from diproute.errors import LayerError
from diproute.planning.plan import make_plan
from diproute.reading.incident import read_incident

FT = 0.3048
NEAR = {"search.radius": "700 m", "limits.corridor_length": "500 m", "base.at": place(-500, 500)}


def codes(findings):
    return {finding.code for finding in findings}


# (a) NTSB FTW98TA328: a pond of 120 ft by 50 to 70 ft with trees of 30 to 40 ft on two sides; the bucket was dragged
# and the rotor hit the water
LONG, NARROW, WIDE = 120 * FT, 50 * FT, 70 * FT
TANK = shapely.Polygon([(400, -NARROW / 2), (400 + LONG, -WIDE / 2), (400 + LONG, WIDE / 2), (400, NARROW / 2)])
SHORES = shapely.box(400, -60, 400 + LONG, 60).difference(TANK.buffer(1))


def two_rows_of_trees(x, y):
    return np.where(shapely.contains_xy(SHORES, x, y), 35 * FT, 0.0)


@pytest.fixture(scope="module")
def small_pond(tmp_path_factory):
    def make(**keys):
        path = write_incident(
            tmp_path_factory.mktemp("pond"),
            {**NEAR, **{key.replace("__", "."): value for key, value in keys.items()}},
            waters=[Water("Stock pond", TANK, kind="pond", depth_m=3.0)],
            trees=two_rows_of_trees,
            ground=lambda x, y: 601.0 + 0 * (x + y),
            cell=5.0,
            half=1900.0,
        )
        (site,) = make_plan(read_incident(path)).sites
        return site

    return make


def test_pond_with_trees_on_two_sides_is_refused(small_pond):
    site = small_pond()
    assert site.rank is None
    assert "shore-clearance" in codes(site.refused)  # nowhere 10 m from the shore: 70 ft are 21 m


def test_pond_with_trees_is_refused_for_the_belly_hook_even_with_less_room(small_pond):
    site = small_pond(limits__shore_clearance="6 m", lines__carried=["0 m"])
    assert codes(site.refused) == {"line-too-short"}
    # by hand: 35 ft of tree inside the hover circle, 5 m of margin, the hook 4.5 m over the bucket's bottom
    assert site.line.needed_m == pytest.approx(1.0 + 35 * FT + 5 - 4.5, abs=1.1)


def test_pond_with_trees_asks_for_a_long_line(small_pond):
    site = small_pond(limits__shore_clearance="6 m", lines__carried=["0 m", "30 m"])
    assert site.rank == 1
    assert site.line.carried_m == 30.0
    assert site.line.governed_by.what == "trees"


# (b) NTSB 20070808X01146: density altitude 10 221 ft, a line of 150 ft, a bucket of 900 gal: settling with power on
# the approach, the line pulled the aircraft down
HIGH_M, DENSITY_ALTITUDE_FT = 2450.0, 10_221
BUCKET = """
name = "Bucket of the 900 gal class"
source = "made up for this test"
capacity = "900 gal"
empty = "400 kg"
length = "6.5 m"
depth_needed = "2.4 m"
fills = ["100 %", "90 %", "80 %", "70 %", "60 %"]
fill_time = "40 s"
drop_time = "10 s"
"""


def hot_enough(height_m):
    """The temperature [degC] that gives the accident's density altitude there, in dry air and a QNH of 1013.25 hPa.

    The standard atmosphere (ICAO Doc 7488, from memory), the density by the gas law.
    """
    pressure = 101_325 * (1 - 0.0065 * height_m / 288.15) ** 5.25588
    density = 1.225 * (1 - 0.0065 * DENSITY_ALTITUDE_FT * FT / 288.15) ** 4.25588
    return pressure / (density * 287.05287) - 273.15


@pytest.fixture(scope="module")
def thin_air(tmp_path_factory):
    folder = tmp_path_factory.mktemp("thin")
    (folder / "bucket.toml").write_text(BUCKET)
    keys = {
        "helicopter.name": "demo-heavy", "bucket.name": None, "bucket.file": "bucket.toml",
        "lines.carried": ["150 ft"], "weather.temperature": f"{hot_enough(HIGH_M):.2f} degC",
        "weather.measured_at": f"{HIGH_M} m", "weather.qnh": "1013.25 hPa",
    }  # fmt: skip
    lake = Water("High Lake", disc(1800, 0, 300), level=HIGH_M)
    path = write_incident(folder, keys, waters=[lake], ground=lambda x, y: HIGH_M + 1.0 + 0 * (x + y))
    return make_plan(read_incident(path))


def test_thin_air_with_a_long_line_is_flagged(thin_air):
    assert thin_air.sites
    for site in thin_air.sites:
        assert site.density_altitude_m / FT == pytest.approx(DENSITY_ALTITUDE_FT, abs=10)
        assert "density-altitude-high" in codes(site.cautions)
        words = next(f.because for f in site.cautions if f.code == "density-altitude-high")
        assert "settling with power" in words


def test_thin_air_leaves_no_full_bucket(thin_air):
    for site in thin_air.usable:
        assert site.load.fill < 1.0
        assert site.load.place in {"dip", "drop"}
        assert site.load.governed_by == "hover limit"


# (d) NTSB LAX98TA202: the lip of a portable tank caught a skid. USFS Tech Tip 9457 1307 (1994): the largest
# free-standing tanks hold about 15 000 US gal; one of 1.2 m depth is 7.8 m across
def test_portable_tank_is_no_dip_site(tmp_path):
    """Mapped as a pond it is too narrow and too shallow; mapped as what it is, no bucket is sent there at all."""

    def incident(name, kind):
        folder = tmp_path / name
        folder.mkdir()
        tank = Water("Portable tank", disc(400, 0, 3.9), kind=kind, depth_m=1.2)
        path = write_incident(folder, NEAR, waters=[tank], ground=lambda x, y: 601.0 + 0 * (x + y), half=2400.0)
        return read_incident(path)

    (site,) = make_plan(incident("pond", "pond")).sites
    assert site.rank is None
    assert {"shore-clearance", "too-shallow"} <= codes(site.refused)
    with pytest.raises(LayerError, match="no open water lies within the search; 1 left out"):
        make_plan(incident("tank", "tank"))


# (f) bucket practice at night over a lake (2015, Montana): eyes moved inside, the rotor met the water
def test_night_work_is_flagged(tmp_path):
    lake = Water("Night Lake", disc(500, 0, 150))
    path = write_incident(
        tmp_path, {**NEAR, "when": "2026-08-14T23:30-10:00"}, waters=[lake], ground=lambda x, y: 601.0 + 0 * (x + y),
        half=2400.0,
    )  # fmt: skip
    assert "dark" in codes(make_plan(read_incident(path)).document.cautions)


# NTSB LAX97TA289 (references.md 12): about 800 lb over the hover limit, density altitude 9500 ft, trees of 50 ft
def test_a_load_over_the_hover_limit_is_refused_with_what_it_weighs_too_much(tmp_path):
    keys = {
        **NEAR, "bucket.fill": "100 %", "helicopter.fuel": "100 %", "weather.temperature": "24 degC",
        "weather.measured_at": "2080 m", "weather.qnh": "1013.25 hPa",
    }  # fmt: skip
    lake = Water("High Lake", disc(500, 0, 150), level=2080.0)
    path = write_incident(tmp_path, keys, waters=[lake], ground=lambda x, y: 2081.0 + 0 * (x + y), half=2400.0)
    (site, *_) = make_plan(read_incident(path)).sites
    assert site.density_altitude_m / FT == pytest.approx(9500, abs=150)
    assert site.rank is None
    (found,) = (finding for finding in site.refused if finding.code == "no-lift")
    assert found.values["excess_kg"] > 100.0  # and that with the margin kept
    assert site.go_no_go is None


# NZ TAIC 08-005 (references.md 12): 11 to 21 kt of tailwind on final, hover out of ground effect, yaw
@pytest.mark.parametrize("wind_kt", [11, 16, 21])
def test_a_tailwind_on_final_is_refused_and_warned_of_where_the_limit_is_raised(tmp_path, wind_kt):
    lane = shapely.box(400, -60, 1400, 60)
    pond = Water("Lane Pond", disc(400, 0, 60), kind="pond", depth_m=4.0)
    trees = disc(400, 0, 900).difference(disc(400, 0, 60).buffer(1)).difference(lane)

    def plan(**limits):
        keys = {
            **NEAR, "search.radius": "900 m", "limits.lift_limit": "30 m", "weather.wind": f"90 deg {wind_kt} kt",
            **limits,
        }  # fmt: skip
        path = write_incident(
            tmp_path, keys, waters=[pond], trees=lambda x, y: np.where(shapely.contains_xy(trees, x, y), 45.0, 0.0),
            ground=lambda x, y: 601.0 + 0 * (x + y), half=2400.0,
        )  # fmt: skip
        return make_plan(read_incident(path)).sites[0]

    assert "wind-in" in codes(plan().refused)
    raised = plan(**{"limits.tailwind": "25 kt", "lines.carried": ["60 m"]})
    warned = [found for found in raised.cautions if found.code == "yaw-sector"]
    assert any((found.values["manner"], found.values["place"]) == ("arrival", "dip") for found in warned)


# TSB A05P0103 and NTSB SEA98LA017 (references.md 12): a light load on a line rose into the tail rotor
def test_the_speed_of_an_empty_bucket_is_a_limit_or_is_said_to_be_nobody_s(tmp_path):
    from importlib.resources import files

    text = (files("diproute.reading") / "fleet_data" / "helicopters" / "demo-light.toml").read_text(encoding="utf-8")
    lake = Water("Lake", disc(500, 0, 150))

    def plan(told):
        (tmp_path / "craft.toml").write_text(told)
        keys = {**NEAR, "helicopter.name": None, "helicopter.file": "craft.toml", "lines.carried": ["30 m"]}
        path = write_incident(tmp_path, keys, waters=[lake], ground=lambda x, y: 601.0 + 0 * (x + y), half=2400.0)
        return make_plan(read_incident(path))

    stated = plan(text.replace('line = "75 kt"', 'line = "50 kt"'))
    assert "empty-bucket-unstated" not in codes(stated.document.cautions)
    empty = [leg for leg in stated.sites[0].routes if leg.leg == "empty"]
    wind_m_s = stated.document.air.wind_m_s
    assert all(leg.length_m / leg.seconds <= 50 * 1852 / 3600 + wind_m_s for leg in empty)
    silent = plan(text.replace(', empty_bucket = { belly = "80 kt", line = "75 kt" }', ""))
    assert "empty-bucket-unstated" in codes(silent.document.cautions)
