"""A reservoir under a power line, a pond among tall trees, a river in a gorge: the story a pilot would expect.

The three places are invented; docs/obstacles.md tells their story with these numbers.
"""

import numpy as np
import pytest

from diproute.records import Gate, Limits, Obstacle
from diproute.sites.approach import approach_of, open_of
from diproute.sites.clearance import survey
from diproute.sites.rules import ClearanceRules
from diproute.sites.wind_rules import DipWind, WindLimits, courses_in_wind
from diproute.wording import Reader, say

CELL, N = 5.0, 600
KNOT = 1852 / 3600
EAST, NORTH = np.meshgrid((np.arange(N) + 0.5) * CELL - N * CELL / 2, N * CELL / 2 - (np.arange(N) + 0.5) * CELL)
RULES = ClearanceRules.from_limits(Limits(), 22.9, 10.7, 4.5)  # type 3, bucket of 4.5 m


WINDS = WindLimits(5 * KNOT, 15 * KNOT, 30 * KNOT, 15 * KNOT)


def gate(kind, course, lift):
    return Gate("dip", kind, course, lift, 0.125, 20.0, 150.0, 200.0, 0.0, 0.0)


def judged(twin, top, cause, obstacles=(), wind=(0.0, 0.0), out=90.0, into=270.0):
    seen = survey(twin.make_ground(top, CELL, cause, obstacles), 2.5, 2.5, 0.0, RULES)[0]
    gates = (gate("arrival", into, 5.0), gate("departure", out, 5.0))
    return seen, approach_of(seen, DipWind(*wind), (Limits(), WINDS), *gates)


@pytest.fixture(scope="module")
def reservoir():
    """Open water, a power line from north to south 150 m to the east, 40 m above the water."""
    top, cause = np.zeros((N, N), np.float32), np.zeros((N, N), np.uint16)
    wire = np.abs(EAST - 152.5) < CELL / 2
    top[wire], cause[wire] = 40.0, 2
    return top, cause, (Obstacle("power line", "wire", 40.0, False, None, None, None, "invented", is_wire=True),)


@pytest.fixture(scope="module")
def pond():
    """A round pond of 80 m among trees of 25 m."""
    trees = np.hypot(EAST, NORTH) > 40
    return np.where(trees, 25.0, 0.0), trees.astype(np.uint16)


@pytest.fixture(scope="module")
def gorge():
    """A river of 60 m from west to east, its walls 200 m high at 45 degrees."""
    return np.clip(np.abs(NORTH) - 30, 0, 200), np.zeros((N, N), np.uint16)


def test_the_reservoir_takes_no_line_but_a_lift_over_the_wire(twin, reservoir):
    top, cause, wires = reservoir
    seen, approach = judged(twin, top, cause, wires)
    assert seen.line_needed_m == 0.0
    assert seen.lift_out_m[18] == pytest.approx(32, abs=0.5)  # 40 m, its margin of 10 m, less 147 m at 1:8
    assert seen.lift_governing[18].what == "power line"
    assert (seen.lift_out_m[36:] == 5.0).all()  # away from the wire: the margin over the water
    assert approach.open_share == 1.0
    assert seen.surface_m[18] == pytest.approx(23, abs=0.5)  # the published surface is 17 m up at the wire


def test_the_pond_takes_a_line_and_a_lift_all_round(twin, pond):
    seen, approach = judged(twin, *pond)
    assert seen.line_needed_m == pytest.approx(13.8, abs=0.1)
    assert seen.line_governing.what == "trees"
    assert seen.lift_out_m.min() > 25.0
    assert seen.lift_out_m.max() < 27.0
    assert approach.open_share == 1.0
    assert [c.code for c in approach.cautions] == ["surface-penetrated", "surface-penetrated"]


def test_the_gorge_is_open_along_the_river_only(twin, gorge):
    seen, approach = judged(twin, *gorge)
    assert seen.line_needed_m == pytest.approx(25.0, abs=0.1)  # walls of 1:1 beside a side surface of 1:2
    assert seen.line_governing.what == "terrain"
    assert seen.lift_out_m[0] == pytest.approx(177, abs=1.0)  # over the wall
    assert seen.lift_out_m[18] == pytest.approx(5.0)
    assert len(approach.sectors) == 2
    assert approach.open_share == pytest.approx(2 / 72)  # five degrees off the river a wall stands in the way
    assert approach.refused == ()


def test_in_the_gorge_the_wind_decides(twin, gorge):
    seen, approach = judged(twin, *gorge, wind=(270.0, 15 * KNOT))
    assert approach.refused == ()
    open_in, open_out = open_of(seen, Limits())
    into, out = (
        courses_in_wind(seen.bearing_deg, DipWind(270.0, 15 * KNOT), WINDS, departure=d) for d in (False, True)
    )
    assert out.course_deg[out.allowed[0] & open_out].tolist() == [270.0]  # to the west alone, into the wind
    assert into.course_deg[into.allowed[0] & open_in].tolist() == [270.0]
    _, across = judged(twin, *gorge, wind=(0.0, 16 * KNOT))
    assert [r.code for r in across.refused] == ["wind-in", "wind-out"]
    assert "wind 360° true 16 kt" in say(across.refused[0], Reader("metric"))
