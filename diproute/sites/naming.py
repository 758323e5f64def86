"""Names for the cells that ask for a line or a lift."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from diproute import constants as k
from diproute.records import F32, Governing, Ground

I32 = npt.NDArray[np.int32]


class Namer:
    """Puts names to the cells that govern, as seen from one dip point."""

    def __init__(
        self, ground: Ground, wires_raised: F32, x_m: float, y_m: float, level_m: float, convergence_deg: float
    ) -> None:
        self.ground, self.wires_raised = ground, wires_raised
        self.x_m, self.y_m = float(x_m), float(y_m)
        self.level_m, self.convergence_deg = float(level_m), float(convergence_deg)
        self.known: dict[tuple[int, int], Governing | None] = {}

    def governing(self, row: int, col: int) -> Governing | None:
        """Name what stands in a cell; None for no cell, and for the water."""
        if row < 0:
            return None
        if (row, col) not in self.known:
            self.known[row, col] = self._look(row, col)
        return self.known[row, col]

    def each(self, rows: I32, cols: I32) -> tuple[Governing | None, ...]:
        """Name what stands in each of several cells."""
        return tuple(self.governing(r, c) for r, c in zip(rows.tolist(), cols.tolist(), strict=True))

    def _cause(self, row: int, col: int) -> tuple[float, int]:
        """Height of what governs in a cell [m AMSL], and its code: a wire whose margin lifts it over what is higher."""
        top, cause = float(self.ground.top[row, col]), int(self.ground.cause[row, col])
        if self.wires_raised[row, col] > top:
            wires = self.ground.wires
            at = wires.at(row * self.ground.grid.cols + col)
            assert at is not None  # nothing else is raised
            return float(wires.top_m[at]), int(wires.obstacle[at]) + 2
        return top, cause

    def _look(self, row: int, col: int) -> Governing | None:
        top, cause = self._cause(row, col)
        height = top - self.level_m
        if height <= k.OBSTACLE_M.value and cause < 2:
            return None
        x, y = self.ground.grid.xy(row, col)
        east, north = float(x) - self.x_m, float(y) - self.y_m
        place = (
            float(np.hypot(east, north)),
            float((np.degrees(np.arctan2(east, north)) + self.convergence_deg) % 360.0),
            height,
        )
        if cause == 0:
            bare = self.ground.elevation_is == "ground"
            return Governing("terrain" if bare else "terrain or treetops", *place, obstacle=None)
        if cause == 1:
            return Governing("trees", *place, obstacle=None)
        thing = self.ground.obstacles[cause - 2]
        return Governing(
            thing.name,
            *place,
            obstacle=cause - 2,
            assumed_m=thing.height_m if thing.height_assumed else None,
            unverified=thing.verified is False,
        )
