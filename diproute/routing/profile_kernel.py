"""Compiled loop of the profile: the highest thing round each piece of a way."""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit


@njit(cache=True, nogil=True)
def highest_near(top: Any, row: Any, col: Any, radius: Any) -> Any:
    """Highest `top` within a radius [cells] of a cell, counted from any point of it to any point of another.

    NaN where the radius is below 0, or where something within it is not known or off the grid.
    """
    rows, cols = top.shape
    out = np.full(row.size, np.nan)
    for i in range(row.size):
        if radius[i] < 0.0:
            continue
        wide = int(radius[i]) + 1
        best = -np.inf
        for r in range(row[i] - wide, row[i] + wide + 1):
            for c in range(col[i] - wide, col[i] + wide + 1):
                gap_r, gap_c = max(abs(r - row[i]) - 1, 0), max(abs(c - col[i]) - 1, 0)
                if gap_r * gap_r + gap_c * gap_c <= radius[i] * radius[i]:
                    here = top[r, c] if 0 <= r < rows and 0 <= c < cols else np.nan
                    best = here if np.isnan(here) or here > best else best  # NaN stays: nothing is above it
        out[i] = best
    return out
