"""Legs over made-up grounds: corridors surveyed, the field solved, the leg chosen, flown and recorded."""

import numpy as np
from route_scene import CALM, PLAIN

from diproute.records import AvoidArea, Finding, Limits
from diproute.routing.airspace import prepare
from diproute.routing.blocked import Blocked
from diproute.routing.choice import choose
from diproute.routing.flown import fly
from diproute.routing.gates import GateEnds, corridor_gradients, make_gates
from diproute.routing.leg import make_leg
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import solve
from diproute.sites.clearance import prepare as prepare_heights
from diproute.sites.corridors import survey_corridors
from diproute.sites.rules import ClearanceRules

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=3.0, descent_m_s=2.5)
LIMITS = Limits()
SURVEY = ClearanceRules.from_limits(LIMITS, 24.0, 12.0, 4.5)
VERTICAL_M_S = 2.0
HANGING_M = 30.0
KINDS_M = np.array([200.0, 500.0, 1220.0])


def area(shape, name="Camp", why="people", hard=True, cost=1.0, floor_m=None, ceiling_m=None):
    return AvoidArea(name, Finding.of("area-said", text=why), hard, cost, shape, floor_m, ceiling_m)


class Scene:
    """A ground with one drop: its field, and the legs between it and any dips."""

    def __init__(
        self, ground, drops=((0.0, 0.0),), *, areas=(), wind=CALM, towards=True, flying=FLYING, rules=PLAIN,
        above_m=15.0, lift_limit_m=60.0,
    ):  # fmt: skip
        self.ground, self.wind, self.towards, self.flying, self.rules = ground, wind, towards, flying, rules
        self.lift_limit_m = lift_limit_m
        self.airspace = prepare(ground, areas, rules)
        self.heights = prepare_heights(ground, SURVEY)
        x, y = np.array(drops, float).T
        self.far = self.gates(x, y, self.top(x, y) + above_m, "drop", departure=not towards)
        self.field = solve(self.airspace, flying, wind, self.far, towards=towards)

    def top(self, x, y):
        row, col = self.ground.grid.rowcol(x, y)
        return self.ground.top[row, col].astype(float)

    def gates(self, x, y, z, place, *, departure):
        rate = self.flying.climb_m_s if departure else self.flying.descent_m_s
        steep = LIMITS.departure_gradient if departure else LIMITS.arrival_gradient
        kinds = corridor_gradients(rate, self.flying.airspeed_m_s, steep), KINDS_M
        corridors = survey_corridors(self.ground, self.heights, SURVEY, (x, y, z), kinds, least_lift_m=5.0)
        ends = GateEnds(place, departure, VERTICAL_M_S, self.lift_limit_m, HANGING_M)
        return make_gates(corridors, np.ones(corridors.lift_m.shape[:2], bool), self.flying, self.wind, ends)

    def fly(self, *dips, z=None):
        """A leg, or what is in the way, for each dip."""
        x, y = np.array(dips, float).T
        near = self.gates(x, y, self.top(x, y) if z is None else np.full(len(x), z), "dip", departure=self.towards)
        choice = choose(self.field, near)
        found = [fly(self.field, near, choice, i) for i in range(len(dips))]
        kind = "loaded" if self.towards else "empty"
        return [
            one if isinstance(one, Blocked) else make_leg(self.airspace, one[0], HANGING_M, "Head", kind)
            for one in found
        ]


def gates_s(leg):
    """Time of the leg's gates: straight up and down, and the straight corridors as they say of themselves."""
    out, into = leg.departure, leg.arrival
    return (out.lift_m + into.lift_m) / VERTICAL_M_S + sum(g.straight_m / g.ground_speed_m_s for g in (out, into))


def straight_m(leg):
    return leg.departure.straight_m + leg.arrival.straight_m
