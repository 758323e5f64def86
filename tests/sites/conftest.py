"""Grids to stand on, and the brute-force twin: plain NumPy, in metres, every cell of the grid visited."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from diproute.records import Grid, Ground, WireCells


def wire_cells(top, cause, obstacles):
    """The cells whose highest thing is a wire."""
    cell = np.array([i for i, c in enumerate(cause.ravel()) if c >= 2 and obstacles[c - 2].is_wire], np.int64)
    return WireCells(cell, top.ravel()[cell], cause.ravel()[cell].astype(np.int64) - 2)


def make_ground(
    top, cell_m=10.0, cause=None, obstacles=(), ground=None, elevation_is="ground", lat_deg=45.0, wires=None
):
    """A ground of given heights, its centre at the frame's centre."""
    top = np.asarray(top, dtype=np.float32)
    rows, cols = top.shape
    grid = Grid(lat_deg, 20.0, -cols * cell_m / 2, rows * cell_m / 2, cell_m, rows, cols)
    cause = np.zeros(top.shape, np.uint16) if cause is None else cause
    return Ground(
        grid=grid, ground=top if ground is None else ground, top=top,
        cause=cause, obstacles=tuple(obstacles), wires=wire_cells(top, cause, obstacles) if wires is None else wires,
        vertical_datum="test", vertical_error_m=None, elevation_is=elevation_is, canopy_known=True, sources=("test",),
    )  # fmt: skip


def _centres(grid):
    x = grid.left_m + (np.arange(grid.cols) + 0.5) * grid.cell_m
    y = grid.top_m - (np.arange(grid.rows) + 0.5) * grid.cell_m
    return np.meshgrid(x, y)


def outline(x, y, bearing_deg, strip):
    """The strip as a polygon."""
    a = math.radians(bearing_deg)
    u, n = np.array([math.sin(a), math.cos(a)]), np.array([math.cos(a), -math.sin(a)])
    knee = strip.length_m if not strip.spread else (strip.widest_m - strip.half_width_m) / strip.spread
    ds = sorted({0.0, min(max(knee, 0.0), strip.length_m), strip.length_m})
    ws = [min(strip.half_width_m + strip.spread * d, strip.widest_m) for d in ds]
    at = [np.array([x, y]) + (strip.start_m + d) * u for d in ds]
    right = [p + w * n for p, w in zip(at, ws, strict=True)]
    left = [p - w * n for p, w in zip(at, ws, strict=True)]
    return np.array(right + left[::-1])


def touching(grid, x, y, bearing_deg, strip):
    """Which cells touch the strip, by separating axes: the grid's two, and the normal of every edge of the outline."""
    corners = outline(x, y, bearing_deg, strip)
    edges = np.roll(corners, -1, axis=0) - corners
    edges = edges[np.hypot(*edges.T) > 1e-9]
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    xs, ys = _centres(grid)
    touch = np.ones(xs.shape, bool)
    for nx, ny in [(1.0, 0.0), (0.0, 1.0), *normals]:
        centre = (xs - x) * nx + (ys - y) * ny
        half = grid.cell_m / 2 * (abs(nx) + abs(ny))
        strip_at = (corners - [x, y]) @ [nx, ny]
        touch &= (centre - half <= strip_at.max() + 1e-6) & (centre + half >= strip_at.min() - 1e-6)
    return touch


def over_line(ground, top, x, y, level, bearing_deg, strip):
    """Greatest height over the climbing line among the cells that touch; NaN: something is unknown."""
    grid = ground.grid
    corners = outline(x, y, bearing_deg, strip)
    inside = (
        corners[:, 0].min() >= grid.left_m and corners[:, 0].max() <= grid.right_m
        and corners[:, 1].min() >= grid.bottom_m and corners[:, 1].max() <= grid.top_m
    )  # fmt: skip
    if not inside or math.isnan(level):
        return math.nan
    touch = touching(grid, x, y, bearing_deg, strip)
    a = math.radians(bearing_deg)
    xs, ys = _centres(grid)
    near = (xs - x) * math.sin(a) + (ys - y) * math.cos(a) - strip.start_m
    near = np.maximum(0.0, near - grid.cell_m / 2 * (abs(math.sin(a)) + abs(math.cos(a))))
    line = strip.slope * np.minimum(near, strip.bend_m) + strip.slope_beyond * np.maximum(0.0, near - strip.bend_m)
    return float((top.astype(np.float64) - level - line)[touch].max())  # NaN wins


def line_needed(ground, top, x, y, level, rules, stands_m):
    """The line by the formula, every cell visited."""
    grid, reach = ground.grid, rules.hover_radius_m + rules.side_length_m
    if not (x - reach >= grid.left_m and x + reach <= grid.right_m and y - reach >= grid.bottom_m
            and y + reach <= grid.top_m) or math.isnan(level):  # fmt: skip
        return math.nan
    xs, ys = _centres(grid)
    gap = np.hypot(*(np.maximum(0.0, np.abs(d) - grid.cell_m / 2) for d in (xs - x, ys - y)))
    heights = (top.astype(np.float64) - level)[gap <= reach + 1e-6]
    if np.isnan(heights).any():
        return math.nan
    rise = rules.side_slope * np.maximum(0.0, gap[gap <= reach + 1e-6] - rules.hover_radius_m)
    asks = (heights + rules.rotor_margin_m - rules.bucket_length_m - rise)[heights > stands_m]
    return max(0.0, float(asks.max(initial=0.0)))


def touching_by_shapely(grid, x, y, bearing_deg, strip):
    """The same question put to GEOS."""
    xs, ys = _centres(grid)
    h = grid.cell_m / 2
    polygon = shapely.Polygon(outline(x, y, bearing_deg, strip))
    return shapely.dwithin(shapely.box(xs - h, ys - h, xs + h, ys + h), polygon, 1e-6)


@pytest.fixture(scope="session")
def twin():
    return SimpleNamespace(
        make_ground=make_ground, over_line=over_line, line_needed=line_needed, touching=touching,
        touching_by_shapely=touching_by_shapely,
    )  # fmt: skip
