"""The choice among the gates of points: for every open direction the least time to the source of a field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diproute.constants import ARC_CLIMB, CORRIDOR_STRAIGHT_M
from diproute.physics.turn import turn_radius
from diproute.records import F64, I64
from diproute.routing.gates import Gates
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Field


@dataclass(frozen=True, slots=True)
class Choice:
    """What is chosen for n points and d directions; no time of it is reported."""

    seconds: F64  # (n, d) lifts and lowers included, +inf: cannot be flown
    kind: I64  # (n, d) of corridor
    rung: I64  # (n, d) of the field
    exit_x_m: F64  # (n, d) where the arc ends
    exit_y_m: F64
    exit_m: F64  # height of the bucket's bottom there [m AMSL]

    def some(self, which: npt.NDArray[np.int64] | slice) -> Choice:
        """Give the choice of some points."""
        return replace(
            self, seconds=self.seconds[which], kind=self.kind[which], rung=self.rung[which],
            exit_x_m=self.exit_x_m[which], exit_y_m=self.exit_y_m[which], exit_m=self.exit_m[which],
        )  # fmt: skip

    @classmethod
    def joined(cls, parts: Sequence[Choice]) -> Choice:
        """Put the choices of some points behind one another."""
        return cls(*(np.concatenate([getattr(part, name) for part in parts]) for name in cls.__dataclass_fields__))


def turn_speed_m_s(flying: Flying) -> float:
    """Airspeed in turns: the helicopter's own, never above that of the leg [m/s]."""
    return min(flying.turn_speed_m_s, flying.airspeed_m_s)


def choose(field: Field, near: Gates, *, at_most_s: F64 | None = None) -> Choice:
    """Choose among the gates of points.

    Parameters
    ----------
    field
        Of the leg's other end.
    near
        The points' gates: departures for a field that is flown towards its source, arrivals for one flown away.
    at_most_s
        Times that are of no interest any more, one a point [s]; then only the best of each point is found for sure.
        None: every direction is worked in full.

    Returns
    -------
    Choice
        Of every point and direction.
    """
    from diproute.routing.choice_kernel import Chosen, Manner, Near, choose_gates

    level, flying = field.first.level, field.flying
    nodes = level.nodes(near.x_m, near.y_m)
    sign = 1.0 if near.departure else -1.0
    turn = turn_speed_m_s(flying)
    strongest = float(np.hypot(near.wind_east_m_s, near.wind_north_m_s).max(initial=0.0))
    rules = field.airspace.rules
    shape = near.speed_m_s.shape[:2]
    chosen = Chosen(
        np.full(shape, np.inf), np.full(shape, -1, np.int64), np.full(shape, -1, np.int64), np.zeros((*shape, 3))
    )
    manner = Manner(
        float(flying.airspeed_m_s), turn, float(field.near_rate_m_s), float(ARC_CLIMB.value * field.near_rate_m_s),
        float(near.vertical_m_s), float(turn_radius(turn + strongest, flying.turn_bank_deg)), CORRIDOR_STRAIGHT_M.value,
        float(np.nanmin(field.far.z_m)), float(field.far_rate_m_s), rules.cruise_clearance_m - rules.turn_clearance_m,
        float(level.cell_m),
    )  # fmt: skip
    inside = level.grid.holds(*level.grid.rowcol(near.x_m, near.y_m)) & np.isfinite(near.z_m)
    speed = np.where(inside[:, None, None], near.speed_m_s, 0.0)
    gates = Near(
        nodes[:, 0].copy(), nodes[:, 1].copy(), near.z_m, np.ascontiguousarray(near.bearing), near.gradient,
        near.surveyed_m, np.ascontiguousarray(near.lift_m), np.ascontiguousarray(speed), sign * near.wind_east_m_s,
        sign * near.wind_north_m_s,
    )  # fmt: skip
    limits = np.full(shape[0], np.inf) if at_most_s is None else np.asarray(at_most_s, np.float64).copy()
    choose_gates(gates, manner, level.floor, field.answers, limits, chosen)
    x, y = level.places(chosen.exit.reshape(-1, 3)[:, :2])
    return Choice(
        chosen.seconds, chosen.kind, chosen.rung, x.reshape(shape), y.reshape(shape), chosen.exit[..., 2].copy()
    )
