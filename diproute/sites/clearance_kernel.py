"""The two hot loops of the obstacle sweep. Lengths in cells from the grid's top left corner, heights in metres.

A cell *touches* a corridor when its closed square and the closed corridor have a point in common, to within
a micrometre; the corridor is convex, so that is: none of the corridor's edges, and neither grid axis, separates
the two. Its distance along the corridor is that of its nearest point, never less than 0.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from diproute.kernels import njit
from diproute.records import F32
from diproute.sites.relief import FOLD, Circle, Found, Points, Relief
from diproute.sites.surfaces import Strip

TOUCH_M: Final = 1e-6


@njit(cache=True, nogil=True, inline="always")
def _line_at(along: float, half: float, strip: Strip) -> float:
    """Height of the climbing line over its foot at a block's nearest point."""
    near = max(0.0, along - half)
    if near <= strip.bend:
        return strip.slope * near
    return strip.slope * strip.bend + strip.slope_beyond * (near - strip.bend)


@njit(cache=True, nogil=True, inline="always")
def _touches(along: float, across: float, half: float, left: float, right: float, strip: Strip, touch: float) -> bool:
    """Whether no edge of the strip separates it from a block, given the block's half-extents square to the edges."""
    return (
        along - half <= strip.length + touch
        and along + half >= -touch
        and across - strip.spread * along - left <= strip.half_width + touch
        and -across - strip.spread * along - right <= strip.half_width + touch
        and abs(across) - half <= strip.widest + touch
    )


@njit(cache=True, nogil=True)
def sweep(relief: Relief, points: Points, strip: Strip, cell: float, least: float, found: Found) -> None:
    """Find, for each point and direction, how far the highest thing in the strip stands above its climbing line.

    Works down the pyramid: a block is opened only if it touches the strip and its highest cell, were it at the
    block's nearest corner, would raise the answer. What touches and is unknown ends the direction as NaN.

    Parameters
    ----------
    relief
        A `Relief`.
    points
        `Points`; the water's level is the foot of the line, where it is NaN no direction is known.
    strip
        A `Strip`.
    cell
        Size of a cell [m].
    least
        Excess below which nothing matters [m].
    found
        `Found` of shape (points, directions), filled in place: metres above the line (NaN not known), and the cell
        that sets it (-1: none above `least`).
    """
    top, blocks, at, rows, cols = relief
    px, py, level, bearing = points
    excess, row, col = found
    half_width, spread, length, start, widest = strip.half_width, strip.spread, strip.length, strip.start, strip.widest
    touch = TOUCH_M / cell
    knee = length if spread == 0.0 else max(0.0, min(length, (widest - half_width) / spread))
    across_all = start + length + 2.0 * min(half_width + spread * length, widest)
    root = 1  # the level whose blocks are so large that a few of them cover the strip
    while root < len(rows) - 1 and FOLD**root * 2.0 < across_all:
        root += 1
    n_levels = root + 1
    lo_r, hi_r = np.empty(n_levels, np.int64), np.empty(n_levels, np.int64)
    lo_c, hi_c = np.empty(n_levels, np.int64), np.empty(n_levels, np.int64)
    stack_level, stack_r = np.empty(20 * n_levels, np.int64), np.empty(20 * n_levels, np.int64)
    stack_c, stack_bound = np.empty(20 * n_levels, np.int64), np.empty(20 * n_levels)
    for p in range(len(px)):
        for a in range(bearing.shape[1]):
            row[p, a] = col[p, a] = -1
            excess[p, a] = np.nan
            ux, uy = np.sin(bearing[p, a]), -np.cos(bearing[p, a])  # east, south
            x_lo = x_hi = px[p] + start * ux
            y_lo = y_hi = py[p] + start * uy
            for d in (0.0, knee, length):
                w = min(half_width + spread * d, widest)
                x, y = px[p] + (start + d) * ux, py[p] + (start + d) * uy
                x_lo, x_hi = min(x_lo, x - w * abs(uy)), max(x_hi, x + w * abs(uy))
                y_lo, y_hi = min(y_lo, y - w * abs(ux)), max(y_hi, y + w * abs(ux))
            if np.isnan(level[p]) or not (x_lo >= 0 and y_lo >= 0 and x_hi <= cols[0] and y_hi <= rows[0]):
                continue  # leaves the known ground
            for k in range(n_levels):
                size = float(FOLD**k)
                lo_r[k] = max(0, int(np.floor((y_lo - touch) / size)))
                hi_r[k] = min(rows[k] - 1, int(np.floor((y_hi + touch) / size)))
                lo_c[k] = max(0, int(np.floor((x_lo - touch) / size)))
                hi_c[k] = min(cols[k] - 1, int(np.floor((x_hi + touch) / size)))
            # half-extents of a cell along the strip and across it, and square to the two slanting sides
            half = 0.5 * (abs(ux) + abs(uy))
            left = 0.5 * (abs(-uy - spread * ux) + abs(ux - spread * uy))
            right = 0.5 * (abs(-uy + spread * ux) + abs(ux + spread * uy))
            best, best_r, best_c = least, -1, -1
            if a > 0 and row[p, a - 1] >= 0:  # what governs one direction is likely to govern the next: a first guess
                r, c = row[p, a - 1], col[p, a - 1]
                dx, dy = c + 0.5 - px[p], r + 0.5 - py[p]
                along, across = dx * ux + dy * uy - start, dy * ux - dx * uy
                over = top[r, c] - level[p] - _line_at(along, half, strip)
                inside = lo_r[0] <= r <= hi_r[0] and lo_c[0] <= c <= hi_c[0]
                if over > best and inside and _touches(along, across, half, left, right, strip, touch):
                    best, best_r, best_c = over, r, c
            known = True
            sp = 1
            stack_level[0], stack_r[0], stack_c[0], stack_bound[0] = root + 1, 0, 0, np.inf
            while sp > 0 and known:
                sp -= 1
                if stack_bound[sp] <= best:
                    continue
                k, r, c = stack_level[sp] - 1, stack_r[sp], stack_c[sp]
                if k == root:
                    r0, r1, c0, c1 = lo_r[k], hi_r[k], lo_c[k], hi_c[k]
                else:
                    r0, r1 = max(lo_r[k], FOLD * r), min(hi_r[k], FOLD * r + FOLD - 1)
                    c0, c1 = max(lo_c[k], FOLD * c), min(hi_c[k], FOLD * c + FOLD - 1)
                base = sp
                size = float(FOLD**k)
                slack = touch * (k + 1)  # a block never touches less than its cells
                for rr in range(r0, r1 + 1):
                    for cc in range(c0, c1 + 1):
                        dx, dy = (cc + 0.5) * size - px[p], (rr + 0.5) * size - py[p]
                        along, across = dx * ux + dy * uy - start, dy * ux - dx * uy
                        highest = top[rr, cc] if k == 0 else blocks[at[k] + rr * cols[k] + cc]
                        over = highest - level[p] - _line_at(along, size * half, strip)
                        if over <= best or not _touches(
                            along, across, size * half, size * left, size * right, strip, slack
                        ):
                            continue
                        if k == 0:
                            if np.isnan(over):
                                known = False
                            else:
                                best, best_r, best_c = over, rr, cc
                        else:
                            s = sp  # the most promising block comes on top
                            while s > base and stack_bound[s - 1] > over:
                                stack_level[s], stack_r[s], stack_c[s] = k, stack_r[s - 1], stack_c[s - 1]
                                stack_bound[s] = stack_bound[s - 1]
                                s -= 1
                            stack_level[s], stack_r[s], stack_c[s], stack_bound[s] = k, rr, cc, over
                            sp += 1
            if known:
                excess[p, a], row[p, a], col[p, a] = best, best_r, best_c


@njit(cache=True, nogil=True)
def hover_room(top: F32, points: Points, circle: Circle, cell: float, found: Found) -> None:
    """Find, for each point, how far the highest thing round the hover circle stands above the side surface.

    Parameters
    ----------
    top
        Heights [m AMSL], shape (rows, cols).
    points
        As for `sweep`.
    circle
        A `Circle`.
    cell
        Size of a cell [m].
    found
        `Found` of shape (points,), filled in place: metres above the water less the side surface's rise (-inf: nothing
        stands there, NaN: not known), and the cell that sets it.
    """
    px, py, level, _ = points
    radius, reach, side_slope, stands = circle
    room, row, col = found
    touch = TOUCH_M / cell
    n_rows, n_cols = top.shape
    for p in range(len(px)):
        room[p], row[p], col[p] = np.nan, -1, -1
        x, y = px[p], py[p]
        if np.isnan(level[p]) or not (x >= reach and y >= reach and x + reach <= n_cols and y + reach <= n_rows):
            continue
        best, known = -np.inf, True
        for r in range(max(0, int(np.floor(y - reach - touch))), min(n_rows, int(np.floor(y + reach + touch)) + 1)):
            gap_y = max(0.0, r - y, y - r - 1.0)
            for c in range(max(0, int(np.floor(x - reach - touch))), min(n_cols, int(np.floor(x + reach + touch)) + 1)):
                gap_x = max(0.0, c - x, x - c - 1.0)
                away = np.sqrt(gap_x * gap_x + gap_y * gap_y)
                if away > reach + touch:
                    continue
                height = top[r, c] - level[p]
                if np.isnan(height):
                    known = False
                elif height > stands:
                    over = height - side_slope * max(0.0, away - radius)
                    if over > best:
                        best, row[p], col[p] = over, r, c
        if known:
            room[p] = best
        else:
            row[p] = col[p] = -1
