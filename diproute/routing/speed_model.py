"""What the compiled loops need to know of one grid in one wind: speeds by cell, heights, when a cell opens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from diproute.constants import STRONGEST_WIND, TURN_BANK_DEG, TURN_SPEED_M_S
from diproute.physics.wind import wind_at
from diproute.records import F32, F64, U16, Wind
from diproute.routing.airspace import Airspace, Level

WIND_STEP_M: Final = 50.0  # heights of a wind table are grouped by so much in the solve; final times are not


@dataclass(frozen=True, slots=True)
class Flying:
    """How one kind of leg is flown."""

    airspeed_m_s: float  # true, en route
    climb_m_s: float
    descent_m_s: float
    turn_speed_m_s: float = (
        TURN_SPEED_M_S.value
    )  # true airspeed in arcs and orbits; no more than the one en route counts
    turn_bank_deg: float = TURN_BANK_DEG.value


class Cells(NamedTuple):
    """What the compiled loops read of each cell."""

    code: U16  # (rows, cols) row of `table`, 0 closed; the outermost cells are closed
    height: F32  # (rows, cols) floor of the bucket's bottom [m AMSL]
    table: F64  # (kinds, 11) wind east and north [m/s], cost, then a step's time to E, NE, N, NW, W, SW, S, SE [s]


class Gate(NamedTuple):
    """The numbers of the whole level, and when a cell opens and closes."""

    speed: float  # airspeed [m/s]
    cell: float  # side of a cell [m]
    open_at: float  # height from which a cell opens later [m AMSL]
    open_rate: float  # by so many seconds a metre
    close_at: float  # time at which a cell of height 0 closes [s]
    close_rate: float  # a higher one closes earlier by so many seconds a metre


class FarEnd(NamedTuple):
    """The end of a leg that is not the field's source."""

    height: float  # of the bucket's bottom [m AMSL]


@dataclass(frozen=True, slots=True)
class SpeedModel:
    """One level of an airspace as the field of one direction sees it, away from its sources."""

    level: Level
    code: U16  # (rows, cols) row of `table`, 0 closed
    height: F32  # (rows, cols) floor of the bucket's bottom; 0 where closed [m AMSL]
    table: F64  # (kinds, 11), see `Cells`
    airspeed_m_s: float
    open_at_m: float
    open_rate: float  # seconds a metre
    close_rate: float

    @property
    def cells(self) -> Cells:
        """The cells as the compiled loops read them."""
        return Cells(self.code, self.height, self.table)

    def gate(self, close_at_s: float = np.inf) -> Gate:
        """Give the level's numbers; cells close where a time is given."""
        return Gate(
            float(self.airspeed_m_s), float(self.level.cell_m), float(self.open_at_m), float(self.open_rate),
            float(close_at_s), float(self.close_rate),
        )  # fmt: skip


def toward(course: npt.NDArray[np.float64]) -> tuple[F64, F64]:
    """East and north of a wind's way from where it comes from [deg]."""
    angle = np.radians(course)
    return -np.sin(angle), -np.cos(angle)


def wind_vector(wind: Wind, altitude_m: F64) -> tuple[F64, F64]:
    """Wind at heights [m AMSL] as the air's motion east and north [m/s]."""
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, altitude_m)
    east, north = toward(np.asarray(from_deg))
    return east * speed, north * speed


def build(
    airspace: Airspace, level: Level, flying: Flying, wind: Wind, bottom_m: float, *, towards: bool
) -> SpeedModel:
    """Set one level up for a solve.

    Parameters
    ----------
    airspace, level
        The airspace and one of its levels.
    flying, wind
        How the legs are flown, and in what wind.
    bottom_m
        Height of the bucket's bottom at the source, the highest of several [m AMSL].
    towards
        True: the legs are flown towards the sources.

    Returns
    -------
    SpeedModel
        Cells whose wind is above `constants.STRONGEST_WIND` of the airspeed are closed.
    """
    rules, floor = airspace.rules, level.floor
    open_cells = ~np.isnan(floor)
    height = np.where(open_cells, floor, np.float32(0.0))
    n_costs = len(airspace.costs)
    bands: npt.NDArray[np.floating] = np.zeros(1)
    if len(wind.altitude_m) == 1 or not open_cells.any():
        code = open_cells.astype(np.uint16)
    else:
        lowest = float(np.nanmin(floor)) + rules.hanging_m
        count = int((float(np.nanmax(floor)) + rules.hanging_m - lowest) // WIND_STEP_M) + 1
        bands = lowest + WIND_STEP_M * (np.arange(count) + 0.5)
        code = ((height + np.float32(rules.hanging_m - lowest)) / np.float32(WIND_STEP_M)).astype(np.uint16)
        code = (code * np.uint16(n_costs) + np.uint16(1)) * open_cells
    if level.cost is not None:
        code += level.cost * open_cells
    east, north = wind_vector(wind, bands.astype(np.float64))
    sign = -1.0 if towards else 1.0
    table = speed_table(sign * east, sign * north, airspace.costs, flying.airspeed_m_s, level.cell_m)
    strong = np.isnan(table[:, 3])
    if strong[1:].any():
        code[strong[code]] = 0
        table[strong] = 1.0
    code[[0, -1], :] = 0
    code[:, [0, -1]] = 0
    up, down = 1.0 / flying.climb_m_s, 1.0 / flying.descent_m_s
    return SpeedModel(
        level, code.astype(np.uint16, copy=False), height, table, flying.airspeed_m_s, bottom_m,
        down if towards else up, up if towards else down,
    )  # fmt: skip


def speed_table(east: F64, north: F64, costs: tuple[float, ...], airspeed: float, cell_m: float) -> F64:
    """Wind, cost and the eight steps' times for every wind band and cost; NaN steps where the wind is too strong."""
    kinds = [(e, n, c) for e, n in zip(east, north, strict=True) for c in costs]
    table = np.ones((len(kinds) + 1, 11))
    table[1:, :3] = kinds
    ways = np.arange(8) * np.pi / 4
    along = table[1:, 0, None] * np.cos(ways) + table[1:, 1, None] * np.sin(ways)
    across = table[1:, 0, None] * np.sin(ways) - table[1:, 1, None] * np.cos(ways)
    length = cell_m * np.where(np.arange(8) % 2 == 1, np.sqrt(2.0), 1.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        table[1:, 3:] = table[1:, 2, None] * length / (along + np.sqrt(airspeed**2 - across**2))
    table[1:, 3:][np.hypot(table[1:, 0], table[1:, 1]) > STRONGEST_WIND.value * airspeed] = np.nan
    return table


def fill_times(model: SpeedModel, start_s: F32, close_at_s: float = np.inf) -> F32:
    """Solve the field.

    Parameters
    ----------
    model
        The level as set up by `build`.
    start_s
        (rows, cols) times at which legs come out of the gates, +inf elsewhere [s].
    close_at_s
        Time at which a cell of height 0 closes; a higher one closes earlier by `close_rate` a metre. It leaves out what
        would still have to be climbed or descended at the far end.

    Returns
    -------
    ndarray of float32
        (rows, cols) time to or from the gates [s], +inf where there is no way.
    """
    from diproute.routing.travel_time_kernel import TILE, solve_tiles

    rows, cols = model.code.shape
    time = start_s.copy()
    awake = np.full((-(-rows // TILE), -(-cols // TILE)), np.inf)
    for row, col in np.argwhere(np.isfinite(time)):
        r0, r1 = max(row - 1, 0) // TILE, min(row + 1, rows - 1) // TILE + 1
        c0, c1 = max(col - 1, 0) // TILE, min(col + 1, cols - 1) // TILE + 1
        awake[r0:r1, c0:c1] = 0.0
    tol = 2e-3 * model.level.cell_m / model.airspeed_m_s
    solve_tiles(time, model.cells, model.gate(close_at_s), tol, awake)
    return time
