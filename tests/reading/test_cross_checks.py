"""Layers against each other: what cannot be right is refused or said, and good layers raise no alarm."""

from dataclasses import replace

import numpy as np
import pytest
from layer_scene import FRAME, LAT, LON, flat, grid, incident, write_vector
from shapely import Point

from diproute.errors import LayerError, WeatherError
from diproute.reading.cross_checks import (
    Place,
    far_places,
    obstacles_on_ground,
    slopes,
    station_on_ground,
    unknown_places,
)
from diproute.reading.incident import read_incident
from diproute.reading.layers import open_layers
from diproute.records import Air, Base, Ground, Obstacle
from diproute.wording import Reader, say

FT = 0.3048
ON = grid(4000, 25)
WEATHER = 'temperature = "31 degC"\nmeasured_at = "1200 m"\n'


def hills(on=ON, least=200.0, relief=400.0):
    """Hills a few kilometres across."""
    x, y = on.xy(np.arange(on.rows)[:, None], np.arange(on.cols)[None, :])
    return (least + relief * (0.5 + 0.25 * np.sin(x / 700) + 0.25 * np.cos(y / 900))).astype(np.float32)


def country(heights, obstacles=(), elevation_is="ground", on=ON):
    cause = np.zeros(heights.shape, np.uint16)
    heights = heights.astype(np.float32)
    return Ground(on, heights, heights, cause, tuple(obstacles), "made up", None, elevation_is, True, ())


def towers(heights, count=40, seed=1, source="towers.dat", noise_m=3.0):
    """Towers whose stated tops fit the ground, but for a few metres."""
    rng = np.random.default_rng(seed)
    found = []
    for i, (x, y) in enumerate(rng.uniform(-3500, 3500, (count, 2))):
        row, col = ON.rowcol(x, y)
        tall = float(rng.uniform(20, 90))
        top = float(heights[row, col]) + tall + float(rng.normal(0, noise_m))
        found.append(Obstacle(f"tower {i}", "tower", tall, False, True, 30.0, Point(x, y), source, False, top))
    return found


# ----------------------------------------------------------------------------------------------------- obstacle files
def test_a_file_that_fits_is_silent():
    for seed in range(20):
        land = hills()
        assert obstacles_on_ground(country(land, towers(land, seed=seed))) == ()


@pytest.mark.parametrize(
    ("factor", "ratio", "looks"),
    [(1 / FT, "0.30", "feet that were read as metres"), (FT, "3.28", "metres that were read as feet"),
     (10.0, "0.10", "decimetres that were read as metres")],
)  # fmt: skip
def test_a_wrong_unit_is_refused_and_named(factor, ratio, looks):
    land = hills()
    with pytest.raises(LayerError, match=f"stand on {ratio} times the ground \\(40 compared\\).*{looks}") as error:
        obstacles_on_ground(country(land * factor, towers(land)))
    assert "\n" not in str(error.value)


def test_seven_are_too_few_to_say_so():
    land = hills()
    assert obstacles_on_ground(country(land / FT, towers(land, 7))) == ()
    with pytest.raises(LayerError):
        obstacles_on_ground(country(land / FT, towers(land, 8)))


@pytest.mark.parametrize(("off", "word"), [(30.0, "31 m below"), (-30.0, "29 m above")])
def test_two_vertical_datums(off, word):
    land = hills()
    (found,) = obstacles_on_ground(country(land + off, towers(land)))
    assert found.code == "obstacles-two-datums"
    assert found.values["off_m"] == pytest.approx(30.0, abs=1.5)
    assert f"stand {word} the ground, alike all over (40 compared): two vertical datums" in say(found, Reader("metric"))


def test_nine_metres_are_no_other_datum():
    land = hills()
    assert obstacles_on_ground(country(land + 9.0, towers(land))) == ()


@pytest.mark.parametrize("datum", [0.0, 30.0])
def test_single_towers_off_the_ground_are_named(datum):
    land = hills()
    things = towers(land)
    things[3] = replace(things[3], top_m=things[3].top_m + 120)
    things[7] = replace(things[7], top_m=things[7].top_m - 90)
    found = obstacles_on_ground(country(land + datum, things))
    assert [f.code for f in found] == ["obstacles-two-datums"] * (datum > 0) + ["obstacles-off-ground"]
    assert (found[-1].values["count"], found[-1].values["of"], found[-1].values["more"]) == (2, 40, None)
    high, low = found[-1].values["which"]
    assert (high.values["name"], high.values["above"]) == ("tower 3", True)
    assert (low.values["name"], low.values["above"]) == ("tower 7", False)
    assert 60 < low.values["off_m"] < high.values["off_m"] < 121
    assert "tower 3" in say(found[-1])


def test_of_many_the_worst_five_are_named():
    land = hills()
    things = [replace(t, top_m=t.top_m + 100 + i) if i < 12 else t for i, t in enumerate(towers(land))]
    (found,) = obstacles_on_ground(country(land, things))
    assert (found.values["count"], len(found.values["which"]), found.values["more"]) == (12, 5, 7)
    assert "and 7 more" in say(found)


def test_a_stated_error_is_room():
    land = hills()
    things = towers(land)
    things[3] = replace(things[3], top_m=things[3].top_m + 120, vertical_error_m=152.4)
    assert obstacles_on_ground(country(land, things)) == ()


def test_treetops_in_a_surface_model_are_no_other_datum():
    land = hills()
    assert obstacles_on_ground(country(land + 25.0, towers(land), "surface")) == ()
    (found,) = obstacles_on_ground(country(land - 25.0, towers(land), "surface"))
    assert (found.code, found.values["above"]) == ("obstacles-two-datums", True)


def test_files_are_compared_one_by_one_and_only_what_is_stated():
    land = hills()
    good, bad = towers(land), towers(land - 40, source="other.dat")
    found = obstacles_on_ground(country(land, [*good, *bad]))
    assert [f.values["file"] for f in found] == ["other.dat"]
    unsaid = [replace(t, top_m=None) for t in bad[::2]] + [replace(t, height_assumed=True) for t in bad[1::2]]
    assert obstacles_on_ground(country(land, [*good, *unsaid])) == ()


def test_towers_on_unknown_ground_are_not_compared():
    land = hills()
    things = towers(land - 40)
    assert obstacles_on_ground(country(np.full_like(land, np.nan), things)) == ()
    outside = [replace(t, geometry=Point(t.geometry.x + 9000, 0)) for t in things]
    assert obstacles_on_ground(country(land, outside)) == ()


@pytest.mark.parametrize("corner", [(-1, 1), (-1, -1), (1, 1), (1, -1)])
def test_towers_whose_surroundings_leave_the_grid_are_not_compared(corner):
    land, (east, north) = hills(), corner
    things = towers(land - 40)
    for places, told in (
        ([Point(east * 3960, north * 50 * i) for i in range(40)], False),
        ([Point(east * 50 * i, north * 3960) for i in range(40)], False),
        ([Point(east * 3900, north * 50 * i) for i in range(40)], True),
    ):
        moved = [replace(thing, geometry=place) for thing, place in zip(things, places, strict=True)]
        assert (obstacles_on_ground(country(land, moved)) != ()) == told


# ------------------------------------------------------------------------------------------------------------- slopes
def test_slopes_of_a_country_and_of_its_decimetres():
    land = hills()
    assert slopes(country(land)) == ()
    with pytest.raises(LayerError, match=r"half of the ground is steeper than 5\d degrees.*decimetres"):
        slopes(country(land * 10))


def test_slopes_of_steep_country_in_feet_are_doubted():
    steep = hills(relief=800)
    assert slopes(country(steep)) == ()
    (found,) = slopes(country(steep / FT))
    assert found.code == "ground-too-steep"
    assert "are the heights of the elevation in feet?" in say(found)


def test_a_sea_does_not_hide_a_wrong_unit():
    land = hills() * 15
    land[:100] = 0.0
    land[100:140] = np.nan
    with pytest.raises(LayerError, match="no country is"):
        slopes(country(land))


@pytest.mark.parametrize("height", [0.0, -430.0, np.nan])
def test_level_or_unknown_ground_says_nothing_of_slopes(height):
    assert slopes(country(np.full(ON.shape, height))) == ()


@pytest.mark.parametrize("height", [0.0, -430.0, 1200.0])
def test_level_country_with_a_cliff_is_no_wrong_unit(height):
    """A polder, a salt flat or a plateau, and one cliff 300 m high."""
    land = np.full(ON.shape, height)
    land[:, 200:] += 300.0
    assert slopes(country(land)) == ()


def test_treetops_are_no_slope():
    on = grid(600, 2)
    land = hills(on) + np.random.default_rng(0).uniform(0, 30, on.shape)
    assert slopes(country(land, elevation_is="surface", on=on)) == ()


def test_a_grid_of_a_few_cells_says_nothing():
    on = grid(50, 25)
    assert slopes(country(np.arange(16.0).reshape(4, 4) * 1000, on=on)) == ()


# ------------------------------------------------------------------------------------------------------------ station
def station(said_m, ground_m, at=(LAT, LON), tmp_path=None):
    asked = incident(())
    weather = replace(asked.weather, air=Air(293.15, said_m, 101_325.0), station=at)
    return station_on_ground(replace(asked, weather=weather), FRAME, country(np.full(ON.shape, ground_m)))


def test_a_station_on_its_ground_is_silent():
    assert station(914.0, 940.0) == ()
    assert station(5.0, 2.0) == ()
    assert station(914.0, 100.0, at=None) == ()


@pytest.mark.parametrize(
    ("said", "ground", "wrong"),
    [(3000.0, 914.0, "feet, written as metres"), (914.0, 3000.0, "metres, written as feet")],
)
def test_a_station_in_another_unit_is_refused(said, ground, wrong):
    with pytest.raises(WeatherError, match=f"{said:.0f} m and the ground there is at {ground:.0f} m.*{wrong}"):
        station(said, ground)


def test_a_station_off_its_ground_is_told():
    (found,) = station(140.0, 100.0)
    assert found.values == {"said_m": 140.0, "ground_m": 100.0}
    assert say(found, Reader("metric")).startswith("the weather's station is said to stand at 140 m AMSL")


@pytest.mark.parametrize(("at", "ground"), [((LAT + 1, LON), 100.0), ((LAT, LON), np.nan)])
def test_a_station_where_nothing_is_known_is_told(at, ground):
    assert [f.code for f in station(100.0, ground, at)] == ["station-not-compared"]


def test_the_incident_says_where_its_station_is(swap):
    assert read_incident(swap(WEATHER, WEATHER)).weather.station is None
    told = read_incident(swap(WEATHER, WEATHER + 'station_at = "42 10.5 N 160 03.0 W"\n'))
    assert told.weather.station == pytest.approx((42.175, -160.05))


# ------------------------------------------------------------------------------------------------------------- places
def place(drop, *points):
    x, y = np.array(points, dtype=float).T
    return Place(drop, x, y)


def test_a_drop_or_a_base_beyond_the_search_is_told():
    head, heel, lost = place("Head", (0, 0)), place("Heel", (3000, 0)), place("Lost", (0, 20_000))
    base = place(None, (0, -5001))
    assert far_places([head], 5000.0) == ()
    assert far_places([head, heel, place(None, (0, -5000))], 5000.0) == ()
    found = far_places([head, heel, lost, base], 5000.0)
    assert [(f.values["drop"], f.values["away_m"]) for f in found] == [("Lost", 20_000.0), (None, 5001.0)]
    assert say(found[0], Reader("metric")).startswith("drop 'Lost' lies 20.0 km from the nearest other drop")
    assert say(found[1], Reader("metric")).startswith("the base lies 5.0 km from the nearest drop")


def test_a_line_counts_by_its_nearest_point():
    flank = place("Flank", *((x, 0) for x in range(0, 20_001, 50)))
    assert far_places([flank, place("Head", (24_000, 0)), place(None, (10_000, 4000))], 5000.0) == ()


def test_unknown_places_are_told():
    land = hills()
    land[:, :100] = np.nan
    found = unknown_places(country(land), [place("Head", (-2000, 0)), place("Heel", (2000, 0)), place(None, (9e4, 0))])
    assert [f.values["drop"] for f in found] == ["Head", None]


def test_open_layers_looks_across(tmp_path):
    water = write_vector(tmp_path / "w.geojson", [Point(200, 0).buffer(80)], natural=["water"])
    far = Base(LAT + 0.018, LON)  # 2 km north
    asked = incident(flat(tmp_path / "e.tif"), water, base=far, radius=1000.0)
    assert "place-far" in {f.code for f in open_layers(asked).cautions}
    assert "place-far" not in {f.code for f in open_layers(replace(asked, base=Base(LAT + 0.005, LON))).cautions}


@pytest.mark.parametrize(("x", "y"), [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (0.6, 0.8)])
def test_far_is_far_in_every_direction(x, y):
    drop = Place("Head", np.array([300.0]), np.array([200.0]))
    for away, told in ((990.0, False), (1010.0, True)):
        base = Place(None, drop.x_m + x * away, drop.y_m + y * away)
        assert [found.code for found in far_places([drop, base], 1000.0)] == ["place-far"] * told
