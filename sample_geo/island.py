"""The bare ground of the invented island: fractal noise, a volcano, ridges, and rain that carves the valleys.

Everything is in metres east and north of the island's origin; row 0 of every array is the northern edge.
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

F = npt.NDArray[np.float64]

HALF_M = 12_500.0
CELL_M = 20.0
SIZE = int(2 * HALF_M / CELL_M)

VOLCANO = (-1200.0, 2800.0)
MASSIF = (4700.0, -700.0)


def axes(size: int) -> tuple[F, F]:
    """East and north of every cell's centre, for a square of ``size`` cells over the whole island [m]."""
    cell = 2 * HALF_M / size
    east = -HALF_M + cell * (np.arange(size) + 0.5)
    return np.meshgrid(east, -east)


@cache
def noise(size: int, wavelength_m: float, octaves: int, seed: int, gain: float = 0.5) -> F:
    """Fractal noise of about unit spread: smooth random grids, each octave twice as fine and ``gain`` as strong."""
    rng = np.random.default_rng(seed)
    east, north = axes(size)
    total, weight = np.zeros((size, size)), 0.0
    for octave in range(octaves):
        step = wavelength_m / 2**octave
        knots = int(2 * HALF_M / step) + 6
        grid = rng.normal(size=(knots, knots))
        where = np.array([(HALF_M - north) / step + 2, (east + HALF_M) / step + 2])
        total += gain**octave * ndimage.map_coordinates(grid, where, order=3, mode="nearest")
        weight += gain ** (2 * octave)
    total /= np.sqrt(weight)
    total.flags.writeable = False
    return total


def ridged(size: int, wavelength_m: float, octaves: int, seed: int) -> F:
    """Noise with sharp crests, 0 (valley) to 1 (crest)."""
    total, weight = np.zeros((size, size)), 0.0
    for octave in range(octaves):
        fold = 1 - np.clip(np.abs(noise(size, wavelength_m / 2**octave, 1, seed + octave)), 0, 1)
        total += 0.5**octave * fold**2
        weight += 0.5**octave
    return total / weight


def from_line(east: F, north: F, line: list[tuple[float, float]]) -> tuple[F, F]:
    """Distance to a polyline [m], and how far along it the nearest point lies (0 to 1)."""
    legs = [np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(line)]
    best, along, done = np.full(east.shape, np.inf), np.zeros(east.shape), 0.0
    for (a, b), leg in zip(itertools.pairwise(line), legs, strict=True):
        t = np.clip(((east - a[0]) * (b[0] - a[0]) + (north - a[1]) * (b[1] - a[1])) / leg**2, 0, 1)
        away = np.hypot(east - a[0] - t * (b[0] - a[0]), north - a[1] - t * (b[1] - a[1]))
        along = np.where(away < best, (done + t * leg) / sum(legs), along)
        best, done = np.minimum(best, away), done + leg
    return best, along


def raw(size: int) -> F:
    """The island before the rain: shield, volcano, massif and ridges [m]; the sea is at or below 0."""
    east, north = axes(size)
    wobble_e, wobble_n = 900 * noise(size, 5200, 5, 11), 900 * noise(size, 5200, 5, 12)
    e, n = east + wobble_e, north + wobble_n
    bearing = np.arctan2(e - 300, n + 200)
    radius = 9300 + 500 * np.cos(3 * bearing + 0.6) + 450 * np.cos(2 * bearing - 1.1) + 260 * np.cos(5 * bearing)
    out = np.hypot(e - 300, n + 200) / radius
    shield = 500 * np.clip(1 - out**1.8, -1, 1)

    e, n = east + 0.35 * wobble_e, north + 0.35 * wobble_n
    from_volcano = np.hypot(e - VOLCANO[0], n - VOLCANO[1])
    cone = 2250 * np.exp(-from_volcano / 2900)
    cone = np.where(cone > 1500, 1500 + 120 * np.tanh((cone - 1500) / 120), cone)

    from_massif = np.hypot(e - MASSIF[0], (n - MASSIF[1]) / 1.5)
    massif = 1420 * np.exp(-((from_massif / 1900) ** 2))

    kestrel = [(-300.0, 1700.0), (700.0, 500.0), (1100.0, -1200.0), (2300.0, -3300.0), (2900.0, -5200.0)]
    away, along = from_line(e, n, kestrel)
    ridge = (420 - 320 * along) * np.exp(-((away / 600) ** 2))
    west = [(-2600.0, 2000.0), (-4300.0, 1000.0), (-6600.0, 700.0)]
    away, along = from_line(e, n, west)
    ridge += (360 - 220 * along) * np.exp(-((away / 700) ** 2))
    south = [(-1900.0, -2300.0), (-3600.0, -3300.0), (-4600.0, -5600.0)]
    away, along = from_line(e, n, south)
    ridge += (400 - 200 * along) * np.exp(-((away / 750) ** 2))

    base = shield + cone + massif + ridge
    rough = np.clip(base / 900, 0, 1.3)
    crags = (ridged(size, 3000, 5, 31) - 0.45) * 420 * rough * (0.55 + 0.9 * np.exp(-((from_massif / 2600) ** 2)))
    return base + crags + 60 * noise(size, 2400, 5, 41) * np.clip(base / 300, 0.1, 1)


def carve(height: F, cell_m: float, steps: int, strength: float, creep: float) -> tuple[F, F]:
    """Let rain cut valleys: implicit stream-power erosion down a drainage tree, and a little soil creep.

    The tree is the minimum spanning tree of the passes between neighbours, rooted in the sea: every cell drains by
    the lowest way out, hollows spill over their lowest rim.

    Returns
    -------
    tuple
        The carved height [m] and the area that drains through each cell [m2].
    """
    land = height > 0
    rows, cols = height.shape
    number = np.zeros(height.shape, dtype=np.int64)
    number[land] = np.arange(1, land.sum() + 1)
    ends, apart = [], []
    for dr, dc in ((0, 1), (1, 0), (1, 1), (1, -1)):
        a = number[: rows - dr, max(0, -dc) : cols - max(0, dc)]
        b = number[dr:, max(0, dc) : cols + min(0, dc)]
        keep = a != b
        ends.append(np.stack([a[keep], b[keep]]))
        apart.append(np.full(keep.sum(), cell_m * np.hypot(dr, dc)))
    pair = np.sort(np.concatenate(ends, axis=1), axis=0)
    pair, first = np.unique(pair, axis=1, return_index=True)
    length = np.concatenate(apart)[first]

    z = np.concatenate([[0.0], height[land]])
    area = np.zeros_like(z)
    for _ in range(steps):
        za, zb = z[pair[0]], z[pair[1]]
        cost = 10 + np.maximum(za, zb) - 1e-2 * np.abs(za - zb) / length
        tree = minimum_spanning_tree(coo_array((cost, (pair[0], pair[1])), shape=(z.size, z.size)).tocsr())
        order, parent = breadth_first_order(tree, 0, directed=False)
        place = np.empty(z.size, dtype=np.int64)
        place[order] = np.arange(z.size)
        parents_place = place[parent[order[1:]]]  # never falls: the order is level by level
        bounds = [1]
        while bounds[-1] < z.size:  # a level ends where the parents stop lying before its own start
            bounds.append(int(np.searchsorted(parents_place, bounds[-1])) + 1)
        levels = [order[a:b] for a, b in itertools.pairwise(bounds)]
        area[:] = cell_m**2
        for nodes in reversed(levels):
            np.add.at(area, parent[nodes], area[nodes])
        for nodes in levels:
            down = parent[nodes]
            pull = strength * area[nodes] ** 0.45 / cell_m
            z[nodes] = np.maximum((z[nodes] + pull * z[down]) / (1 + pull), z[down] + 1e-3 * cell_m)
        full = np.zeros(height.shape)
        full[land] = z[1:]
        full += creep * ndimage.laplace(full)
        z[1:] = np.maximum(full[land], 0.5)
    flow = np.zeros(height.shape)
    flow[land] = area[1:]
    return full, flow


def finer(height: F, size: int) -> F:
    """Resample a square grid to ``size`` cells a side; the sea stays at 0 and the land above it."""
    scale = height.shape[0] / size
    at = (np.arange(size) + 0.5) * scale - 0.5
    where = np.meshgrid(at, at, indexing="ij")
    smooth = ndimage.map_coordinates(height, where, order=3, mode="nearest")
    land = ndimage.map_coordinates((height > 0).astype(float), where, order=1, mode="nearest") > 0.5
    return np.where(land, np.maximum(smooth, 0.5), 0)


def natural() -> tuple[F, F]:
    """The carved island at the final cell size, and the drained area at 50 m cells."""
    coarse, _ = carve(raw(250), 100.0, 60, 0.045, 0.02)
    middle = finer(coarse, 500)
    middle += np.clip(middle / 200, 0, 1) * 10 * noise(500, 500, 3, 51)
    middle, flow = carve(middle, 50.0, 14, 0.030, 0.03)
    fine = finer(middle, SIZE)
    gy, gx = np.gradient(ndimage.gaussian_filter(fine, 2), CELL_M)
    fine += np.clip(np.hypot(gx, gy), 0.02, 0.7) * 7 * noise(SIZE, 160, 3, 61, 0.6) * np.clip(fine / 40, 0, 1)
    fine -= 14 * np.clip(noise(SIZE, 900, 4, 62), 0, None) * np.clip(1 - fine / 30, 0, 1)  # a ragged coast
    part, _ = ndimage.label(fine <= 0)
    return np.where(part == part[0, 0], 0, np.maximum(fine, 0.5)), flow
