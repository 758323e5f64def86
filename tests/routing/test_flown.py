"""Legs as flown over 200 made-up grounds, held by brute force against the squares of all cells and the true polygons.

Grounds, winds and areas are drawn from a generator that the scene's number begins, so that every run sees the same.
"""

import numpy as np
import pytest
import shapely
from route_scene import make_ground, rough

from diproute.constants import G0_M_S2
from diproute.records import AvoidArea, Finding, Limits, Wind
from diproute.routing.airspace import RouteRules, prepare
from diproute.routing.audit import audit, prepare_audit
from diproute.routing.blocked import Blocked
from diproute.routing.choice import choose
from diproute.routing.flown import fly
from diproute.routing.gates import GateEnds, corridor_gradients, make_gates
from diproute.routing.leg import make_leg
from diproute.routing.speed_model import Flying, wind_vector
from diproute.routing.travel_time import solve
from diproute.sites.clearance import prepare as prepare_heights
from diproute.sites.corridors import survey_corridors
from diproute.sites.rules import ClearanceRules

LIMITS = Limits()
HANGING_M = 36.0
RULES = RouteRules.of(LIMITS, 2.0, HANGING_M)
SURVEY = ClearanceRules.from_limits(LIMITS, 24.0, 12.0, 4.5, 2.0)
HOW = {True: Flying(41.0, 3.6, 5.0), False: Flying(46.0, 5.6, 5.0)}  # loaded, empty
LIFT_LIMIT_M = 120.0
PEOPLE = Finding.of("area-said", text="people")
SCENES, LEGS = 200, 2  # of each scene, loaded and empty by turns


def areas_of(rng, half_m, ground_m):
    """A closed area, one that is flown over and one that is flown under, none of them round the middle."""
    made = []
    for floor_m, ceiling_m in ((None, None), (None, ground_m + 180.0), (ground_m + 260.0, None)):
        angle, away = rng.uniform(0, 2 * np.pi), rng.uniform(0.35, 0.8) * half_m
        corners = rng.uniform(0, 2 * np.pi, 5)
        ring = [
            (away * np.cos(angle) + r * np.cos(a), away * np.sin(angle) + r * np.sin(a))
            for a, r in zip(np.sort(corners), rng.uniform(40, 400, 5), strict=True)
        ]
        shape = shapely.Polygon(ring).buffer(0)  # often a sliver
        if not shape.is_empty and shape.distance(shapely.Point(0, 0)) > 60.0:
            made.append(AvoidArea("Area", PEOPLE, True, 1.0, shape, floor_m, ceiling_m))
    return tuple(made)


def wind_of(rng):
    """A wind that turns and freshens with height, in one scene of three the same everywhere."""
    if rng.random() < 1 / 3:
        return Wind((0.0,), (float(rng.uniform(0, 360)),), (float(rng.uniform(0, 13)),))
    first = rng.uniform(0, 360)
    turned = tuple(float((first + 25 * i) % 360) for i in range(3))
    return Wind((0.0, 400.0, 900.0), turned, tuple(np.sort(rng.uniform(0, 13, 3)).tolist()))


class Flown:
    """One scene with the legs that were flown in it."""

    def __init__(self, number):
        rng = np.random.default_rng(number)
        cell_m, cells = float(rng.choice([15.0, 25.0, 40.0])), 150
        top = 300.0 + rough(rng, cells, cells, 12.0, float(rng.uniform(20, 400)))
        at = rng.integers(3, cells - 3, (2, 12))
        top[at[0], at[1]] += rng.uniform(20, 90, 12).astype(np.float32)  # towers
        self.ground = make_ground(top, cell_m)
        half_m = cells * cell_m / 2
        middle = float(top[cells // 2, cells // 2])
        self.areas = areas_of(rng, half_m, middle)
        self.wind = wind_of(rng)
        self.loaded = number % 2 == 0
        airspace = prepare(self.ground, self.areas, RULES)
        self.vectors = prepare_audit(airspace)
        heights = prepare_heights(self.ground, SURVEY)
        self.flying = HOW[self.loaded]
        angle, away = rng.uniform(0, 2 * np.pi, LEGS), rng.uniform(0.4, 0.75, LEGS) * half_m
        dip_x, dip_y = away * np.cos(angle), away * np.sin(angle)
        row, col = self.ground.grid.rowcol(dip_x, dip_y)
        dips = (dip_x, dip_y, self.ground.top[row, col].astype(float))
        drop = (np.zeros(1), np.zeros(1), np.array([middle + 15.0]))

        def gates(spots, place, departure):
            rate = self.flying.climb_m_s if departure else self.flying.descent_m_s
            steep = LIMITS.departure_gradient if departure else LIMITS.arrival_gradient
            kinds = corridor_gradients(rate, self.flying.airspeed_m_s, steep), np.array([200.0, 500.0, 1220.0])
            corridors = survey_corridors(self.ground, heights, SURVEY, spots, kinds, least_lift_m=5.0)
            ends = GateEnds(place, departure, 3.0, LIFT_LIMIT_M, HANGING_M)
            return make_gates(corridors, np.ones(corridors.lift_m.shape[:2], bool), self.flying, self.wind, ends)

        near = gates(dips, "dip", self.loaded)
        field = solve(
            airspace, self.flying, self.wind, gates(drop, "drop", not self.loaded), towards=self.loaded
        )  # loaded legs fly to the drop, empty ones away from it
        choice = choose(field, near)
        self.bound = field.bound(near.x_m, near.y_m, near.z_m)
        self.flights = {}
        for i in range(LEGS):
            found = fly(field, near, choice, i)
            if not isinstance(found, Blocked):
                self.flights[i] = found[0]
        kind = "loaded" if self.loaded else "empty"
        self.legs = {i: make_leg(airspace, one, HANGING_M, "Head", kind) for i, one in self.flights.items()}


@pytest.fixture(scope="module")
def scenes():
    return [Flown(number) for number in range(SCENES)]


def every_leg(scenes):
    for scene in scenes:
        for i, leg in scene.legs.items():
            yield scene, scene.flights[i], leg


def closely(leg, piece):
    """Places and heights of the bucket along a piece, at most 4 m apart."""
    some = slice(piece.first, piece.last + 1)
    x, y, z = leg.x_m[some], leg.y_m[some], (leg.altitude_m - leg.hanging_m)[some]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    at = np.union1d(along, np.linspace(0.0, along[-1], int(along[-1] / 4.0) + 2))
    return np.column_stack([np.interp(at, along, values) for values in (x, y, z)]), at


def highest(ground, xy, reach_m):
    """Highest cell whose square comes within a reach of each place."""
    grid, (x, y) = ground.grid, xy.T
    row, col = grid.rowcol(x, y)
    most = int(reach_m / grid.cell_m) + 2
    out = np.full(len(x), -np.inf)
    for dr in range(-most, most + 1):
        for dc in range(-most, most + 1):
            r, c = row + dr, col + dc
            inside = (r >= 0) & (c >= 0) & (r < grid.rows) & (c < grid.cols)
            left, top = grid.left_m + c * grid.cell_m, grid.top_m - r * grid.cell_m
            dx = np.maximum(0.0, np.maximum(left - x, x - left - grid.cell_m))
            dy = np.maximum(0.0, np.maximum(top - grid.cell_m - y, y - top))
            near = inside & (np.hypot(dx, dy) <= reach_m)
            out[near] = np.maximum(out[near], ground.top[r[near], c[near]])
    return out


def test_legs_are_found(scenes):
    found = sum(len(scene.legs) for scene in scenes)
    assert found >= 0.8 * SCENES * LEGS  # else the other tests say little
    assert any(one.orbits for scene in scenes for one in scene.flights.values())
    kinds = {piece.kind for _, _, leg in every_leg(scenes) for piece in leg.pieces}
    assert kinds == {"lift", "corridor", "arc", "straight", "orbits", "lower"}


def test_the_load_keeps_clear_of_every_cell_within_reach(scenes):
    """En route the cruise clearance, in the arcs and orbits of the gates that of turns; a wire's margin has no part."""
    for scene, _, leg in every_leg(scenes):
        for piece in leg.pieces:
            if piece.kind in ("lift", "lower", "corridor"):
                continue
            points, along = closely(leg, piece)
            clearance = RULES.turn_clearance_m if piece.gate else RULES.cruise_clearance_m
            below = highest(scene.ground, points[:, :2], RULES.lateral_clearance_m - 0.3)  # chords of arcs cut inside
            room = points[:, 2] - below - clearance - RULES.vertical_error_m
            inner = (along >= 5.0) & (along <= along[-1] - 5.0)  # between the last sample of a gate and the next one
            assert room[inner].min(initial=0.0) >= -0.1, (piece, room.min())  # the margin changes
            assert room.min() >= -1.0


def test_a_corridor_keeps_its_margin_over_its_whole_width(scenes):
    for scene, _, leg in every_leg(scenes):
        for gate, piece, outward in ((leg.departure, leg.pieces[1], 1), (leg.arrival, leg.pieces[-2], -1)):
            if piece.kind != "corridor":
                continue
            points, along = closely(leg, piece)
            away = along if outward == 1 else along[-1] - along
            seen = away <= gate.surveyed_m
            ahead = points[-1, :2] - points[0, :2]
            side = np.array([ahead[1], -ahead[0]]) / max(np.hypot(*ahead), 1e-9)
            for share in (-1.0, -0.5, 0.0, 0.5, 1.0):
                width = RULES.corridor_start_m + RULES.corridor_spread * away
                beside = points[:, :2] + share * (width * 0.999)[:, None] * side
                below = highest(scene.ground, beside[seen], 0.0)
                room = points[seen, 2] - below - RULES.load_margin_m - RULES.vertical_error_m
                assert room.min() >= -0.1


def test_nothing_enters_an_area(scenes):
    for scene, _, leg in every_leg(scenes):
        assert audit(scene.vectors, leg) is None
        for area in scene.areas:
            for piece in leg.pieces:
                points, _ = closely(leg, piece)
                inside = shapely.contains_xy(area.geometry, *points[:, :2].T)
                over = area.ceiling_m is not None and points[inside, 2] >= area.ceiling_m + RULES.vertical_error_m - 0.1
                under = area.floor_m is not None and (
                    points[inside, 2] + HANGING_M <= area.floor_m - RULES.vertical_error_m + 0.1
                )
                assert np.all(over | under) or not inside.any()


def test_courses_and_radii_are_flown(scenes):
    """The corridors run along the gates' courses; no arc or orbit asks for more bank than there is."""
    for scene, _, leg in every_leg(scenes):
        for gate, first, last in ((leg.departure, *ends(leg.pieces[1])), (leg.arrival, *ends(leg.pieces[-2]))):
            if gate.straight_m < 1.0:
                continue
            dx, dy = leg.x_m[last] - leg.x_m[first], leg.y_m[last] - leg.y_m[first]
            off = (np.degrees(np.arctan2(dx, dy)) - gate.course_deg + 180.0) % 360.0 - 180.0
            assert abs(off) < 1.0
        least = scene.flying.turn_speed_m_s**2 / (G0_M_S2.value * np.tan(np.radians(scene.flying.turn_bank_deg)))
        for piece in leg.pieces:
            if piece.kind in ("arc", "orbits") and abs(piece.turn_deg) > 1.0:
                assert piece.radius_m > 0.25 * least  # into the wind an arc may be tighter, never by much
            if piece.kind == "orbits":
                assert piece.turn_deg % 360.0 == pytest.approx(0.0, abs=1e-6)
                assert piece.radius_m >= least  # downwind is met in every orbit


def ends(piece):
    return piece.first, piece.last


def test_parts_make_the_whole(scenes):
    for _, flight, leg in every_leg(scenes):
        assert leg.seconds == pytest.approx(flight.seconds, abs=0.05)
        assert leg.pieces[0].first == 0
        assert leg.pieces[-1].last == leg.x_m.size - 1
        assert all(a.last == b.first for a, b in zip(leg.pieces[:-1], leg.pieces[1:], strict=True))
        assert sum(seconds_of(leg, piece) for piece in leg.pieces) == pytest.approx(leg.seconds)


def seconds_of(leg, piece):
    return float(leg.time_s[piece.last] - leg.time_s[piece.first])


def test_height_changes_only_while_something_is_flown_and_no_faster_than_the_rates(scenes):
    for scene, _, leg in every_leg(scenes):
        for piece in leg.pieces:
            some = slice(piece.first, piece.last + 1)
            rise, run, took = (np.diff(a[some]) for a in (leg.altitude_m, leg.distance_m, leg.time_s))
            if piece.kind in ("lift", "lower"):
                assert np.all(rise >= -1e-6) if piece.kind == "lift" else np.all(rise <= 1e-6)
                continue
            assert np.all((run > 0) | (np.abs(rise) < 1e-6))
            assert np.all(rise <= scene.flying.climb_m_s * took + 0.06)  # heights are rounded between points
            assert np.all(-rise <= scene.flying.descent_m_s * took + 0.06)


def test_the_time_is_the_way_at_the_speed_in_the_wind(scenes):
    """With one wind for all heights a straight en route takes its length over the ground speed, or longer."""
    checked = 0
    for scene, _, leg in every_leg(scenes):
        if len(scene.wind.altitude_m) > 1:
            continue
        east, north = (float(v[0]) for v in wind_vector(scene.wind, np.zeros(1)))
        for piece in leg.pieces:
            if piece.kind != "straight" or piece.last == piece.first:
                continue
            go = np.array([leg.x_m[piece.last] - leg.x_m[piece.first], leg.y_m[piece.last] - leg.y_m[piece.first]])
            length = float(np.hypot(*go))
            ahead, across = (east * go[0] + north * go[1]) / length, (north * go[0] - east * go[1]) / length
            least = length / (ahead + np.sqrt(scene.flying.airspeed_m_s**2 - across**2))
            assert seconds_of(leg, piece) >= least * (1 - 1e-3) - 0.02
            checked += 1
    assert checked > 20


def test_the_bound_is_hardly_ever_above_the_flight(scenes):
    """It only says which points are looked at first; a tower beside a corridor may put it too high on a short leg."""
    above = [
        float(scene.bound[i]) / flight.seconds - 1.0
        for scene in scenes
        for i, flight in scene.flights.items()
        if scene.bound[i] > flight.seconds + 1e-6
    ]
    assert len(above) <= 0.01 * SCENES * LEGS
    assert max(above, default=0.0) < 0.25
