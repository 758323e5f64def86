"""How high each water lies, as an interval from the ground inside its shore.

Lift and line count from the low end, the air from the high end. Water that shows itself in cells of its own lies
between their 5 % and 50 %; smaller water lies below the cells that it shares with its shore, see
`records.Seen`. A river slopes: its dip points take the ground where they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from diproute.constants import (
    LEVEL_CELLS,
    LEVEL_FLAT_M,
    LEVEL_HIGH,
    LEVEL_KNOWN_SHARE,
    LEVEL_PERCENTILE,
    LEVEL_SPREAD_HIGH,
    LEVEL_SPREAD_LOW,
    LEVEL_SPREAD_M,
    LEVEL_WIDE_M,
    SHORE_BELOW_SHARE,
)
from diproute.reading.grid import transform_of, window_of
from diproute.records import F32, Finding, Ground, Mixed, Seen, WaterBody

_FINE: Final = 8  # parts of a cell's side in which the shore is drawn, fewer over a large window
_COARSE: Final = 3
_EVEN: Final = 1e-3  # cells whose shares differ by less hold as much
_FINE_CELLS: Final = 250_000


def with_levels(waters: Sequence[WaterBody], ground: Ground) -> tuple[WaterBody, ...]:
    """Find how high each body lies.

    Parameters
    ----------
    waters
        The bodies.
    ground
        Bare earth or surface, NaN where not known; how fine its files are, and their vertical error.

    Returns
    -------
    tuple of WaterBody
        With the levels and their spread, NaN where nothing is known, and the cautions of that: ``level-unknown``,
        ``level-wide``, ``water-slopes``, ``above-its-shore``.
    """
    return tuple(_with_level(water, ground) for water in waters)


@dataclass(frozen=True, slots=True)
class _Level:
    """The ends of a level, how far the ground strays inside, and what is said of it."""

    low_m: float
    high_m: float
    spread_m: float
    said: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Cells:
    """The cells round a water."""

    height: F32
    share: F32  # that is water
    cell_m: float

    def across(self, length_m: float) -> int:
        """Cells over a length, at least one."""
        return max(1, round(length_m / self.cell_m))


def _with_level(water: WaterBody, ground: Ground) -> WaterBody:
    seen = ground.seen
    inside = _heights(water.polygon.buffer(-seen.pure_m), ground)
    if not _many(inside, ground.grid.cell_m, seen):
        level = _of_few(water, ground, seen)
    elif not _known(inside):
        level = None
    else:
        level = _of_many(water, inside[np.isfinite(inside)], ground, seen)
    if level is None:
        return replace(water, cautions=(*water.cautions, Finding.of("level-unknown", water=None)))
    said = level.said
    if level.high_m - level.low_m > LEVEL_WIDE_M.value and not water.flows:
        said = (*said, Finding.of("level-wide", low_m=level.low_m, high_m=level.high_m))
    return replace(
        water,
        level_low_m=level.low_m,
        level_high_m=level.high_m,
        level_spread_m=level.spread_m,
        cautions=(*water.cautions, *said),
    )


def _many(heights: F32, cell_m: float, seen: Seen) -> bool:
    """Whether cells are as many as some of the elevation's own."""
    return heights.size * cell_m**2 >= LEVEL_CELLS.value * seen.cell_m**2


def _known(heights: F32) -> bool:
    known = np.count_nonzero(np.isfinite(heights))
    return bool(known and known >= LEVEL_KNOWN_SHARE.value * heights.size)


def _of_many(water: WaterBody, known: F32, ground: Ground, seen: Seen) -> _Level:
    """Level of a water from cells of its own."""
    p10, p90 = (float(v) for v in np.percentile(known, (LEVEL_SPREAD_LOW.value, LEVEL_SPREAD_HIGH.value)))
    top = 100.0 - LEVEL_PERCENTILE.value if water.flows else LEVEL_HIGH.value
    low, high = (float(v) for v in np.percentile(known, (LEVEL_PERCENTILE.value, top)))
    said: tuple[Finding, ...] = ()
    if not water.flows:
        if p90 - p10 > LEVEL_SPREAD_M.value:
            said = (Finding.of("water-slopes", spread_m=p90 - p10),)
        below = _shore_below(water, low, ground, seen)
        if below is not None:
            said = (*said, Finding.of("above-its-shore", above_m=low - below))
            low = below
    return _Level(low - seen.error_m, high + seen.error_m, p90 - p10, said)


def _shore_below(water: WaterBody, level_m: float, ground: Ground, seen: Seen) -> float | None:
    """Lowest ground along a shore [m AMSL] that clearly lies below its lake; None where it does not."""
    ring = water.polygon.buffer(seen.pure_m).difference(water.polygon.buffer(seen.cell_m / 2))
    shore = _heights(ring, ground)
    shore = shore[np.isfinite(shore)]
    if shore.size == 0:
        return None
    lowest, quarter = (float(v) for v in np.percentile(shore, (LEVEL_PERCENTILE.value, SHORE_BELOW_SHARE.value)))
    return lowest if quarter < level_m - LEVEL_SPREAD_M.value - 2 * seen.error_m else None


def _of_few(water: WaterBody, ground: Ground, seen: Seen) -> _Level | None:
    """Level of a water that shares its cells with the shore; None where too little is known."""
    cells = _cells_of(water, ground, seen)
    touched = cells.share > 0
    if not _known(cells.height[touched]):
        return None
    known = np.isfinite(cells.height)
    p10, p90 = (
        float(v)
        for v in np.percentile(cells.height[touched & known], (LEVEL_SPREAD_LOW.value, LEVEL_SPREAD_HIGH.value))
    )
    wholly = cells.height[known & (cells.share > 0.999)]
    flat = wholly[wholly <= wholly.min(initial=np.inf) + LEVEL_FLAT_M.value]
    if not seen.surface and _many(flat, cells.cell_m, seen):  # among trees equal cells may hold equal shares of them
        low, high = float(flat.min()), float(flat.max())
        return _Level(low - seen.error_m, high + seen.error_m, p90 - p10)
    across = cells.across(seen.cell_m)
    near = cells.height[_grown(touched, across) & known]
    pure = np.where(known & touched, _round_each(cells.share, 2 * across), -1.0)
    purest = cells.height[pure >= pure.max() - _EVEN].max()
    lowest, highest = near.min(), np.percentile(near, LEVEL_SPREAD_HIGH.value)
    seen_there = (cells.height[touched & known].min(), purest, pure.max(), lowest, highest)
    ends = seen.mixed_level(Mixed(*(np.asarray(v, dtype=np.float64) for v in seen_there)))
    return _Level(float(ends[0]), float(ends[1]), p90 - p10)


def _round_each(share: F32, cells: int) -> F32:
    """Mean share of the square of so many cells a side round each cell; of an even number half a cell to each side."""
    from scipy import ndimage

    for axis in (0, 1):
        sides = [ndimage.uniform_filter1d(share, cells, axis, mode="constant", origin=at) for at in (0, -1)]
        share = (sides[0] + sides[1]) / 2
    return share


def _grown(mask: npt.NDArray[np.bool_], cells: int) -> npt.NDArray[np.bool_]:
    from scipy import ndimage

    grown: npt.NDArray[np.bool_] = ndimage.maximum_filter(mask, 2 * cells + 1)
    return grown


def _cells_of(water: WaterBody, ground: Ground, seen: Seen) -> _Cells:
    """Give the cells round a water with the share of each that is water."""
    from affine import Affine
    from rasterio.features import rasterize

    grid = ground.grid
    left, bottom, right, top = water.polygon.bounds
    reach = 2 * seen.cell_m
    rows, cols = window_of(grid, (left - reach, bottom - reach, right + reach, top + reach))
    height = ground.ground[rows, cols]
    fine = _FINE if height.size <= _FINE_CELLS else _COARSE
    if not height.size:
        return _Cells(height, height, grid.cell_m)
    transform = transform_of(grid, rows, cols)
    drawn = rasterize(
        [(water.polygon, 1)],
        out_shape=(height.shape[0] * fine, height.shape[1] * fine),
        transform=Affine(transform.a / fine, 0, transform.c, 0, transform.e / fine, transform.f),
        dtype="uint8",
    )
    share = drawn.reshape(height.shape[0], fine, height.shape[1], fine).mean((1, 3), dtype=np.float32)
    touched = rasterize([(water.polygon, 1)], out_shape=height.shape, transform=transform, all_touched=True)
    share = np.where((touched == 1) & (share == 0), np.float32(1e-3), share)  # of less than one part of a cell
    return _Cells(height, share, grid.cell_m)


def _heights(shape: Any, ground: Ground) -> F32:
    """Heights of the cells whose middle lies in a shape [m AMSL]."""
    from rasterio.features import rasterize

    if shape.is_empty:
        return np.empty(0, np.float32)
    rows, cols = window_of(ground.grid, shape.bounds)
    part = ground.ground[rows, cols]
    if part.size == 0:
        return np.empty(0, np.float32)
    mask = rasterize([(shape, 1)], out_shape=part.shape, transform=transform_of(ground.grid, rows, cols), dtype="uint8")
    inside: F32 = part[mask == 1]
    return inside
