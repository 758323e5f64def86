"""Compiled loops of the footprint: source cells into the working cells that they touch, and heights between posts.

Places on the working grid are counted in working cells from its top left corner, x to the east and y to the south.
Places in a file are counted in its own columns and rows, a cell's corners at whole numbers.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from diproute.kernels import njit

if TYPE_CHECKING:
    from diproute.records import F32, F64, I64


class Mesh(NamedTuple):
    """Where a lattice of corners lies in another grid; in between the places are bilinear."""

    x: F64  # (m, n)
    y: F64  # (m, n)
    at_row: I64  # (m,) rows of the lattice, in cells, rising, the last at the end
    at_col: I64  # (n,) columns of the lattice


@njit(cache=True, nogil=True, inline="always")
def _edge(ax: float, ay: float, bx: float, by: float, side: float, pad: float) -> Any:
    """Outward normal of an edge, and what is added so that a positive sum says: the padded cell (j, i) lies outside."""
    nx, ny = side * (by - ay), -side * (bx - ax)
    offset = -nx * ax - ny * ay
    offset += -pad * nx if nx > 0.0 else (1.0 + pad) * nx
    offset += -pad * ny if ny > 0.0 else (1.0 + pad) * ny
    return nx, ny, offset


@njit(cache=True, nogil=True)
def scatter(high: F32, deep: F32, mesh: Mesh, pad: float, band: tuple[int, int], top: F32, low: F32) -> None:
    """Put source cells into all working cells of a band of rows that they touch.

    A quadrilateral and a padded working cell touch when neither an edge of the one nor an axis of the other separates
    them. What is not known in the source makes unknown what it touches, and stays.

    Parameters
    ----------
    high, deep
        (rows, cols) highest and lowest in each source cell, NaN where not known; mostly one array.
    mesh
        Working places [cells] of the source cells' corners.
    pad
        What a working cell is widened by on each side [working cells]; negative: a shared edge is no touch.
    band
        First row and the row after the last that are filled, so that threads never meet.
    top
        Highest so far, -inf where nothing touched yet, (rows, cols), changed in place.
    low
        Lowest so far, +inf where nothing touched yet; of no size when it is not wanted.
    """
    first, last = band
    width = top.shape[1]
    both = low.size > 0
    for m in range(mesh.at_row.size - 1):
        row0, row1 = mesh.at_row[m], mesh.at_row[m + 1]
        for n in range(mesh.at_col.size - 1):
            col0, col1 = mesh.at_col[n], mesh.at_col[n + 1]
            xa, xb, xc, xd = mesh.x[m, n], mesh.x[m, n + 1], mesh.x[m + 1, n], mesh.x[m + 1, n + 1]
            ya, yb, yc, yd = mesh.y[m, n], mesh.y[m, n + 1], mesh.y[m + 1, n], mesh.y[m + 1, n + 1]
            if max(ya, yb, yc, yd) + 1.0 < first or min(ya, yb, yc, yd) - 1.0 > last:
                continue
            if max(xa, xb, xc, xd) + 1.0 < 0.0 or min(xa, xb, xc, xd) - 1.0 > width:
                continue
            side = 1.0 if (xb - xa) * (yc - ya) - (yb - ya) * (xc - xa) > 0.0 else -1.0
            down, right = 1.0 / (row1 - row0), 1.0 / (col1 - col0)
            for r in range(row0, row1):
                v, w = (r - row0) * down, (r + 1 - row0) * down
                # upper and lower edge of this row of cells: where they start, and how far a column leads
                ux, uy = xa + (xc - xa) * v, ya + (yc - ya) * v
                lx, ly = xa + (xc - xa) * w, ya + (yc - ya) * w
                ux_step, uy_step = (xb + (xd - xb) * v - ux) * right, (yb + (yd - yb) * v - uy) * right
                lx_step, ly_step = (xb + (xd - xb) * w - lx) * right, (yb + (yd - yb) * w - ly) * right
                x0, y0, x3, y3 = ux, uy, lx, ly
                for c in range(col0, col1):
                    along = c + 1 - col0
                    x1, y1 = ux + ux_step * along, uy + uy_step * along
                    x2, y2 = lx + lx_step * along, ly + ly_step * along
                    y_min, y_max = min(min(y0, y1), min(y2, y3)), max(max(y0, y1), max(y2, y3))
                    x_min, x_max = min(min(x0, x1), min(x2, x3)), max(max(x0, x1), max(x2, x3))
                    i0, i1 = math.floor(y_min - pad), math.floor(y_max + pad)
                    j0, j1 = math.floor(x_min - pad), math.floor(x_max + pad)
                    sure = i0 == i1 or j0 == j1  # one cell wide, before it is cut to the band: all of it is touched
                    i0, i1, j0, j1 = max(first, i0), min(last - 1, i1), max(0, j0), min(width - 1, j1)
                    if i0 <= i1 and j0 <= j1:
                        upper, lower = high[r, c], deep[r, c]
                        unknown = upper != upper
                        if not sure:
                            ax, ay, ao = _edge(x0, y0, x1, y1, side, pad)
                            bx, by, bo = _edge(x1, y1, x2, y2, side, pad)
                            cx, cy, co = _edge(x2, y2, x3, y3, side, pad)
                            dx, dy, do = _edge(x3, y3, x0, y0, side, pad)
                        for i in range(i0, i1 + 1):
                            for j in range(j0, j1 + 1):
                                if not sure and (
                                    ax * j + ay * i + ao > 0.0
                                    or bx * j + by * i + bo > 0.0
                                    or cx * j + cy * i + co > 0.0
                                    or dx * j + dy * i + do > 0.0
                                ):
                                    continue
                                if unknown or upper > top[i, j]:  # NaN is never exceeded: a hole stays
                                    top[i, j] = upper
                                if both and (unknown or lower < low[i, j]):
                                    low[i, j] = lower
                    x0, y0, x3, y3 = x1, y1, x2, y2


@njit(cache=True, nogil=True)
def sample(data: F32, rows: tuple[int, int, int], mesh: Mesh, band: tuple[int, int], fine: int, out: Any) -> None:
    """Add the heights between posts at ``fine`` by ``fine`` points of every working cell in a band of rows.

    Each point takes the four posts round it, as far as they are known, by their bilinear weights; outside the posts
    the nearest ones. A point belongs to the strip that holds the upper post, so that strips add up.

    Parameters
    ----------
    data
        (rows, cols) posts of one strip, NaN where not known.
    rows
        The strip's first row, and the first and the last row of the whole window that the strips make up.
    mesh
        Places of the working cells' corners in the window [columns from data's first, rows of the file].
    band
        First working row and the row after the last that are filled.
    fine
        Points a side; 1: the cell's centre.
    out
        (rows, cols, 2): sum and number of the known points, added to in place.
    """
    start, top_row, end_row = rows
    strip, cols = data.shape
    stop = start + strip - 1  # upper posts before this row have their lower one in the strip
    if stop == end_row:
        stop += 1
    for m in range(mesh.at_row.size - 1):
        row0, row1 = mesh.at_row[m], mesh.at_row[m + 1]
        if row1 <= band[0] or row0 >= band[1]:
            continue
        for n in range(mesh.at_col.size - 1):
            col0, col1 = mesh.at_col[n], mesh.at_col[n + 1]
            xa, xb, xc, xd = mesh.x[m, n], mesh.x[m, n + 1], mesh.x[m + 1, n], mesh.x[m + 1, n + 1]
            ya, yb, yc, yd = mesh.y[m, n], mesh.y[m, n + 1], mesh.y[m + 1, n], mesh.y[m + 1, n + 1]
            if max(ya, yb, yc, yd) + 1.0 < start or min(ya, yb, yc, yd) - 2.0 > stop:
                continue
            if max(xa, xb, xc, xd) < 0.0 or min(xa, xb, xc, xd) > cols:
                continue
            for i in range(max(row0, band[0]), min(row1, band[1])):
                for j in range(col0, min(col1, out.shape[1])):
                    total, count = 0.0, 0
                    for p in range(fine):
                        v = (i - row0 + (p + 0.5) / fine) / (row1 - row0)
                        for q in range(fine):
                            u = (j - col0 + (q + 0.5) / fine) / (col1 - col0)
                            x = (xa + (xb - xa) * u) * (1.0 - v) + (xc + (xd - xc) * u) * v - 0.5
                            y = (ya + (yb - ya) * u) * (1.0 - v) + (yc + (yd - yc) * u) * v - 0.5
                            if x < -0.5 or x > cols - 0.5 or y < top_row - 0.5 or y > end_row + 0.5:
                                continue  # off the file
                            y = min(max(y, float(top_row)), float(end_row))
                            x = min(max(x, 0.0), cols - 1.0)
                            upper = math.floor(y)
                            if upper < start or upper >= stop:
                                continue  # another strip's
                            left = math.floor(x)
                            a, b = upper - start, min(upper + 1, end_row) - start
                            c, d = left, min(left + 1, cols - 1)
                            fy, fx = y - upper, x - left
                            nw, ne, sw, se = data[a, c], data[a, d], data[b, c], data[b, d]
                            height = (nw * (1.0 - fx) + ne * fx) * (1.0 - fy) + (sw * (1.0 - fx) + se * fx) * fy
                            weight = 1.0
                            if height != height:
                                height = weight = 0.0
                                for post, share in (
                                    (nw, (1.0 - fy) * (1.0 - fx)),
                                    (ne, (1.0 - fy) * fx),
                                    (sw, fy * (1.0 - fx)),
                                    (se, fy * fx),
                                ):
                                    if post == post:
                                        height += share * post
                                        weight += share
                            if weight > 0.0:
                                total += height / weight
                                count += 1
                    out[i, j, 0] += total
                    out[i, j, 1] += count
