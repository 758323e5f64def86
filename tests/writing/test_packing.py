"""Small data: what is packed comes back, what is thinned strays little, what is rounded is on the safe side."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from diproute.writing.map.packing import SIDEWAYS_M, UP_M, Texts, clock, deltas, downward, kept, outline, upward
from diproute.writing.map.shapes import DEGREE_M

METRES = st.floats(-9000, 9000)


def sums(row):
    """As the page's script takes differences back."""
    at, found = 0, []
    for step in row:
        at += step or 0
        found.append(None if step is None else at)
    return found


@given(st.lists(st.none() | st.integers(-(10**7), 10**7)))
def test_differences_come_back_and_unknown_stays_unknown(row):
    assert sums(deltas(row)) == row


@given(st.lists(st.tuples(st.floats(-80, 80), st.floats(-180, 180)), min_size=1, max_size=30))
def test_places_come_back_to_half_a_grain(places):
    row = outline(places)
    back = np.cumsum(np.array(row).reshape(-1, 2), axis=0) / 1e5
    assert len(back) <= len(places)
    assert abs(back - np.array(places)[:, None]).max(axis=-1).min(axis=1).max() <= 0.5e-5 + 1e-9


def test_each_text_stands_once():
    texts = Texts()
    assert [texts("a"), texts("b"), texts("a"), texts.maybe(None)] == [0, 1, 0, None]
    assert texts.table == ["a", "b"]


@given(METRES)
def test_heights_are_rounded_to_the_safe_side(value):
    assert upward(value) >= value - 1e-6
    assert downward(value) <= value + 1e-6
    assert upward(value) - downward(value) <= 1


def test_what_is_whole_is_not_rounded_away():
    assert (upward(45.0), downward(45.0), upward(45.0000000001), upward(None)) == (45, 45, 45, None)


POINTS = st.lists(st.tuples(st.floats(0, 0.05), st.floats(0, 0.05), st.floats(0, 900)), min_size=2, max_size=25)


@given(POINTS)
def test_a_thinned_path_keeps_its_ends_and_strays_less_than_is_told(points):
    path = [(-160.0 + lon, lat, height) for lon, lat, height in points]
    chosen = kept(path)
    assert chosen[0] == 0
    assert chosen[-1] == len(path) - 1
    assert all(a < b for a, b in pairwise(chosen))
    at = np.array(path) * (DEGREE_M * np.cos(np.radians(path[0][1])), DEGREE_M, 1.0)
    flat = shapely.LineString(at[chosen, :2])
    assert all(flat.distance(shapely.Point(x, y)) <= SIDEWAYS_M + 1e-6 for x, y, _ in at)


def test_a_small_climb_is_kept_and_a_straight_line_is_not():
    straight = [(-160.0 + i / 1e3, 42.0, 500.0) for i in range(9)]
    assert kept(straight) == [0, 8]
    bump = [(lon, lat, height + (3.0 * UP_M if i == 4 else 0.0)) for i, (lon, lat, height) in enumerate(straight)]
    assert 4 in kept(bump)


@pytest.mark.parametrize(("seconds", "words"), [(0, "0:00"), (59.6, "1:00"), (450.9, "7:31")])
def test_a_duration_in_minutes_and_seconds(seconds, words):
    assert clock(seconds) == words
