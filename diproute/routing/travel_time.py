"""Routes: one travel-time field from a drop or a base serves every site.

Loaded legs run towards the drop, empty ones away from it, so each has a field of its own. The field is solved on the
coarse grid when the fine one is large; every way is then walked down, pulled straight, tuned and timed exactly on the
fine grid. The field's own times are never reported.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from threading import Lock
from typing import Literal, TypeVar

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F32, F64, Display, Leg, Wind
from diproute.routing.airspace import Airspace, Level, closing
from diproute.routing.blocked import Blocked, why_blocked
from diproute.routing.end_climb import better_ways
from diproute.routing.fine_window import bridge
from diproute.routing.leg import entered_areas, make_leg
from diproute.routing.path import flown, pull_straight, split, thin, tune_corners, walk_down
from diproute.routing.profile import Profile, fly_way
from diproute.routing.speed_model import Flying, SpeedModel, build, fill_times
from diproute.routing.wire_crossings import squared

THREADS = 2
T = TypeVar("T")
R = TypeVar("R")
SPLIT_CELLS = 200.0
WORTH = 3e-4  # share of the leg's time that a turning point must save


@dataclass(frozen=True, slots=True)
class Ask:
    """One leg that is wanted."""

    x_m: float
    y_m: float
    bottom_m: float  # of the bucket at the site [m AMSL]
    hanging_m: float  # hook to bucket's bottom


@dataclass(slots=True)
class Field:
    """Travel times between the sources and everywhere, and the legs that follow from them."""

    airspace: Airspace
    flying: Flying
    wind: Wind
    source_x_m: F64
    source_y_m: F64
    source_bottom_m: F64
    towards: bool
    first: SpeedModel
    time: F32  # on `first`'s level [s]
    _media: dict[int, SpeedModel] = field(default_factory=dict)
    _times: dict[int, F32] = field(default_factory=dict)
    _shut: dict[tuple[int, ...], Field] = field(default_factory=dict)
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
        grid, cell = self.airspace.grid, self.first.level.cell_m
        x, y = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
        col = np.floor((x - grid.left_m) / cell).astype(np.int64)
        row = np.floor((grid.top_m - y) / cell).astype(np.int64)
        rows, cols = self.time.shape
        inside = (col >= 0) & (row >= 0) & (col < cols) & (row < rows)
        out = np.full(x.shape, np.nan)
        out[inside] = self.time[row[inside], col[inside]]
        out[np.isinf(out)] = np.nan
        return out

    def medium(self, level: Level) -> SpeedModel:
        """One level set up for this field, made when it is first needed."""
        if level is self.first.level:
            return self.first
        with self._lock:
            if level.factor not in self._media:
                self._media[level.factor] = build(
                    self.airspace, level, self.flying, self.wind, self.cells(level),
                    float(self.source_bottom_m.max()), self.towards,
                )  # fmt: skip
        return self._media[level.factor]

    def cells(self, level: Level) -> npt.NDArray[np.int64]:
        """Column and row of the sources on a level, (n, 2)."""
        return source_cells(self.airspace, level, self.source_x_m, self.source_y_m)

    def solved(self, level: Level) -> F32:
        """Give the times on a level, solved when first asked for."""
        if level is self.first.level:
            return self.time
        medium = self.medium(level)
        with self._lock:
            if level.factor not in self._times:
                self._times[level.factor] = fill_times(medium, self.cells(level))
        return self._times[level.factor]

    def legs(
        self, asks: Sequence[Ask], drop: str, leg: Literal["loaded", "empty", "ferry"], display: Display = "metric",
        threads: int = THREADS,
    ) -> list[Leg | Blocked]:  # fmt: skip
        """Give the leg between each site and the source that suits it best.

        Parameters
        ----------
        asks
            The sites, with the height of the bucket's bottom there and what hangs below the aircraft.
        drop
            Name of the source for the record.
        leg
            Kind of leg for the record.
        display
            Units of the sentences.
        threads
            On how many the sites are shared out; one where other fields run beside this one.

        Returns
        -------
        list of Leg or Blocked
            One for each site; `Blocked` says what is in the way, after a solve on the fine grid.
        """
        ways = better_ways(self, asks, _map(self.way, asks, threads))

        def flown(pair: tuple[Ask, Way | None]) -> Leg | Blocked:
            ask, way = pair
            return self._leg(ask, way and self._squared(ask, way), drop, leg, display)

        return _map(flown, list(zip(asks, ways, strict=True)), threads)

    def place(self, level: Level, ask: Ask) -> tuple[float, float]:
        """Column and row of a site on a level."""
        grid = self.airspace.grid
        return (ask.x_m - grid.left_m) / level.cell_m, (grid.top_m - ask.y_m) / level.cell_m

    def way(self, ask: Ask) -> Way | None:
        """Find the way on the first level, then over a window of the fine one, then on the whole of it."""
        grid = self.airspace.grid
        if not (grid.left_m < ask.x_m < grid.right_m and grid.bottom_m < ask.y_m < grid.top_m):
            raise RangeError(
                f"site at x {ask.x_m:.0f} m, y {ask.y_m:.0f} m lies off the working grid; widen the search radius",
                where="site",
            )
        first, fine = self.first.level, self.airspace.fine
        if np.isnan(fine.floor[int(self.place(fine, ask)[1]), int(self.place(fine, ask)[0])]):
            return None
        level, nodes = first, walk_down(self.first, self.time, *self.place(first, ask))
        if nodes is None and first is not fine:
            level, place = fine, self.place(fine, ask)
            nodes = bridge(self.medium(fine), self.first, self.time, *place)
            if nodes is None:
                nodes = walk_down(self.medium(fine), self.solved(fine), *place)
        return None if nodes is None else self.tuned(ask, level, self.pulled(ask, level, nodes)[0])

    def pulled(self, ask: Ask, level: Level, nodes: F64) -> tuple[F64, float]:
        """Pull a walked way straight on its own level; it never gets slower than it was [s]."""
        medium = self.medium(level)
        nodes = self._true_source(level, nodes)
        limit = flown(medium, nodes, ask.bottom_m)[0]
        nodes = pull_straight(medium, thin(nodes), ask.bottom_m, limit + 1e-6)
        return nodes, flown(medium, nodes, ask.bottom_m)[0]

    def tuned(self, ask: Ask, level: Level, nodes: F64) -> Way:
        """Tune a pulled way on the fine grid and leave out what it does not need."""
        fine = self.medium(self.airspace.fine)
        nodes = split(nodes * level.factor, SPLIT_CELLS)
        free = flown(fine, nodes, ask.bottom_m)[1]
        nodes, seconds, *_ = tune_corners(fine, nodes, ask.bottom_m, max(4.0, 2.0 * level.factor), 3.0)
        nodes = pull_straight(fine, nodes, ask.bottom_m, seconds * (1.0 + WORTH), WORTH * seconds)
        nodes, seconds, arrival, plain = tune_corners(fine, nodes, ask.bottom_m, 2.0, 0.5)
        return Way(nodes, seconds, plain, min(free, arrival))

    def _squared(self, ask: Ask, way: Way) -> Way:
        """Cross wires squarely where that costs little."""
        fine = self.medium(self.airspace.fine)
        return replace(way, nodes=squared(self.airspace, fine, way.nodes, ask.bottom_m))

    def _true_source(self, level: Level, nodes: F64) -> F64:
        """Put the source's own place before the middle of its cell."""
        index = self.source_of(level, nodes[0])
        grid = self.airspace.grid
        col = (self.source_x_m[index] - grid.left_m) / level.cell_m
        row = (grid.top_m - self.source_y_m[index]) / level.cell_m
        return np.concatenate([[[col, row]], nodes])

    def source_of(self, level: Level, node: F64) -> int:
        """Index of the source nearest a node."""
        grid = self.airspace.grid
        x, y = grid.left_m + node[0] * level.cell_m, grid.top_m - node[1] * level.cell_m
        return int(np.argmin(np.hypot(self.source_x_m - x, self.source_y_m - y)))

    def profile(self, ask: Ask, way: Way) -> Profile | None:
        """Fly a way in the order of flight, exactly."""
        grid = self.airspace.grid
        nodes = way.nodes[::-1] if self.towards else way.nodes
        x, y = grid.left_m + nodes[:, 0] * grid.cell_m, grid.top_m - nodes[:, 1] * grid.cell_m
        source = float(self.source_bottom_m[self.source_of(self.airspace.fine, way.nodes[0])])
        start, end = (ask.bottom_m, source) if self.towards else (source, ask.bottom_m)
        return fly_way(self.airspace, self.flying, self.wind, x, y, start, end, ask.hanging_m)

    def _leg(
        self, ask: Ask, way: Way | None, drop: str, leg: Literal["loaded", "empty", "ferry"], display: Display
    ) -> Leg | Blocked:
        profile = None if way is None else self.profile(ask, way)
        if profile is None:
            return why_blocked(self.airspace, self.medium(self.airspace.fine), self.cells(self.airspace.fine),
                               ask.x_m, ask.y_m)  # fmt: skip
        entered = entered_areas(self.airspace, profile, ask.hanging_m)
        if entered:
            return self._closing(entered).legs([ask], drop, leg, display)[0]
        return make_leg(self.airspace, profile, self.wind, ask.hanging_m, drop, leg, display)

    def _closing(self, entered: tuple[int, ...]) -> Field:
        """Give the same field with areas closed that a leg would have climbed into."""
        with self._lock:
            if entered not in self._shut:
                areas = tuple(self.airspace.avoid[i] for i in entered)
                self._shut[entered] = solve(
                    closing(self.airspace, areas), self.flying, self.wind, self.source_x_m, self.source_y_m,
                    self.source_bottom_m, towards=self.towards,
                )  # fmt: skip
        return self._shut[entered]


@dataclass(frozen=True, slots=True)
class Way:
    """A way over the fine grid, the source first."""

    nodes: F64  # (n, 2) column and row
    seconds: float  # with waiting, areas that cost extra at their price
    plain_s: float  # without waiting
    free_s: float  # what it took before the climb or descent at the site's end was looked at


def source_cells(airspace: Airspace, level: Level, x_m: F64, y_m: F64) -> npt.NDArray[np.int64]:
    """Column and row of places on a level, each cell once, (n, 2)."""
    grid = airspace.grid
    cells = np.column_stack([(x_m - grid.left_m) / level.cell_m, (grid.top_m - y_m) / level.cell_m])
    return np.unique(np.floor(cells).astype(np.int64), axis=0)


def _map(function: Callable[[T], R], items: Sequence[T], threads: int) -> list[R]:
    """Run a function over items on some threads, in order."""
    if len(items) < 4 or threads < 2:
        return [function(item) for item in items]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(function, items))


def solve(
    airspace: Airspace, flying: Flying, wind: Wind, source_x_m: npt.ArrayLike, source_y_m: npt.ArrayLike,
    source_bottom_m: npt.ArrayLike, *, towards: bool,
) -> Field:  # fmt: skip
    """Solve the travel times of one kind of leg between a drop or base and everywhere.

    Parameters
    ----------
    airspace
        From `airspace.prepare`.
    flying
        Airspeed, climb and descent of the leg [m/s].
    wind
        By height; taken over each cell at the height of the aircraft on the floor with the longest line.
    source_x_m, source_y_m
        (n,) the drop's point, or the points of its line [m].
    source_bottom_m
        (n,) height of the bucket's bottom there [m AMSL].
    towards
        True: legs that fly to the sources (loaded to a drop, empty to the base); False: away from them.

    Returns
    -------
    Field
        Serves every site by `Field.legs`.

    Raises
    ------
    RangeError
        A speed that is not above 0, no source, or a source off the grid.
    """
    x, y = np.atleast_1d(np.asarray(source_x_m, np.float64)), np.atleast_1d(np.asarray(source_y_m, np.float64))
    bottom = np.broadcast_to(np.asarray(source_bottom_m, np.float64), x.shape)
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
    cells = source_cells(airspace, level, x, y)
    medium = build(airspace, level, flying, wind, cells, float(bottom.max()), towards)
    if level is not airspace.fine and not medium.code[cells[:, 1], cells[:, 0]].any():
        level, cells = airspace.fine, source_cells(airspace, airspace.fine, x, y)
        medium = build(airspace, level, flying, wind, cells, float(bottom.max()), towards)
    return Field(airspace, flying, wind, x, y, bottom.copy(), towards, medium, fill_times(medium, cells))
