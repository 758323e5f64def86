"""The travel-time field: one solve from a drop or a base serves every site.

Loaded legs run towards the drop, empty ones away from it, so each has a field of its own. The field is solved on the
coarse grid when the fine one is large; every way is then walked down, pulled straight, tuned and timed exactly on the
fine grid. The field's own times are never reported.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F32, F64, I64, Wind
from diproute.routing.airspace import Airspace, Level, closing
from diproute.routing.fine_window import walk_through_window
from diproute.routing.path import flown, pull_string, split, thin, tune_corners, walk_down
from diproute.routing.profile import Profile, Track, fly_way
from diproute.routing.speed_model import Flying, SpeedModel, build, fill_times

SPLIT_CELLS = 200.0
WORTH = 3e-4  # share of the leg's time that a turning point must save


@dataclass(frozen=True, slots=True)
class Ask:
    """One leg that is wanted."""

    x_m: float
    y_m: float
    bottom_m: float  # of the bucket at the site [m AMSL]
    hanging_m: float  # hook to bucket's bottom


@dataclass(frozen=True, slots=True)
class Way:
    """A way over the fine grid, the source first."""

    nodes: F64  # (n, 2) column and row
    seconds: float  # with waiting, areas that cost extra at their price
    plain_s: float  # without waiting
    free_s: float  # what it took before the climb or descent at the site's end was looked at


@dataclass(frozen=True, slots=True)
class Sources:
    """Where the legs of a field end, or begin: a drop's point, the points of its line, or the base. (n,) each."""

    x_m: F64
    y_m: F64
    bottom_m: F64  # of the bucket there [m AMSL]

    @classmethod
    def of(cls, x_m: npt.ArrayLike, y_m: npt.ArrayLike, bottom_m: npt.ArrayLike) -> Sources:
        """Take numbers or lists; one height may serve every point."""
        x, y = np.atleast_1d(np.asarray(x_m, np.float64)), np.atleast_1d(np.asarray(y_m, np.float64))
        return cls(x, y, np.broadcast_to(np.asarray(bottom_m, np.float64), x.shape).copy())

    def nearest(self, x_m: float, y_m: float) -> int:
        """Index of the source nearest a place."""
        return int(np.argmin(np.hypot(self.x_m - x_m, self.y_m - y_m)))


@dataclass(slots=True)
class Field:
    """Travel times between the sources and everywhere, and the ways that follow from them."""

    airspace: Airspace
    flying: Flying
    wind: Wind
    sources: Sources
    towards: bool
    first: SpeedModel
    time: F32  # on `first`'s level [s]
    _models: dict[int, SpeedModel] = field(default_factory=dict)
    _times: dict[int, F32] = field(default_factory=dict)
    _closed: dict[tuple[int, ...], Field] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def seconds(self, x_m: npt.ArrayLike, y_m: npt.ArrayLike) -> F64:
        """Rough time between places and their nearest source, for choosing which to look at.

        Parameters
        ----------
        x_m, y_m
            [m], any shape.

        Returns
        -------
        ndarray
            [s]; NaN where the solve found no way (a finer one may) or off the grid. Never a leg's reported time.
        """
        grid = self.first.level.grid
        row, col = grid.rowcol(x_m, y_m)
        inside = grid.holds(row, col)
        out = np.full(row.shape, np.nan)
        out[inside] = self.time[row[inside], col[inside]]
        out[np.isinf(out)] = np.nan
        return out

    def model(self, level: Level) -> SpeedModel:
        """One level set up for this field, made when it is first needed."""
        if level is self.first.level:
            return self.first
        with self._lock:
            if level.factor not in self._models:
                self._models[level.factor] = build(
                    self.airspace, level, self.flying, self.wind, self.source_cells(level),
                    float(self.sources.bottom_m.max()), self.towards,
                )  # fmt: skip
        return self._models[level.factor]

    def source_cells(self, level: Level) -> I64:
        """Column and row of the sources on a level, (n, 2)."""
        return cells_of(level, self.sources)

    def solved(self, level: Level) -> F32:
        """Give the times on a level, solved when first asked for."""
        if level is self.first.level:
            return self.time
        model = self.model(level)
        with self._lock:
            if level.factor not in self._times:
                self._times[level.factor] = fill_times(model, self.source_cells(level))
        return self._times[level.factor]

    def place(self, level: Level, ask: Ask) -> tuple[float, float]:
        """Column and row of a site on a level."""
        col, row = level.nodes(ask.x_m, ask.y_m)[0]
        return float(col), float(row)

    def way(self, ask: Ask) -> Way | None:
        """Find the way on the first level, then over a window of the fine one, then on the whole of it."""
        grid = self.airspace.grid
        if not (grid.left_m < ask.x_m < grid.right_m and grid.bottom_m < ask.y_m < grid.top_m):
            raise RangeError(
                f"site at x {ask.x_m:.0f} m, y {ask.y_m:.0f} m lies off the working grid; widen the search radius",
                where="site",
            )
        first, fine = self.first.level, self.airspace.fine
        if np.isnan(fine.floor[grid.rowcol(ask.x_m, ask.y_m)]):
            return None
        level, nodes = first, walk_down(self.first, self.time, *self.place(first, ask))
        if nodes is None and first is not fine:
            level, place = fine, self.place(fine, ask)
            nodes = walk_through_window(self.model(fine), self.first, self.time, *place)
            if nodes is None:
                nodes = walk_down(self.model(fine), self.solved(fine), *place)
        return None if nodes is None else self.tuned(ask, level, self.pulled(ask, level, nodes)[0])

    def pulled(self, ask: Ask, level: Level, nodes: F64) -> tuple[F64, float]:
        """Pull a walked way straight on its own level; it never gets slower than it was [s]."""
        model = self.model(level)
        source = self.sources.nearest(*_place(level, nodes[0]))  # its own place before the middle of its cell
        nodes = np.concatenate([level.nodes(self.sources.x_m[source], self.sources.y_m[source]), nodes])
        limit = flown(model, nodes, ask.bottom_m)[0]
        nodes = pull_string(model, thin(nodes), ask.bottom_m, limit + 1e-6)
        return nodes, flown(model, nodes, ask.bottom_m)[0]

    def tuned(self, ask: Ask, level: Level, nodes: F64) -> Way:
        """Tune a pulled way on the fine grid and leave out what it does not need."""
        fine = self.model(self.airspace.fine)
        nodes = split(nodes * level.factor, SPLIT_CELLS)
        free = flown(fine, nodes, ask.bottom_m)[1]
        nodes, seconds, *_ = tune_corners(fine, nodes, ask.bottom_m, max(4.0, 2.0 * level.factor), 3.0)
        nodes = pull_string(fine, nodes, ask.bottom_m, seconds * (1.0 + WORTH), WORTH * seconds)
        nodes, seconds, arrival, plain = tune_corners(fine, nodes, ask.bottom_m, 2.0, 0.5)
        return Way(nodes, seconds, plain, min(free, arrival))

    def profile(self, ask: Ask, nodes: F64) -> Profile | None:
        """Fly a way over the fine grid (its nodes, the source first) in the order of flight, exactly."""
        fine = self.airspace.fine
        x, y = fine.places(nodes[::-1] if self.towards else nodes)
        source = float(self.sources.bottom_m[self.sources.nearest(*_place(fine, nodes[0]))])
        start, end = (ask.bottom_m, source) if self.towards else (source, ask.bottom_m)
        return fly_way(self.airspace, self.flying, self.wind, Track(x, y, start, end, ask.hanging_m))

    def without(self, entered: tuple[int, ...]) -> Field:
        """Give the same field with areas (indices into `Airspace.avoid`) closed that a leg would have climbed into."""
        with self._lock:
            if entered not in self._closed:
                airspace = closing(self.airspace, tuple(self.airspace.avoid[i] for i in entered))
                self._closed[entered] = solve(airspace, self.flying, self.wind, self.sources, towards=self.towards)
        return self._closed[entered]


def _place(level: Level, node: F64) -> tuple[float, float]:
    """Place of one node in the working frame [m]."""
    x, y = level.places(node[None])
    return float(x[0]), float(y[0])


def cells_of(level: Level, sources: Sources) -> I64:
    """Column and row of sources on a level, each cell once, (n, 2)."""
    row, col = level.grid.rowcol(sources.x_m, sources.y_m)
    return np.unique(np.column_stack([col, row]), axis=0)


def solve(airspace: Airspace, flying: Flying, wind: Wind, sources: Sources, *, towards: bool) -> Field:
    """Solve the travel times of one kind of leg between a drop or base and everywhere.

    Parameters
    ----------
    airspace
        From `airspace.prepare`.
    flying
        Airspeed, climb and descent of the leg [m/s].
    wind
        By height; taken over each cell at the height of the aircraft on the floor with the longest line.
    sources
        The drop's point or the points of its line, or the base, with the height of the bucket's bottom there.
    towards
        True: legs that fly to the sources (loaded to a drop, empty to the base); False: away from them.

    Returns
    -------
    Field
        Serves every site by `leg.fly_legs`.

    Raises
    ------
    RangeError
        A speed that is not above 0, no source, or a source off the grid.
    """
    x, y, bottom = sources.x_m, sources.y_m, sources.bottom_m
    grid = airspace.grid
    for name in ("airspeed_m_s", "climb_m_s", "descent_m_s"):
        if not getattr(flying, name) > 0:
            raise RangeError(f"{name}: got {getattr(flying, name)} m/s, wanted above 0; correct the helicopter's file",
                             where=name, got=getattr(flying, name))  # fmt: skip
    inside = (x > grid.left_m) & (x < grid.right_m) & (y > grid.bottom_m) & (y < grid.top_m) & np.isfinite(bottom)
    if x.size == 0 or not inside.all():
        raise RangeError(
            f"{x.size - int(inside.sum())} of {x.size} drop or base points lie off the working grid or have no known "
            "height; give elevation that covers them",
            where="drop",
        )
    level = airspace.first
    cells = cells_of(level, sources)
    model = build(airspace, level, flying, wind, cells, float(bottom.max()), towards)
    if level is not airspace.fine and not model.code[cells[:, 1], cells[:, 0]].any():
        level, cells = airspace.fine, cells_of(airspace.fine, sources)
        model = build(airspace, level, flying, wind, cells, float(bottom.max()), towards)
    return Field(airspace, flying, wind, sources, towards, model, fill_times(model, cells))
