"""Names of waters: each has one that can be read over the radio, and no two sound the same."""

import itertools

import numpy as np
import pytest
from layer_scene import FRAME, flat, grid, incident, write_vector
from shapely import Point, box

from diproute.reading.layers import open_layers
from diproute.reading.water import read_waters
from diproute.reading.water_names import Mark, with_names
from diproute.records import WaterBody

ON = grid(15_000, 30)
HEAD = Mark("Head", np.array([0.0]), np.array([0.0]))
NAN = float("nan")


def water(x, y, name="", kind="pond", r=50.0):
    return WaterBody("w", name, kind, Point(x, y).buffer(r), False, NAN, NAN, NAN, None, "made up")


def names(*waters, marks=(HEAD,)):
    return [w.name for w in with_names(waters, marks, ON)]


@pytest.mark.parametrize(
    ("x", "y", "name"),
    [
        (0, 1250, "pond 1.2 km N of Head"), (884, 884, "pond 1.2 km NE of Head"), (1250, 0, "pond 1.2 km E of Head"),
        (884, -884, "pond 1.2 km SE of Head"), (0, -1250, "pond 1.2 km S of Head"),
        (-884, -884, "pond 1.2 km SW of Head"), (-1250, 0, "pond 1.2 km W of Head"),
        (-884, 884, "pond 1.2 km NW of Head"),
        (0, 9950, "pond 9.9 km N of Head"), (0, 10_004, "pond 10 km N of Head"), (0, 10_600, "pond 11 km N of Head"),
        (0, 160, "pond 0.1 km N of Head"), (0, 30, "pond at Head"),
    ],
)  # fmt: skip
def test_a_water_without_a_name_is_called_by_its_place(x, y, name):
    (found,) = with_names([water(x, y)], [HEAD], ON)
    assert (found.name, found.named) == (name, False)


def test_a_name_of_its_own_stays():
    (found,) = with_names([water(0, 1250, "Elk Lake")], [HEAD], ON)
    assert (found.name, found.named) == ("Elk Lake", True)


def test_the_nearest_drop_and_of_a_line_its_nearest_point():
    line = Mark("Flank", np.array([-9000.0, -5000.0]), np.array([0.0, 0.0]))
    assert names(water(-4000, 0), marks=(HEAD, line)) == ["pond 0.9 km E of Flank"]
    assert names(water(-1000, 0), marks=(line, HEAD)) == ["pond 0.9 km W of Head"]


def test_the_direction_is_true():
    """At 42 N, 14 km east of the middle, north of the grid is 0.11 degrees east of true north."""
    mark = Mark("Far", np.array([14_000.0]), np.array([0.0]))
    bearing = np.radians(22.45)  # of the grid: 22.56 true
    assert names(water(14_000 + 1250 * np.sin(bearing), 1250 * np.cos(bearing)), marks=(mark,)) == [
        "pond 1.2 km NE of Far"
    ]
    assert names(water(1250 * np.sin(bearing), 1250 * np.cos(bearing))) == ["pond 1.2 km N of Head"]


def test_namesakes_get_their_place():
    assert names(water(-3450, 0, "Long Lake"), water(0, 5050, "long  lake"), water(900, 0, "Elk")) == [
        "Long Lake (3.4 km W of Head)", "long  lake (5.0 km N of Head)", "Elk",
    ]  # fmt: skip


def test_namesakes_in_one_place_get_a_letter():
    assert names(water(0, 1250), water(5, 1250)) == ["pond A 1.2 km N of Head", "pond B 1.2 km N of Head"]
    assert names(water(0, 1250, "Twin"), water(5, 1250, "Twin")) == [
        "Twin (A, 1.2 km N of Head)", "Twin (B, 1.2 km N of Head)",
    ]  # fmt: skip
    assert names(water(0, 1250), water(5, 1250, kind="lake")) == ["pond 1.2 km N of Head", "lake 1.2 km N of Head"]


def test_a_name_of_its_own_is_never_given_to_another():
    assert names(water(0, 1250), water(900, 0, "Pond 1.2 km N of Head")) == [
        "pond A 1.2 km N of Head", "Pond 1.2 km N of Head",
    ]  # fmt: skip


def test_no_two_sound_the_same():
    rng = np.random.default_rng(5)
    waters = [water(*rng.uniform(-900, 900, 2), rng.choice(["", "Twin", "twin", "Elk"])) for _ in range(120)]
    found = [name.casefold() for name in names(*waters)]
    assert len(set(found)) == len(found) == 120
    assert all(found)


def test_the_order_of_features_changes_no_name(tmp_path):
    shapes = [box(x, y, x + 90, y + 90) for x, y in ((500, 500), (600, 500), (-800, 0), (0, 900))]
    given = ["", "", "Twin", "Twin"]
    seen = []
    for k, order in enumerate(itertools.islice(itertools.permutations(range(4)), 0, 24, 5)):
        path = write_vector(tmp_path / f"{k}.gpkg", [shapes[i] for i in order], name=[given[i] for i in order])
        bodies, _, _ = read_waters([(path, None)], FRAME, grid(2000, 10))
        seen.append({w.polygon.wkt: w.name for w in with_names(bodies, [HEAD], grid(2000, 10))})
    assert len(seen[0]) == 4
    assert all(entry == seen[0] for entry in seen)


def test_layers_are_read_with_names(tmp_path):
    path = write_vector(tmp_path / "w.gpkg", [box(-40, 300, 40, 380)], kind=["pond"])
    opened = open_layers(incident(flat(tmp_path / "e.tif"), path))
    assert [(w.name, w.named) for w in opened.waters] == [("pond 0.3 km N of Head", False)]
