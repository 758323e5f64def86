"""Thinned paths and side views: never kinder than the leg itself."""

import math
from dataclasses import replace

import numpy as np
import pytest
from flat_leg import flat_leg
from outlook_fixture import full_assessed
from plan_fixture import FRAME

from diproute.document.compose_legs import compose_leg
from diproute.document.thinning import STEPS, STRAY_M, envelope, kept
from diproute.records import Piece

NAN = float("nan")


@pytest.fixture(scope="module")
def assessed():
    return full_assessed()


@pytest.mark.parametrize("which", range(3))
def test_a_path_keeps_its_turning_points_and_strays_a_metre_at_most(assessed, which):
    leg = assessed.sites[which].route.loaded[0]
    at = kept(leg)
    assert set(leg.waypoints) <= set(at.tolist())
    assert at[0] == 0
    assert at[-1] == len(leg.x_m) - 1
    assert len(at) < len(leg.x_m)
    moving = slice(leg.pieces[0].last, leg.pieces[-1].first + 1)  # lift and lower stand on one place
    inner = at[(at >= moving.start) & (at < moving.stop)]
    thin = [np.interp(leg.distance_m, leg.distance_m[inner], row[inner]) for row in (leg.x_m, leg.y_m, leg.altitude_m)]
    assert np.hypot(thin[0] - leg.x_m, thin[1] - leg.y_m).max() <= STRAY_M + 1e-9
    assert np.abs(thin[2] - leg.altitude_m)[moving].max() <= STRAY_M + 1e-9
    assert (thin[2] - np.fmin(leg.floor_m, leg.altitude_m)).min() >= -2e-3


def test_a_straight_leg_keeps_its_ends_and_one_bump_of_the_floor_keeps_the_path_over_it():
    along = np.linspace(0, 1000, 101)
    assert kept(flat_leg(along, np.full(101, 200.0))).tolist() == [0, 100]
    height = np.full(101, 200.0)
    height[50] = 200.5  # half a metre, but the floor is there
    assert kept(flat_leg(along, height)).tolist() == [0, 100]
    assert 50 in kept(flat_leg(along, height, floor=np.where(along == along[50], 200.5, 100.0)))


def test_orbits_keep_every_point_and_say_what_they_win():
    pieces = (Piece("straight", 0, 1), Piece("orbits", 1, 3, True, 16.0, 360.0), Piece("straight", 3, 4))
    leg = flat_leg([0, 100, 150, 200, 300], [150, 150, 175, 250, 250], pieces=pieces)
    assert kept(leg).tolist() == [0, 1, 2, 3, 4]
    told = compose_leg(leg, "x", FRAME)
    assert (told.turned_up_m, told.turned_down_m) == (100.0, 0.0)
    assert [(piece.kind, piece.first, piece.last) for piece in told.pieces] == [
        ("straight", 0, 1), ("orbits", 1, 3), ("straight", 3, 4)
    ]  # fmt: skip


def test_the_envelope_is_even_and_never_kinder_than_the_leg(assessed):
    leg = assessed.sites[0].route.loaded[0]
    told = envelope(leg)
    assert len(told.ground_m) == STEPS
    assert told.step_m * STEPS == pytest.approx(leg.length_m)
    step = np.minimum((leg.distance_m / leg.length_m * STEPS).astype(int), STEPS - 1)
    for name in ("ground_m", "top_m", "floor_m"):
        row = getattr(told, name)
        for i, value in zip(step, getattr(leg, name), strict=True):
            assert row[i] is None if math.isnan(value) else row[i] is None or row[i] >= value - 1e-9
    assert all(told.aircraft_m[i] <= height + 1e-9 for i, height in zip(step, leg.altitude_m, strict=True))


def test_a_peak_on_the_edge_of_two_steps_is_in_both_and_an_unknown_makes_its_step_unknown():
    along = np.linspace(0, 1600, 161)
    leg = flat_leg(along, np.full(161, 300.0))
    top = leg.top_m.copy()
    top[40] = 250.04
    ground = leg.ground_m.copy()
    ground[80] = NAN
    told = envelope(replace(leg, top_m=top, ground_m=ground))
    assert [i for i, height in enumerate(told.top_m) if height == 250.1] == [39, 40]
    assert [i for i, height in enumerate(told.ground_m) if height is None] == [79, 80]
    assert set(told.aircraft_m) == {300.0}


def test_a_short_leg_has_as_many_steps_as_it_has_and_one_of_no_length_none():
    assert len(envelope(flat_leg([0, 10, 20], [150, 151, 152])).ground_m) == 2
    assert envelope(flat_leg([0, 0], [150, 180])) is None
