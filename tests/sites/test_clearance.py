"""The sweep against its brute-force twin, its names, its unknowns and its laws."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diproute import constants as k
from diproute.errors import RangeError
from diproute.physics.geodesy import LocalFrame
from diproute.records import Limits, Obstacle, WireCells
from diproute.sites.clearance import survey, survey_arrays
from diproute.sites.rules import ClearanceRules
from diproute.sites.surfaces import SURFACES, Corridor

CM = 0.01  # the bar of issue 3


def rules_of(hover_circle_m=22.9, surface="8:1", error_m=None, **limits):
    return ClearanceRules.from_limits(Limits(**limits), hover_circle_m, 10.7, 4.5, error_m, surface)


WIRE = Obstacle("power line", "wire", 45.0, True, None, None, None, "test", is_wire=True)
MAST = Obstacle("mast", "mast", 60.0, False, False, 20.0, None, "test")


def random_ground(twin, rng):
    """Rough country with a flat pool, trees, towers, a wire one cell wide, and now and then nodata."""
    rows, cols = rng.integers(24, 72, 2)
    cell = float(rng.choice([1.0, 2.5, 5.0, 10.0, 20.0, 30.0]))
    lap = np.arange(max(rows, cols)) * cell
    top = 300 + 0.05 * cell * rng.standard_normal((rows, cols)).cumsum(0).cumsum(1) / 4
    top += 20 * np.sin(lap[:rows, None] / 150 + rng.uniform(0, 6)) * np.cos(lap[None, :cols] / 210 + rng.uniform(0, 6))
    cause = np.zeros((rows, cols), np.uint16)
    trees = rng.random((rows, cols)) < rng.uniform(0, 0.5)
    top[trees] += rng.uniform(2, 35, trees.sum())
    cause[trees] = 1
    for _ in range(rng.integers(0, 5)):
        r, c = rng.integers(0, rows), rng.integers(0, cols)
        top[r, c] += rng.uniform(20, 120)
        cause[r, c] = 3
    if rng.random() < 0.7:
        (r0, r1), (c0, c1) = rng.integers(0, rows, 2), rng.integers(0, cols, 2)
        n = max(abs(r1 - r0), abs(c1 - c0)) + 1
        r, c = np.linspace(r0, r1, n).round().astype(int), np.linspace(c0, c1, n).round().astype(int)
        top[r, c] = top[r, c].max() + 30
        cause[r, c] = 2
    if rng.random() < 0.4:
        for _ in range(rng.integers(1, 4)):
            top[rng.integers(0, rows), rng.integers(0, cols)] = np.nan
    return twin.make_ground(top, cell, cause, (WIRE, MAST))


def random_rules(rng, reach):
    return rules_of(
        hover_circle_m=reach * rng.uniform(0.05, 0.2),
        surface=str(rng.choice(list(SURFACES))),
        corridor_start_m=reach * rng.uniform(0, 0.15),
        corridor_spread=float(rng.choice([0.0, 0.1, 0.15, 0.4])),
        corridor_length_m=reach * rng.uniform(0.3, 1.0),
        departure_gradient=float(rng.choice([0.0, 0.1, 0.125, 0.3])),
        arrival_gradient=float(rng.choice([0.1, 0.125, 0.2])),
        load_margin_m=rng.uniform(0, 12),
        rotor_margin_m=rng.uniform(0, 8),
        side_length_m=reach * rng.uniform(0.05, 0.4),
        least_lift_m=rng.uniform(0, 6),
    )


def short(surface, reach):
    return replace(surface, length_m=min(surface.length_m, reach))


@pytest.mark.parametrize("seed", range(20))
def test_two_hundred_random_grids_agree_with_the_twin_to_a_centimetre(twin, seed):
    rng = np.random.default_rng(seed)
    known = 0
    for _ in range(10):
        ground = random_ground(twin, rng)
        grid = ground.grid
        reach = min(grid.rows, grid.cols) * grid.cell_m / 2
        rules = random_rules(rng, reach)
        rules = replace(rules, surface=short(rules.surface, reach))
        x, y = (rng.uniform(-0.2, 0.2, 2) * reach).tolist()
        if rng.random() < 0.3:  # on a corner of a cell, where squares and strips meet edge to edge
            x, y = grid.left_m + grid.cols // 2 * grid.cell_m, grid.top_m - grid.rows // 2 * grid.cell_m
        level = float(np.nanpercentile(ground.top, rng.uniform(0, 60)))
        wires = ground.top + np.where(ground.cause == 2, np.float32(rules.wire_margin_m - rules.load_margin_m), 0)
        seen = survey(ground, x, y, level, rules, n_directions=24)[0]
        bearings = seen.bearing_deg - LocalFrame(grid.lat_deg, grid.lon_deg).convergence_deg(x, y)
        for i, bearing in enumerate(bearings):
            for strip, got in ((rules.departure, seen.lift_out_m[i]), (rules.arrival, seen.lift_in_m[i])):
                want = twin.over_line(ground, wires, x, y, level, bearing, strip) + rules.load_margin_m
                want = max(want, rules.least_lift_m) if not math.isnan(want) else want
                assert got == pytest.approx(want, abs=CM, nan_ok=True)
            over = twin.over_line(ground, ground.top, x, y, level, bearing, rules.surface)
            want = max(over, 0.0) if not math.isnan(over) else over
            assert seen.surface_m[i] == pytest.approx(want, abs=CM, nan_ok=True)
            known += not math.isnan(over)
        want = twin.line_needed(ground, wires, x, y, level, rules, k.OBSTACLE_M.value)
        assert seen.line_needed_m == pytest.approx(want, abs=CM, nan_ok=True)
    assert known > 50  # the agreement is not one of unknowns


@pytest.mark.parametrize("bearing", [0.0, 7.0, 45.0, 90.0, 133.3, 180.0, 271.5])
@pytest.mark.parametrize(
    "strip", [Corridor(15, 0.1, 300, 0.125), Corridor(11, 0.2, 280, 0.1, 12, 30), Corridor(3, 0, 200, 0)]
)
def test_the_twin_touches_what_geos_says_it_touches(twin, bearing, strip):
    grid = twin.make_ground(np.zeros((80, 90)), 10.0).grid
    for x, y in ((3.7, -11.2), (0.0, 0.0), (5.0, 5.0)):
        mine = twin.touching(grid, x, y, bearing, strip)
        assert (mine == twin.touching_by_shapely(grid, x, y, bearing, strip)).all()


@settings(max_examples=60, deadline=None)
@given(
    r=st.integers(5, 134), c=st.integers(5, 134), cell=st.sampled_from([2.0, 10.0, 30.0]),
    height=st.floats(20, 150), dx=st.floats(-1, 1), dy=st.floats(-1, 1),
)  # fmt: skip
def test_a_single_one_cell_tower_anywhere_in_a_corridor_is_found(twin, r, c, cell, height, dx, dy):
    top = np.zeros((140, 140))
    top[r, c] = height
    ground = twin.make_ground(top, cell)
    rules = rules_of(corridor_length_m=60 * cell, corridor_start_m=1.5 * cell, departure_gradient=0.02)
    seen = survey_arrays(ground, dx * cell, dy * cell, 0.0, rules)
    bearings = seen.bearing_deg - LocalFrame(45, 20).convergence_deg(dx * cell, dy * cell)
    want = [twin.over_line(ground, ground.top, dx * cell, dy * cell, 0.0, b, rules.departure) for b in bearings]
    np.testing.assert_allclose(seen.lift_out_m[0], np.maximum(np.array(want) + 5.0, 3.0), atol=CM)


def test_a_wire_one_cell_wide_across_a_corridor_is_found_in_every_direction_it_crosses(twin):
    top = np.zeros((300, 300))
    cause = np.zeros(top.shape, np.uint16)
    top[60, :], cause[60, :] = 40.0, 2  # 900 m north of the dip, east to west
    ground = twin.make_ground(top, 10.0, cause, (WIRE,))
    seen = survey(ground, 0.0, 0.0, 0.0, rules_of(departure_gradient=0.0, arrival_gradient=0.0))[0]
    crossed = np.abs((seen.bearing_deg + 180) % 360 - 180) <= 40  # acos(890 m / 1220 m) is 43 degrees
    assert (seen.lift_out_m[crossed] == 50.0).all()  # 40 m and the wire's own margin of 10 m
    assert (seen.lift_out_m[np.abs((seen.bearing_deg + 180) % 360 - 180) >= 60] == 5.0).all()
    governing = seen.lift_governing[0]
    assert (governing.what, governing.assumed_m, governing.unverified) == ("power line", 45.0, False)
    assert governing.obstacle == 0
    assert governing.height_m == 40.0
    assert governing.distance_m == pytest.approx(895, abs=330)  # somewhere along the wire within the corridor
    assert seen.lift_governing[36] is None  # open water: nothing but the water's own margin


def test_a_wire_keeps_its_margin_and_its_name_where_trees_stand_higher(twin):
    top, cause = np.zeros((300, 300)), np.zeros((300, 300), np.uint16)
    wire_row = 60
    top[wire_row, :], cause[wire_row, :] = 42.0, 1  # trees 2 m above the wire, all along it
    cell = wire_row * 300 + np.arange(300)
    wires = WireCells(cell, np.full(300, 40.0, np.float32), np.zeros(300, np.int64))
    ground = twin.make_ground(top, 10.0, cause, (WIRE,), wires=wires)
    seen = survey(ground, 0.0, 0.0, 0.0, rules_of(departure_gradient=0.0, arrival_gradient=0.0))[0]
    assert seen.lift_out_m[0] == 50.0  # 10 m over the wire's 40 m, not 5 m over the trees' 42 m
    governing = seen.lift_governing[0]
    assert (governing.what, governing.height_m, governing.obstacle) == ("power line", 40.0, 0)
    taller = replace(ground, top=np.where(ground.top > 0, np.float32(46.0), ground.top))
    seen = survey(taller, 0.0, 0.0, 0.0, rules_of(departure_gradient=0.0, arrival_gradient=0.0))[0]
    assert seen.lift_out_m[0] == 51.0  # now the trees ask for more
    assert seen.lift_governing[0].what == "trees"


def test_bearings_are_true_where_grid_north_is_not(twin):
    top = np.zeros((160, 160))
    ground = twin.make_ground(top, 10.0, lat_deg=60.0)
    # far east in the frame grid north points right of true north: put the grid 200 km east, a mast due grid north
    ground = replace(ground, grid=replace(ground.grid, left_m=200_000.0 - 800))
    ground.top[30, 80] = 100.0
    x, y = 200_005.0, 0.0
    frame = LocalFrame(60.0, 20.0)
    turn = frame.convergence_deg(x, y)
    assert abs(turn) > 3  # sin 60° · 3.6° of longitude
    seen = survey(ground, x, y, 0.0, rules_of(corridor_length_m=600, corridor_start_m=5, corridor_spread=0.0), 360)[0]
    (lon0, lat0), (lon1, lat1) = frame.to_lonlat(x, y), frame.to_lonlat(x, y + 495)
    from diproute.physics.geodesy import distance_and_course

    _, course = distance_and_course(lon0, lat0, lon1, lat1)
    found = seen.bearing_deg[int(np.argmax(seen.lift_out_m))]
    assert found == pytest.approx(course % 360, abs=1.2)  # the mast's own half-width is 0.6 degrees
    assert seen.lift_governing[int(np.argmax(seen.lift_out_m))].bearing_deg == pytest.approx(course % 360, abs=0.1)


def test_what_governs_is_named(twin):
    top = np.zeros((100, 100), np.float32)
    cause = np.zeros(top.shape, np.uint16)
    top[20, 50], cause[20, 50] = 90, 3  # 295 m north
    top[50, 80], cause[50, 80] = 60, 1
    top[80, 50] = 50
    ground = twin.make_ground(top, 10.0, cause, (WIRE, MAST))
    seen = survey(ground, 5.0, -5.0, 0.0, rules_of(corridor_length_m=400, corridor_spread=0.0), 4)[0]
    assert [g and g.what for g in seen.lift_governing] == ["mast", "trees", "terrain", None]
    assert [g and (g.assumed_m, g.unverified) for g in seen.lift_governing] == [
        (None, True), (None, False), (None, False), None
    ]  # fmt: skip
    assert seen.lift_governing[0].distance_m == pytest.approx(300)
    surface = survey(replace(ground, elevation_is="surface"), 5.0, -5.0, 0.0, rules_of(corridor_length_m=400), 4)[0]
    assert surface.lift_governing[2].what == "terrain or treetops"


def test_the_line_and_what_asks_for_it(twin):
    top = np.zeros((80, 80), np.float32)
    cause = np.zeros(top.shape, np.uint16)
    top[40, 41], cause[40, 41] = 30, 1  # its near edge is 5 m off, inside the circle
    ground = twin.make_ground(top, 10.0, cause)
    seen = survey(ground, 5.0, -5.0, 0.0, rules_of(corridor_length_m=200))[0]
    assert seen.line_needed_m == pytest.approx(30 + 5 - 4.5)
    assert seen.line_governing.what == "trees"
    assert seen.line_governing.bearing_deg == pytest.approx(90, abs=0.01)
    open_water = survey(twin.make_ground(np.zeros((80, 80))), 5.0, -5.0, 0.0, rules_of(corridor_length_m=200))[0]
    assert open_water.line_needed_m == 0.0  # methods.md section 3: open water calls for no line
    assert open_water.line_governing is None
    assert (open_water.lift_out_m == 5.0).all()  # the load margin over the water


def test_the_vertical_error_is_added_to_every_margin(twin):
    top = np.zeros((80, 80), np.float32)
    top[40, 41] = 30
    ground = twin.make_ground(top)
    plain = survey(ground, 5.0, -5.0, 0.0, rules_of(corridor_length_m=200))[0]
    unsure = survey(ground, 5.0, -5.0, 0.0, rules_of(corridor_length_m=200, error_m=4.0))[0]
    np.testing.assert_allclose(unsure.lift_out_m, plain.lift_out_m + 4)
    assert unsure.line_needed_m == pytest.approx(plain.line_needed_m + 4)
    np.testing.assert_array_equal(unsure.surface_m, plain.surface_m)


def test_unknown_ground_is_not_known(twin):
    top = np.zeros((100, 100), np.float32)
    top[20, 50] = np.nan  # 295 m north
    ground = twin.make_ground(top)
    seen = survey(ground, 5.0, -5.0, 0.0, rules_of(corridor_length_m=400))[0]
    assert math.isnan(seen.lift_out_m[0])
    assert math.isnan(seen.lift_in_m[0])
    assert seen.lift_governing[0] is None
    assert seen.lift_out_m[18] == 5.0
    assert seen.line_needed_m == 0.0  # nothing unknown so near
    top[45, 50] = np.nan
    assert math.isnan(survey(twin.make_ground(top), 5.0, -5.0, 0.0, rules_of(corridor_length_m=400))[0].line_needed_m)


def test_a_corridor_that_leaves_the_grid_is_not_known(twin):
    ground = twin.make_ground(np.zeros((100, 100)))
    seen = survey_arrays(ground, 350.0, 0.0, 0.0, rules_of(corridor_length_m=400))
    assert np.isnan(seen.lift_out_m[0, 18])  # 150 m to the eastern edge
    assert seen.lift_out_m[0, 54] == 5.0
    off = survey_arrays(ground, 5000.0, 0.0, 0.0, rules_of())
    assert np.isnan(off.lift_out_m).all()
    assert np.isnan(off.line_needed_m).all()
    no_level = survey_arrays(ground, 0.0, 0.0, math.nan, rules_of(corridor_length_m=400))
    assert np.isnan(no_level.lift_out_m).all()
    assert np.isnan(no_level.line_needed_m).all()


def test_the_bare_numbers_are_those_of_the_records_for_many_points(twin):
    rng = np.random.default_rng(5)
    ground = twin.make_ground(rng.uniform(0, 40, (200, 200)))
    x, y = rng.uniform(-500, 500, (2, 60))
    rules = rules_of(corridor_length_m=400, arrival_gradient=0.2)
    arrays = survey_arrays(ground, x, y, 2.0, rules)
    for i, seen in enumerate(survey(ground, x, y, 2.0, rules)):
        np.testing.assert_array_equal(arrays.lift_out_m[i], seen.lift_out_m)
        np.testing.assert_array_equal(arrays.lift_in_m[i], seen.lift_in_m)
        assert arrays.line_needed_m[i] == seen.line_needed_m


LAW = settings(max_examples=25, deadline=None)
COUNTRY = {"seed": st.integers(0, 10_000), "more": st.floats(0.01, 40)}


def law_ground(twin, seed):
    ground = random_ground(twin, np.random.default_rng(seed))
    reach = min(ground.grid.rows, ground.grid.cols) * ground.grid.cell_m / 2
    limits = {"corridor_length_m": 0.8 * reach, "corridor_start_m": 0.05 * reach, "side_length_m": 0.3 * reach}
    return ground, float(np.nanpercentile(ground.top, 20)), limits


@LAW
@given(**COUNTRY)
def test_a_bigger_margin_never_lowers_a_lift_or_a_line(twin, seed, more):
    ground, level, limits = law_ground(twin, seed)
    plain = survey_arrays(ground, 0.0, 0.0, level, rules_of(**limits))
    wide = survey_arrays(ground, 0.0, 0.0, level, rules_of(load_margin_m=5 + more, rotor_margin_m=5 + more, **limits))
    step = 1e-3  # heights are float32, and a wire's extra margin is added to them
    assert not (wide.lift_out_m < plain.lift_out_m - step).any()
    assert not (wide.line_needed_m < plain.line_needed_m - step).any()
    assert (np.isnan(wide.lift_out_m) == np.isnan(plain.lift_out_m)).all()


@LAW
@given(**COUNTRY)
def test_a_taller_tree_never_reduces_a_lift_or_a_line(twin, seed, more):
    ground, level, limits = law_ground(twin, seed)
    taller = ground.top.copy()
    rng = np.random.default_rng(seed + 1)
    taller[rng.random(taller.shape) < 0.05] += np.float32(more)
    before = survey_arrays(ground, 0.0, 0.0, level, rules_of(**limits))
    after = survey_arrays(replace(ground, top=taller), 0.0, 0.0, level, rules_of(**limits))
    assert not (after.lift_out_m < before.lift_out_m - 1e-9).any()
    assert not (after.line_needed_m < before.line_needed_m - 1e-9).any()


@LAW
@given(**COUNTRY)
def test_losing_knowledge_never_gives_an_answer(twin, seed, more):
    ground, level, limits = law_ground(twin, seed)
    less = ground.top.copy()
    less[np.random.default_rng(seed + 1).random(less.shape) < more / 2000] = np.nan
    before = survey_arrays(ground, 0.0, 0.0, level, rules_of(**limits))
    after = survey_arrays(replace(ground, top=less), 0.0, 0.0, level, rules_of(**limits))
    same = (after.lift_out_m == before.lift_out_m) | np.isnan(after.lift_out_m)
    assert same.all()
    assert np.isnan(after.line_needed_m[0]) or after.line_needed_m[0] == before.line_needed_m[0]


@LAW
@given(**COUNTRY)
def test_a_wider_or_longer_corridor_never_lowers_a_lift(twin, seed, more):
    ground, level, limits = law_ground(twin, seed)
    plain = survey_arrays(ground, 0.0, 0.0, level, rules_of(**limits))
    wide = dict(limits, corridor_start_m=limits["corridor_start_m"] + more / 10)
    assert not (survey_arrays(ground, 0.0, 0.0, level, rules_of(**wide)).lift_out_m < plain.lift_out_m - 1e-9).any()


def test_refusals(twin):
    ground = twin.make_ground(np.zeros((50, 50)))
    with pytest.raises(RangeError, match="at least 4"):
        survey_arrays(ground, 0.0, 0.0, 0.0, rules_of(), 3)
    with pytest.raises(RangeError, match="one list"):
        survey_arrays(ground, np.zeros((2, 2)), 0.0, 0.0, rules_of())
    with pytest.raises(RangeError, match="grid of"):
        survey_arrays(replace(ground, top=np.zeros((3, 3), np.float32)), 0.0, 0.0, 0.0, rules_of())
    with pytest.raises(RangeError, match="0 or more"):
        rules_of(load_margin_m=-1.0)
    with pytest.raises(RangeError, match="0 or more"):
        rules_of(departure_gradient=-0.1)
    with pytest.raises(RangeError, match="known: 8:1, icao-a"):
        rules_of(surface="9:1")
