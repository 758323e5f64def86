"""What the compiled search for a leg reads: rasters of the ground, wind by height, craft, the gates of an end."""

from __future__ import annotations

import threading
from typing import Final

import numpy as np

from diproute.constants import ARC_CLIMB, CORRIDOR_STRAIGHT_M, G0_M_S2
from diproute.physics.turn import turn_radius
from diproute.records import Wind
from diproute.routing.airspace import Airspace
from diproute.routing.choice import turn_speed_m_s
from diproute.routing.corners_kernel import MOST_CORNERS, MOST_SAMPLES, Air, Craft, End, Land, Work
from diproute.routing.gates import Gates
from diproute.routing.speed_model import Flying, wind_vector

AIR_STEP_M: Final = 10.0
CIRCLE_STEP_M: Final = 20.0  # between the places of an orbit that are looked at
_OWN: Final = threading.local()


def land_of(airspace: Airspace) -> Land:
    """Give the rasters of an airspace."""
    turns, relief = airspace.turn_floor
    grid, level = airspace.grid, airspace.coarse
    nothing = np.zeros((1, 1), np.float32)
    return Land(
        airspace.fine.floor,
        turns,
        float(relief),
        nothing if airspace.ceilings is None else airspace.ceilings,
        nothing if airspace.roofs is None else airspace.roofs,
        float(grid.left_m),
        float(grid.top_m),
        float(grid.cell_m),
        np.zeros((1, 1), np.uint8) if level.cost is None else level.cost,
        np.array(airspace.costs, np.float64),
        int(level.factor),
    )


def air_of(wind: Wind) -> Air:
    """Give the wind by height, evenly spaced between the lowest and the highest level of its table."""
    low, high = wind.altitude_m[0], wind.altitude_m[-1]
    heights = np.arange(low, high + AIR_STEP_M, AIR_STEP_M) if len(wind.altitude_m) > 1 else np.array([low])
    east, north = wind_vector(wind, heights)
    return Air(float(low), AIR_STEP_M, np.ascontiguousarray(east), np.ascontiguousarray(north))


def craft_of(flying: Flying, air: Air, hanging_m: float) -> Craft:
    """Give the numbers of a craft; orbits are wide enough for the strongest wind of the table."""
    turn = turn_speed_m_s(flying)
    strongest = float(np.hypot(air.east, air.north).max())
    radius = float(turn_radius(turn + strongest, flying.turn_bank_deg))
    heading = np.linspace(0.0, 2.0 * np.pi, 73)[:-1]
    over_ground = strongest * np.cos(heading) + np.sqrt(np.maximum(1.0, turn**2 - (strongest * np.sin(heading)) ** 2))
    around = np.linspace(0.0, 2.0 * np.pi, int(2.0 * np.pi * radius / CIRCLE_STEP_M) + 1, endpoint=False)
    return Craft(
        float(flying.airspeed_m_s), turn, float(flying.climb_m_s), float(flying.descent_m_s), ARC_CLIMB.value,
        (flying.airspeed_m_s + strongest) / (turn + strongest) - 1.0,
        float(G0_M_S2.value * np.tan(np.radians(flying.turn_bank_deg))), CORRIDOR_STRAIGHT_M.value, radius,
        float(2.0 * np.pi * radius * np.mean(1.0 / np.maximum(1.0, over_ground))),
        radius * np.sin(around), radius * np.cos(around), float(hanging_m),
    )  # fmt: skip


def end_of(gates: Gates, i: int) -> End:
    """Give the gates of one end."""
    return End(
        float(gates.x_m[i]), float(gates.y_m[i]), float(gates.z_m[i]), float(gates.vertical_m_s),
        float(gates.lift_limit_m), np.ascontiguousarray(gates.bearing[i]), np.ascontiguousarray(gates.lift_m[i]),
        gates.gradient, gates.surveyed_m, np.ascontiguousarray(gates.speed_m_s[i]),
    )  # fmt: skip


def own_work() -> Work:
    """Give the calling thread's room for evaluations."""
    work: Work | None = getattr(_OWN, "work", None)
    if work is None:
        corners, samples = (
            (np.zeros(count) for _ in range(many)) for count, many in ((MOST_CORNERS + 4, 11), (MOST_SAMPLES, 10))
        )
        work = _OWN.work = Work(*corners, *samples)
    return work
