"""The travel-time field: one solve from the gates of a drop or the base serves every site.

Loaded legs run towards the drop, empty ones away from it, so each has a field of its own. It grows from the ends of all
open corridors of the gates there. What must be climbed or descended at the source's end opens its cells; what the other
end asks for differs from site to site: a cell of height f can be used only while the leg's time T leaves ``(f −
z)/rate`` for it, that is before ``K − f/rate`` with ``K = T + z/rate``. So the field is solved again for a few closing
times K, its rungs, which are taken from the field itself: nothing in it depends on the points that ask. The field's
own times are never reported.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from threading import Lock
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F32, F64, Wind
from diproute.routing.airspace import Airspace, Level
from diproute.routing.gates import Gates
from diproute.routing.path import flown, pull_string, thin, walk_down
from diproute.routing.speed_model import Flying, SpeedModel, build, fill_times

Bools = npt.NDArray[np.bool_]
RUNGS: Final = 5
RUNG_CELLS: Final = 4000  # cells from whose wants the rungs are taken, evenly spread
RUNG_SHARES: Final = np.array([0.15, 0.35, 0.55, 0.75, 0.9])
SEEDS: Final = 12  # places of one corridor at which legs may come out of it
STRAIGHT_M: Final = 100.0
LIFT_AT_MOST_M_S: Final = 2.5  # straight up or down: no bucket is lifted faster
FIELD_TRUST: Final = 0.98  # the field strays from the truth by less
PULL_TOLL_S: Final = 0.5  # what a turning point must save to stay
RUNG_LEAST_S: Final = 10.0  # a cell that asks for less climb than this asks for no rung
NEAR_CELLS: Final = 2  # round a point, for what bounds its leg


@dataclass(frozen=True, slots=True)
class Rung:
    """The field for one closing time."""

    close_at_s: float
    time: F32  # (rows, cols) [s], +inf: no way


@dataclass(frozen=True, slots=True)
class Way:
    """A way through the field, pulled straight."""

    far: int  # index of the end that it comes to
    nodes: F64  # (n, 2) x and y, the far end's own place first, the place that asked last [m]


@dataclass(slots=True)
class Field:
    """Travel times between the gates of a source and everywhere, and the ways that follow from them."""

    airspace: Airspace
    flying: Flying
    wind: Wind
    far: Gates
    towards: bool
    first: SpeedModel
    rungs: tuple[Rung, ...]  # the first is free
    answers: (
        F32  # (rows, cols, rungs, 3): time, least height from which climbing on the way is enough, time to what asks
    )
    seeded: Bools  # (rows, cols) where legs come out of the gates
    _fine: tuple[SpeedModel, F32, Bools] | None = field(default=None)
    _lock: Lock = field(default_factory=Lock)

    def serving(self, flying: Flying, wind: Wind, far: Gates) -> Field:
        """Give the same times as a guide for legs in another wind, with other rates, through other gates there."""
        return replace(self, flying=flying, wind=wind, far=far, _fine=None, _lock=Lock())

    @property
    def near_rate_m_s(self) -> float:
        """Rate at which height is won from the near end, built outward: climb towards the sources, else descent."""
        return self.flying.climb_m_s if self.towards else self.flying.descent_m_s

    @property
    def far_rate_m_s(self) -> float:
        """Rate at which height is won from the source, built outward."""
        return self.flying.descent_m_s if self.towards else self.flying.climb_m_s

    def bound(self, x_m: npt.ArrayLike, y_m: npt.ArrayLike, bottom_m: npt.ArrayLike) -> F64:
        """Bound the time between places and the source from below.

        Parameters
        ----------
        x_m, y_m
            [m], shape (n,).
        bottom_m
            Height of the bucket's bottom there, before any lift [m AMSL], shape (n,) or one for all.

        Returns
        -------
        numpy.ndarray
            [s], shape (n,); no flight from there is quicker, lift and lower included. +inf: no way, or off
            the grid.
        """
        rules, level = self.airspace.rules, self.first.level
        row, col = level.grid.rowcol(x_m, y_m)
        relief = rules.cruise_clearance_m - min(rules.turn_clearance_m, rules.load_margin_m)
        lower = (np.broadcast_to(np.asarray(bottom_m, np.float64), row.shape) + relief) / max(
            self.near_rate_m_s, LIFT_AT_MOST_M_S
        )
        time = np.full((len(self.rungs), *row.shape), np.inf)
        for dr in range(-NEAR_CELLS, NEAR_CELLS + 1):
            for dc in range(-NEAR_CELLS, NEAR_CELLS + 1):
                r, c = row + dr, col + dc
                inside = level.grid.holds(r, c)
                time[:, inside] = np.minimum(time[:, inside], self.answers[r[inside], c[inside], :, 0].T)
        slack = (NEAR_CELLS + 1.5) * level.cell_m / self.flying.airspeed_m_s
        time = np.maximum(0.0, FIELD_TRUST * time - slack)
        best = time[0]
        for rung, seconds in zip(self.rungs[1:], time[1:], strict=True):
            # a leg quicker than the closing time less the near end's climb would be in this rung's field
            shut = seconds + lower > rung.close_at_s
            best = np.where(shut, np.maximum(best, FIELD_TRUST * (rung.close_at_s - lower)), best)
        return np.asarray(best)

    def way(self, x_m: float, y_m: float, bottom_m: float, rung: int) -> Way | None:
        """Find the way between a place and the source that serves it best, pulled straight.

        Parameters
        ----------
        x_m, y_m, bottom_m
            The place, and the height of the bucket's bottom there.
        rung
            Index of the rung whose field is walked down.

        Returns
        -------
        Way or None
            None where the field has no way, not over the fine grid either.
        """
        model, time, seeded = self.first, self.rungs[rung].time, self.seeded
        nodes = walk_down(model, time, seeded, *_place(model.level, x_m, y_m))
        if nodes is None and model.level is not self.airspace.fine:
            model, time, seeded = self.over_fine_cells()
            nodes = walk_down(model, time, seeded, *_place(model.level, x_m, y_m))
        if nodes is None:
            return None
        far_col, far_row = model.level.nodes(self.far.x_m, self.far.y_m).T
        far = int(np.argmin(np.hypot(far_col - nodes[0, 0], far_row - nodes[0, 1])))
        limit = flown(model, nodes, bottom_m)[0]
        nodes = pull_string(model, thin(nodes), bottom_m, limit + 1e-6, PULL_TOLL_S)
        x, y = model.level.places(nodes)
        end = np.array([[self.far.x_m[far], self.far.y_m[far]]])
        return Way(far, np.concatenate([end, np.column_stack([x, y])]))

    def over_fine_cells(self) -> tuple[SpeedModel, F32, Bools]:
        """Solve the free field over the fine grid, once: gaps that the coarse one closes."""
        with self._lock:
            if self._fine is None:
                model = _model(
                    self.airspace, self.airspace.fine, self.flying, self.wind, self.far, towards=self.towards
                )
                start = seeds(
                    model, self.far, self.airspace.rules.cruise_clearance_m - self.airspace.rules.turn_clearance_m
                )
                self._fine = model, fill_times(model, start), np.isfinite(start)
        return self._fine


def _place(level: Level, x_m: float, y_m: float) -> tuple[float, float]:
    col, row = level.nodes(x_m, y_m)[0]
    return float(col), float(row)


def _model(
    airspace: Airspace, level: Level, flying: Flying, wind: Wind, far: Gates, *, towards: bool
) -> SpeedModel:  # fmt: skip
    return build(airspace, level, flying, wind, float(np.nanmax(far.z_m)), towards=towards)


def seeds(model: SpeedModel, far: Gates, relief_m: float) -> F32:
    """Give the times at which legs come out of the gates of a source.

    A leg may leave a corridor from `STRAIGHT_M` on, wherever the rising line has reached the floor of arcs and nothing
    closed lies before.

    Parameters
    ----------
    model
        The level.
    far
        The gates.
    relief_m
        What the floor of arcs lies below the floor en route [m].

    Returns
    -------
    ndarray of float32
        (rows, cols) [s], +inf where no corridor ends.
    """
    level = model.level
    grid, floor = level.grid, level.floor
    start = np.full(model.code.shape, np.inf, np.float32)
    step = 0.7 * level.cell_m
    along = np.arange(STRAIGHT_M, max(float(far.surveyed_m.max()), 2 * STRAIGHT_M), step)
    end, way, kind = np.nonzero(far.speed_m_s > 0)
    if not end.size:
        return start
    bearing = far.bearing[end, way]
    x = far.x_m[end, None] + np.sin(bearing)[:, None] * along
    y = far.y_m[end, None] + np.cos(bearing)[:, None] * along
    row, col = grid.rowcol(x, y)
    inside = (row > 0) & (col > 0) & (row < grid.rows - 1) & (col < grid.cols - 1)
    row, col = np.where(inside, row, 0), np.where(inside, col, 0)
    lift = far.lift_m[end, way, kind]
    height = far.z_m[end, None] + lift[:, None] + far.gradient[kind][:, None] * along
    with np.errstate(invalid="ignore"):
        good = inside & (height >= floor[row, col] - relief_m) & (model.code[row, col] > 0)
    good &= np.logical_and.accumulate(model.code[row, col] > 0, axis=1)
    good &= np.cumsum(good, axis=1) <= SEEDS
    # a corridor may be left up to half a step before: no flight is quicker than the field
    time = lift[:, None] / far.vertical_m_s + (along - 0.5 * step) / far.speed_m_s[end, way, kind][:, None]
    np.minimum.at(start, (row[good], col[good]), time[good].astype(np.float32))
    return start


def solve(airspace: Airspace, flying: Flying, wind: Wind, far: Gates, *, towards: bool, rungs: bool = True) -> Field:
    """Solve the travel times of one kind of leg between the gates of a drop or base and everywhere.

    Parameters
    ----------
    airspace
        From `airspace.prepare`.
    flying
        Airspeed, climb and descent of the leg [m/s].
    wind
        By height; taken over each cell at the height of the aircraft on the floor with the longest line.
    far
        The gates of the drop's point, or of the points of its line, or of the base.
    towards
        True: legs that fly to the gates (loaded to a drop, empty to the base); False: away from them.
    rungs
        False: the free field alone, enough for choosing points.

    Returns
    -------
    Field
        Serves every site.

    Raises
    ------
    RangeError
        A speed that is not above 0, no end, or an end off the grid.
    """
    grid = airspace.grid
    for name in ("airspeed_m_s", "climb_m_s", "descent_m_s"):
        if not getattr(flying, name) > 0:
            raise RangeError(f"{name}: got {getattr(flying, name)} m/s, wanted above 0; correct the helicopter's file",
                             where=name, got=getattr(flying, name))  # fmt: skip
    x, y = far.x_m, far.y_m
    inside = (x > grid.left_m) & (x < grid.right_m) & (y > grid.bottom_m) & (y < grid.top_m) & np.isfinite(far.z_m)
    if x.size == 0 or not inside.all():
        raise RangeError(
            f"{x.size - int(inside.sum())} of {x.size} drop or base points lie off the working grid or have no known "
            "height; give elevation that covers them",
            where="drop",
        )
    relief = airspace.rules.cruise_clearance_m - airspace.rules.turn_clearance_m
    level = airspace.first
    model = _model(airspace, level, flying, wind, far, towards=towards)
    start = seeds(model, far, relief)
    if level is not airspace.fine and not np.isfinite(start).any():
        level = airspace.fine
        model = _model(airspace, level, flying, wind, far, towards=towards)
        start = seeds(model, far, relief)
    free = fill_times(model, start)
    found = [Rung(np.inf, free)]
    first = _needs(model, free)
    closings = _closings(model, free, first[..., 0]) if rungs else ()
    found += [Rung(float(at), fill_times(model, start, float(at))) for at in closings]
    answers = np.empty((*free.shape, len(found), 3), np.float32)
    for i, rung in enumerate(found):
        answers[:, :, i, 0] = rung.time
        answers[:, :, i, 1:] = first if i == 0 else _needs(model, rung.time)
    return Field(airspace, flying, wind, far, towards, model, tuple(found), answers, np.isfinite(start))


def _needs(model: SpeedModel, time: F32) -> F32:
    """Least height at which each cell may be left so that climbing on the way is enough, and the time to what asks."""
    from diproute.routing.travel_time_kernel import least_heights

    out = np.zeros((*time.shape, 2), np.float32)
    order = np.argsort(time.ravel(), kind="stable")
    least_heights(time, model.height, model.code, order, 1.0 / model.close_rate, out)
    return out


def _closings(model: SpeedModel, time: F32, need: F32) -> F64:
    """Take the rungs from what the field's own cells want, between the free answer and all the climb."""
    rate = model.close_rate
    known = np.flatnonzero(np.isfinite(time.ravel()) & (model.code.ravel() > 0))
    some = known[:: max(1, known.size // RUNG_CELLS)]
    z = model.height.ravel()[some].astype(np.float64)  # a leg from there begins about so high, above what stands
    low = time.ravel()[some] + rate * z
    high = low + rate * np.maximum(0.0, need.ravel()[some] - z)
    asking = high - low > RUNG_LEAST_S
    if not asking.any():
        return np.zeros(0)
    wanted = np.concatenate([low[asking] + (high - low)[asking] * share for share in RUNG_SHARES])
    return np.unique(np.quantile(wanted, np.linspace(0.0, 1.0, RUNGS), method="nearest"))
