"""Ways that cost less climbing or descending at the site's end than the field knew of.

The field opens its cells by what must be climbed or descended at the source's end. What the other end asks differs from
site to site: a cell of height f can be used only while the whole leg's time T leaves ``(f − z)/rate`` for it, that is
before ``K − f/rate`` with ``K = T + z/rate``. So one solve with closing cells serves every site of one K, and a
few closing times K serve all; whatever way comes out is timed exactly and kept only if it is quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final

import numpy as np

from diproute.records import F64
from diproute.routing.path import walk_down
from diproute.routing.speed_model import fill_times, relieve
from diproute.routing.travel_time import Ask, Field, Way
from diproute.threads import threads

CELLS: Final = 2e6  # that a round solves
ROUNDS: Final = 3  # two on a grid of more than an eighth of CELLS
NEAR: Final = 0.03  # how far from the best a way may be before it is tuned
WORTH: Final = 0.004  # what may be gained, as a share of the leg, below which nothing more is tried
SHARES: Final = np.array([0.1, 0.3, 0.55, 0.8])


def better_ways(field: Field, asks: Sequence[Ask], ways: Sequence[Way | None]) -> list[Way | None]:
    """Replace the ways that lose time climbing or descending at the site's end by quicker ones, where there are any.

    Parameters
    ----------
    field
        The solved field.
    asks, ways
        The sites and their ways so far; None where there is none.

    Returns
    -------
    list of Way or None
        One for each site.
    """
    best = {i: way for i, way in enumerate(ways) if way is not None and way.seconds > way.free_s * (1 + WORTH)}
    if not best:
        return list(ways)
    level = field.airspace.coarse
    model, free, cells = field.model(level), field.solved(level), field.source_cells(level)
    place = {i: field.place(level, asks[i]) for i in best}
    spot = {i: (int(row), int(col)) for i, (col, row) in place.items() if row < free.shape[0] and col < free.shape[1]}
    height = model.height.copy()
    relieve(height, np.array([(col, row) for row, col in spot.values()]).reshape(-1, 2), model.reach, model.relief_m)
    model = replace(model, height=height)
    rate = model.close_rate
    source = rate * float(field.sources.bottom_m.min())  # the difference in height between the ends takes its time
    lows = {i: max(min(float(free[at]), best[i].free_s) + rate * float(height[at]), source) for i, at in spot.items()}
    for _ in range(ROUNDS if 8 * free.size < CELLS else ROUNDS - 1):
        spans = {i: (low, best[i].seconds + rate * asks[i].bottom_m) for i, low in lows.items()}
        spans = {i: (low, high) for i, (low, high) in spans.items() if high - low > WORTH * best[i].seconds}
        if not spans:
            break
        closings = closing_times(spans, int(np.clip(CELLS // free.size, 4, 12)))
        with ThreadPoolExecutor(threads()) as pool:
            times = list(pool.map(lambda close_at_s: fill_times(model, cells, float(close_at_s)), closings))
        for i, (low, high) in spans.items():
            for k in np.flatnonzero((low <= closings) & (closings <= high)):
                nodes = walk_down(model, times[k], *place[i], float(closings[k]))
                if nodes is None:
                    lows[i] = float(closings[k])
                    continue
                nodes, seconds = field.pulled(asks[i], level, nodes)
                if seconds < best[i].seconds * (1 + NEAR):
                    way = field.tuned(asks[i], level, nodes)
                    best[i] = way if way.seconds < best[i].seconds else best[i]
                break  # a later closing only allows what this one did without
    return [best.get(i, way) for i, way in enumerate(ways)]


def closing_times(spans: dict[int, tuple[float, float]], most: int) -> F64:
    """Pick the closing times of a round [s], rising, so that every span has some."""
    wanted = np.concatenate([low + (high - low) * SHARES for low, high in spans.values()])
    return np.unique(np.quantile(wanted, np.linspace(0, 1, min(most, wanted.size)), method="nearest"))
