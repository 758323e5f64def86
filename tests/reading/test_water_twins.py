"""One water in two layers, or twice in one: kept once, with the careful side of all that is said."""

import itertools

import numpy as np
import pytest
import shapely
from layer_scene import FRAME, grid, write_vector
from shapely import Polygon, box

from diproute.reading.water import read_waters
from diproute.reading.water_twins import Drawing, merge, same_water
from diproute.records import Finding

ON = grid(2000, 10)
DOUBT = Finding.of("water-unsure", tidal=False, nhd_code=None)


def lake(x0, y0, x1, y1, *islands):
    return Polygon(box(x0, y0, x1, y1).exterior, [box(*island).exterior for island in islands])


def drawn(shape, layer="a", name="", depth_m=None, *, kind="lake", salt=False, doubts=()):
    return Drawing(shape, (layer,), kind, name, salt, depth_m, doubts)


def once(*drawings):
    """Merge in every order; the answer must be one."""
    answers = []
    for order in itertools.islice(itertools.permutations(drawings), 24):
        found = merge(order)
        answers.append(sorted((d.shape.wkt, *map(str, d.key), d.layers) for d in found))
    assert all(answer == answers[0] for answer in answers)
    return merge(drawings)


def codes(drawing):
    return [c.code for c in drawing.cautions]


def test_the_islands_of_both_stay_and_the_nearer_shore_counts():
    (found,) = once(
        drawn(lake(0, 0, 400, 300, (100, 100, 140, 140)), "a", "Elk", 8.0),
        drawn(lake(5, 3, 404, 302, (250, 100, 280, 130)), "b", "", 3.0, kind="reservoir", doubts=(DOUBT,)),
    )
    assert found.shape.equals(lake(5, 3, 400, 300, (100, 100, 140, 140), (250, 100, 280, 130)))
    assert (found.name, found.kind, found.depth_m, found.layers) == ("Elk", "lake", 3.0, ("a", "b"))
    assert codes(found) == ["depths-differ", "water-unsure"]
    assert found.cautions[0].values == {"depth_m": 3.0, "most_m": 8.0}


def test_salt_if_any_says_so_and_a_depth_that_only_one_knows():
    (found,) = once(drawn(box(0, 0, 400, 300), "a", salt=True), drawn(box(0, 0, 400, 300), "b", depth_m=2.0))
    assert (found.salt, found.depth_m, codes(found)) == (True, 2.0, [])


def test_what_only_one_layer_shows_stays_and_says_so():
    found = once(drawn(box(0, 0, 1000, 300), "a", "Big"), drawn(box(0, 0, 700, 300), "b", depth_m=2.0))
    both, arm = sorted(found, key=lambda d: d.shape.bounds)
    assert both.shape.equals(box(0, 0, 700, 300))
    assert codes(both) == []
    assert codes(arm) == ["one-layer-only"]
    assert arm.shape.area == pytest.approx(300 * 300, rel=0.01)
    assert (arm.name, arm.depth_m) == ("Big", 2.0)


def test_a_strip_along_the_shore_is_dropped():
    (found,) = once(drawn(box(0, 0, 400, 300), "a"), drawn(box(-12, -12, 412, 312), "b"))
    assert found.shape.equals(box(0, 0, 400, 300))


def test_a_reservoir_over_the_bays_of_another_layer():
    bays = [box(0, 0, 300, 300), box(330, 0, 600, 300), box(640, 0, 1000, 300)]
    found = once(
        drawn(box(0, 0, 1000, 300), "a", "Big"),
        *(drawn(bay, "b", depth_m=d) for bay, d in zip(bays, (2.0, 9.0, None), strict=True)),
    )
    sure = [d for d in found if "one-layer-only" not in codes(d)]
    assert sorted(d.shape.bounds for d in sure) == [bay.bounds for bay in bays]
    assert {d.depth_m for d in found} == {2.0}


def test_thin_water_drawn_beside_itself_agrees_by_its_outline():
    one, other = box(0, 0, 400, 20), box(6, 10, 394, 30)
    assert one.intersection(other).area < 0.6 * other.area
    assert same_water(one, other)
    (found,) = once(drawn(one, "a"), drawn(other, "b"))
    assert found.shape.equals(box(6, 10, 394, 20))


def test_what_touches_and_is_not_the_same_stays_apart():
    found = once(drawn(box(0, 0, 400, 300), "a", "A"), drawn(box(395, 0, 800, 300), "b", "B", 2.0))
    assert sorted((d.name, d.shape.area, d.depth_m) for d in found) == [
        ("A", 400 * 300, None), ("B", 405 * 300, 2.0),
    ]  # fmt: skip


def test_drawn_twice_in_one_layer():
    (found,) = once(drawn(lake(0, 0, 400, 300, (100, 100, 140, 140)), name="A"), drawn(box(0, 0, 400, 300), name="A"))
    assert found.shape.equals(lake(0, 0, 400, 300, (100, 100, 140, 140)))
    assert codes(found) == []


def test_a_bay_inside_its_lake_in_one_layer_is_no_other_water():
    (found,) = once(drawn(box(0, 0, 1000, 300), name="Big"), drawn(box(0, 0, 200, 300), name="Bay", depth_m=1.0))
    assert found.shape.area == pytest.approx(1000 * 300, rel=0.01)
    assert (found.name, found.depth_m, codes(found)) == ("Big", 1.0, [])


def test_a_lake_on_two_tiles_is_one_and_keeps_its_islands():
    left, right = lake(0, 0, 500, 300, (420, 100, 460, 140)), box(400, 0, 900, 300)
    (found,) = once(drawn(left, "a", "Elk"), drawn(right, "b", "Elk"))
    assert found.shape.equals(lake(0, 0, 900, 300, (420, 100, 460, 140)))
    assert found.layers == ("a", "b")
    (found,) = once(drawn(box(0, 0, 400, 300), "a", "Elk"), drawn(box(400, 0, 900, 300), "b", "Elk"))
    assert found.shape.area == 900 * 300


def test_an_inner_piece_of_the_same_layer_fills_its_ring():
    (found,) = once(
        drawn(lake(0, 0, 400, 300, (100, 100, 200, 200)), name="A"), drawn(box(100, 100, 200, 200), name="A")
    )
    assert found.shape.equals(box(0, 0, 400, 300))


def test_never_more_water_than_every_drawing_of_it_together():
    rng = np.random.default_rng(3)
    for _ in range(40):
        many = []
        for _ in range(6):
            x, y = rng.uniform(0, 400, 2)
            w, h = rng.uniform(30, 500, 2)
            hole = (x + w * 0.4, y + h * 0.4, x + w * 0.5, y + h * 0.5)
            many.append(drawn(lake(x, y, x + w, y + h, hole), rng.choice(["a", "b"]), "A"))
        found = merge(many)
        whole = shapely.union_all([d.shape for d in many])
        assert shapely.union_all([d.shape for d in found]).difference(whole).area < 1e-3
        for one, other in itertools.combinations(found, 2):
            if one.key == other.key:
                assert one.shape.intersection(other.shape).area < 1e-3


# ---------------------------------------------------------------------------------------------------- whole layers
def read(*paths):
    return read_waters([(path, None) for path in paths], FRAME, ON)


@pytest.mark.parametrize("tags", [{"intermittent": ["yes"]}, {"kind": ["tailings"]}, {"kind": ["wetland"]}])
def test_if_one_layer_leaves_it_out_all_of_it_is_left_out(tmp_path, tags):
    plain = write_vector(tmp_path / "a.gpkg", [box(-8, -8, 400, 300), box(900, 0, 990, 90)], kind=["lake", "pond"])
    strict = write_vector(tmp_path / "b.gpkg", [box(0, 0, 390, 300)], name=["Pit"], **{"kind": ["lake"], **tags})
    for order in ((plain, strict), (strict, plain)):
        waters, left_out, _ = read(*order)
        assert [w.kind for w in waters] == ["pond"]
        (entry,) = left_out
        assert entry.name == "Pit"
        assert entry.geometry.equals(box(-8, -8, 400, 300))


def test_a_wetland_at_the_edge_of_a_lake_is_cut_out_of_it(tmp_path):
    path = write_vector(
        tmp_path / "a.gpkg", [box(0, 0, 400, 300), box(300, 0, 400, 100)], kind=["lake", "wetland"], name=["Elk", ""]
    )
    waters, left_out, _ = read(path)
    assert waters[0].polygon.area == pytest.approx(400 * 300 - 100 * 100)
    assert [c.code for c in waters[0].cautions] == ["water-cut"]
    assert left_out[0].geometry.area == pytest.approx(100 * 100)


def test_of_two_widths_of_a_river_the_least_counts(tmp_path):
    line = shapely.LineString([(-500, 0), (500, 0)])
    wide = write_vector(tmp_path / "a.gpkg", [line], kind=["river"], name=["Swift"], width=["40 m"])
    narrow = write_vector(tmp_path / "b.gpkg", [line], kind=["river"], name=["Swift"], width=["12-30 m"])
    for order in ((wide, narrow), (narrow, wide)):
        waters, _, _ = read(*order)
        assert [round(w.polygon.area) for w in waters] == [1000 * 12]
        assert waters[0].source == "a.gpkg, b.gpkg"
