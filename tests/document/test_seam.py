"""Cutting at ±180°: nothing lost, nothing doubled, order and heights kept."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from diproute.document.seam import cut

DEGREES = st.floats(-1.5, 1.5).map(lambda value: round(value, 6))
SEAMS = st.sampled_from([-180.0, 180.0])


def parts_of(shape):
    return list(shapely.get_parts([shape]))


def at_home(shape):
    west, _, east, _ = shape.bounds
    return west >= -180.0 and east <= 180.0


@given(SEAMS, st.lists(st.tuples(DEGREES, DEGREES, st.integers(0, 3000)), min_size=2, max_size=12))
def test_a_line_keeps_its_points_its_order_and_its_heights(seam, path):
    line = shapely.LineString([(seam + lon, lat, up) for lon, lat, up in path])
    found = cut(line)
    assert at_home(found)
    assert found.has_z
    flown = np.concatenate([shapely.get_coordinates(part, include_z=True) for part in parts_of(found)])
    flown[:, 0] = (flown[:, 0] - seam + 180.0) % 360.0 - 180.0
    given_points = np.array(path, dtype=float)
    left = iter(flown)
    for point in given_points:  # each is found again, one after another
        assert any(np.allclose(point, other, atol=1e-9) for other in left)
    length = sum(part.length for part in parts_of(found))
    assert length == pytest.approx(line.length, abs=1e-9)


def test_the_parts_of_a_line_meet_at_the_seam_at_one_height():
    line = shapely.LineString([(179.9, 10.0, 100.0), (180.1, 10.2, 300.0)])
    west, east = parts_of(cut(line))
    np.testing.assert_allclose(west.coords, [(179.9, 10.0, 100.0), (180.0, 10.1, 200.0)])
    np.testing.assert_allclose(east.coords, [(-180.0, 10.1, 200.0), (-179.9, 10.2, 300.0)])


def test_what_is_flown_twice_stays_flown_twice():
    up = [(180.02, 1.0, 10.0), (180.02, 1.0, 80.0)]  # straight up
    orbit = [(180.02 + 0.01 * np.sin(a), 1.0 + 0.01 * np.cos(a), 80.0 + a) for a in np.linspace(0, 4 * np.pi, 40)]
    line = shapely.LineString([*up, *orbit, (179.9, 1.0, 120.0)])
    east, west = parts_of(cut(line))
    assert len(east.coords) + len(west.coords) == len(line.coords) + 2
    assert east.length + west.length == pytest.approx(line.length)
    np.testing.assert_allclose(east.coords[:2], [(lon - 360.0, lat, z) for lon, lat, z in up])


@pytest.mark.parametrize("first", [179.9, 180.1])
def test_straight_up_on_the_seam_belongs_to_what_follows(first):
    line = shapely.LineString([(180.0, 1.0, 10.0), (180.0, 1.0, 80.0), (first, 1.0, 90.0)])
    (whole,) = parts_of(cut(line))
    assert [z for *_, z in whole.coords] == [10.0, 80.0, 90.0]
    assert at_home(whole)


@given(SEAMS, DEGREES, st.lists(st.floats(0.2, 1.0), min_size=5, max_size=9))
def test_an_area_keeps_its_size_and_its_holes(seam, lon, reach):
    angle = np.linspace(0, 2 * np.pi, len(reach), endpoint=False)
    ring = np.column_stack([np.cos(angle), np.sin(angle)]) * np.array(reach)[:, None] + [seam + lon, 0.0]
    lake = shapely.Polygon(ring)
    if lake.contains(island := shapely.Point(seam + lon, 0.0).buffer(0.05)):
        lake = lake.difference(island)
    found = cut(lake)
    assert at_home(found)
    assert found.is_valid
    assert found.area == pytest.approx(lake.area, rel=1e-9)


def test_an_outline_that_touches_itself_is_cut_all_the_same():
    bow = shapely.Polygon([(179.0, 0.0), (181.0, 2.0), (181.0, 0.0), (179.0, 2.0)])
    assert not bow.is_valid
    found = cut(bow)
    assert at_home(found)
    assert found.area == pytest.approx(2.0)


@given(SEAMS, st.lists(st.tuples(DEGREES, DEGREES), min_size=1, max_size=5, unique=True))
def test_points_come_home(seam, places):
    found = cut(shapely.MultiPoint([(seam + lon, lat) for lon, lat in places]))
    assert at_home(found)
    assert len(parts_of(found)) == len(places)


@given(st.floats(-179.0, 179.0), st.floats(-60.0, 60.0))
def test_what_lies_within_is_not_touched(lon, lat):
    whole = shapely.box(lon - 1.0, lat, lon + 1.0, lat + 1.0)
    assert cut(whole) is whole


@pytest.mark.parametrize("ends", [(-190.0, 190.0), (190.0, -190.0)])
def test_a_line_round_the_globe_is_cut_at_both_seams(ends):
    line = shapely.LineString([(ends[0], 0.0), (ends[1], 38.0)])
    found = parts_of(cut(line))
    assert [round(part.length, 6) for part in found] == [
        pytest.approx(line.length * share / 380.0, abs=1e-6) for share in (10, 360, 10)
    ]
    assert all(at_home(part) for part in found)
