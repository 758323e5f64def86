"""Ways that cost less climbing or descending at the site's end than the field knew of.

The field opens its cells by what must be climbed or descended at the source's end. What the other end asks differs from
site to site: a cell of height f can be used only while the whole leg's time T leaves ``(f − z)/rate`` for it, that is
before ``K − f/rate`` with ``K = T + z/rate``. So one solve with closing cells serves every site of one K, and a
short ladder of K serves all; whatever way comes out is timed exactly and kept only if it is quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Final

import numpy as np

from diproute.flight.medium import fill_times
from diproute.flight.straighten import walk_down

if TYPE_CHECKING:
    from diproute.flight.route import Ask, Field, Way

RUNGS: Final = 8
WORTH: Final = 1.004  # waiting below this share of the leg is left as it is


def better_ways(field: Field, asks: Sequence[Ask], ways: list[Way | None]) -> None:
    """Replace, in place, the ways that lose time climbing or descending at the site's end by quicker ones.

    Parameters
    ----------
    field
        The solved field.
    asks, ways
        The sites and their ways so far; None where there is none.
    """
    level = field.airspace.coarse
    medium = field.medium(level)
    free = field.solved(level)
    spans: dict[int, tuple[float, float]] = {}
    for i, (ask, way) in enumerate(zip(asks, ways, strict=True)):
        if way is None or way.seconds < way.plain_s * WORTH + 1.0:
            continue
        col, row = (int(v) for v in field.place(level, ask))
        inside = row < free.shape[0] and col < free.shape[1]
        least = float(free[row, col]) if inside else np.inf
        offset = medium.close_rate * ask.bottom_m
        low = max(least, 0.0) + medium.close_rate * float(medium.height[row, col]) if inside else np.inf
        high = way.seconds + offset
        if low < high:
            spans[i] = (low, high)
    if not spans:
        return
    wanted = np.concatenate([lo + (hi - lo) * np.array([0.15, 0.4, 0.65, 0.9]) for lo, hi in spans.values()])
    rungs = np.unique(np.quantile(wanted, np.linspace(0, 1, min(RUNGS, wanted.size)), method="nearest"))
    cells = field.cells(level)
    with ThreadPoolExecutor(2) as pool:
        times = list(pool.map(lambda rung: fill_times(medium, cells, float(rung)), rungs))
    for i, (low, high) in spans.items():
        for rung, time in zip(rungs, times, strict=True):
            if not low <= rung <= high:
                continue
            nodes = walk_down(medium, time, *field.place(level, asks[i]))
            now = ways[i]
            if nodes is None or now is None:
                continue
            way = field.finish(asks[i], level, nodes, now.seconds)
            if way.seconds < now.seconds - 0.01:
                ways[i] = way
