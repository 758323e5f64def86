"""Made-up rasters that lie askew, and their footprints by shapely: the slow twin of `diproute.reading.footprint`."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from pyproj import CRS, Transformer

from diproute.physics.geodesy import LocalFrame
from diproute.reading.footprint import Source, lay
from diproute.reading.lattice import starting_at, through
from diproute.records import Grid

EDGE_POINTS = 4  # that each edge of a source cell is bent at, in the twin
FLOOR = 100.0

# reference system, {lat} and {lon} being the frame's: the latitudes it is tried at
SYSTEMS: dict[str, tuple[float, float]] = {
    "EPSG:4326": (-75, 75),
    "EPSG:4267": (25, 60),  # NAD27, degrees
    "UTM": (-75, 75),
    "the next UTM": (-60, 60),
    "EPSG:3413": (60, 84),  # polar
    "EPSG:3031": (-84, -60),
    "+proj=lcc +lat_1=33 +lat_2=45 +lat_0=39 +lon_0=-96 +datum=NAD83": (20, 60),
    "EPSG:5070": (20, 60),  # Albers
    "EPSG:3857": (-70, 70),
    "+proj=laea +lat_0={lat} +lon_0={lon} +datum=WGS84": (-70, 70),
}
AMERICAN = ("EPSG:4267", "EPSG:5070", "+proj=lcc")


def system_at(name: str, lat: float, lon: float) -> CRS:
    if name.endswith("UTM"):
        zone = (int((lon + 180) // 6) + name.startswith("the next")) % 60 + 1
        return CRS.from_epsg((32600 if lat > 0 else 32700) + zone)
    return CRS.from_user_input(name.format(lat=lat - 5, lon=lon + 10))


@dataclass
class Case:
    frame: LocalFrame
    grid: Grid
    crs: CRS
    transform: Affine
    data: np.ndarray
    posts: bool = False
    block_rows: int = 1

    @property
    def source(self) -> Source:
        rows, cols = self.data.shape
        return Source(lambda r, c: self.data[r, c], rows, cols, self.transform, self.crs, posts=self.posts,
                      block_rows=self.block_rows)  # fmt: skip


def chain(*transforms: Affine) -> Affine:
    """One transform of several, the last one first."""
    whole = np.eye(3)
    for t in transforms:
        whole = whole @ np.array([[t.a, t.b, t.c], [t.d, t.e, t.f], [0, 0, 1]])
    return Affine(*(float(number) for number in whole[:2].ravel()))


def random_case(rng: np.random.Generator, system: str | None = None) -> Case:
    """A small grid somewhere, and a raster over it: turned, sheared, mirrored, finer or coarser up to ten times."""
    names = sorted(SYSTEMS)
    name = system or names[rng.integers(len(names))]
    lat = rng.uniform(*SYSTEMS[name])
    lon = rng.uniform(-130, -60) if name.startswith(AMERICAN) else rng.uniform(-179, 179)
    crs = system_at(name, lat, lon)
    frame = LocalFrame(lat, lon)
    cell = float(rng.choice([1.0, 5.0, 10.0, 30.0]))
    ratio = math.exp(rng.uniform(math.log(0.1), math.log(10.0)))  # source cell to working cell
    n = int(min(40, max(8, 16 * ratio)))
    x, y = rng.uniform(-15_000, 15_000, 2)
    grid = Grid(lat, lon, float(x), float(y), cell, n + int(rng.integers(5)), n + int(rng.integers(5)))
    transform = over(rng, frame, grid, crs, ratio)
    size = 2 * (int(0.9 * max(grid.shape) / ratio) + 3)
    transform = starting_at(transform, -size / 2, -size / 2)
    return Case(frame, grid, crs, transform, np.full((size, size), FLOOR, np.float32))


def over(rng: np.random.Generator, frame: LocalFrame, grid: Grid, crs: CRS, ratio: float) -> Affine:
    """A transform whose origin lies near the grid's middle and whose cells are `ratio` working cells."""
    to = Transformer.from_crs(frame.crs, crs, always_xy=True)
    x, y = (grid.left_m + grid.right_m) / 2, (grid.top_m + grid.bottom_m) / 2
    east, north = to.transform([x, x + 1, x], [y, y, y + 1])
    metre = np.array([[east[1] - east[0], east[2] - east[0]], [north[1] - north[0], north[2] - north[0]]])
    side = ratio * grid.cell_m
    kind = rng.integers(3)
    if kind == 0:  # north up in its own system, as files are
        width, height = np.hypot(*metre[0]), np.hypot(*metre[1])
        return Affine(width * side, 0, east[0] + rng.uniform() * width, 0, -height * side, north[0])
    angle = rng.uniform(0, 2 * math.pi)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    shape = np.array([[1, rng.uniform(-0.5, 0.5) if kind == 2 else 0], [0, rng.choice([-1.0, 1.0])]])
    a = metre @ turn @ shape * side
    return Affine(a[0, 0], a[0, 1], east[0], a[1, 0], a[1, 1], north[0])


def footprints(case: Case, cells: np.ndarray) -> np.ndarray:
    """Outlines of source cells (n, 2: row, col) in working cells, each corner and some points of each edge exact."""
    steps = np.arange(EDGE_POINTS) / EDGE_POINTS
    zero, one = np.zeros(EDGE_POINTS), np.ones(EDGE_POINTS)
    u = np.concatenate([steps, one, 1 - steps, zero])
    v = np.concatenate([zero, steps, one, 1 - steps])
    col, row = cells[:, 1:] + u, cells[:, :1] + v
    to = Transformer.from_crs(case.crs, case.frame.crs, always_xy=True)
    x, y = to.transform(*through(case.transform, col, row))
    grid = case.grid
    rings = np.stack([(x - grid.left_m) / grid.cell_m, (grid.top_m - y) / grid.cell_m], axis=-1)
    return shapely.polygons(rings)


def cells_of(grid: Grid) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Working cells as boxes in working cells, with their rows and columns."""
    row, col = (index.ravel() for index in np.indices(grid.shape))
    return shapely.box(col, row, col + 1, row + 1), row, col


def touching(case: Case, cells: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(working rows and cols (n, k, 2), source index): pairs that share an area that can be measured."""
    shapes = footprints(case, cells)
    boxes, row, col = cells_of(case.grid)
    tree = shapely.STRtree(boxes)
    source, box = tree.query(shapes, predicate="intersects")
    shared = shapely.area(shapely.intersection(shapes[source], boxes[box]))
    real = shared > 1e-9
    return np.stack([row[box[real]], col[box[real]]], axis=1), source[real]


def nearly_touching(case: Case, cells: np.ndarray, by: float) -> tuple[np.ndarray, np.ndarray]:
    """As `touching`, of footprints that are widened by some working cells."""
    boxes, row, col = cells_of(case.grid)
    source, box = shapely.STRtree(boxes).query(footprints(case, cells), predicate="dwithin", distance=by)
    return np.stack([row[box], col[box]], axis=1), source


@dataclass
class Verdict:
    """What a laid raster lost against the twin, and what it has too much."""

    spikes: int  # single cells planted
    lost: int  # working cells that are too low, too high for the lowest, or known over a hole
    more: int  # working cells with what does not even come near
    raised: int  # working cells that are higher than the twin's
    cells: int


def judge(case: Case, rng: np.random.Generator, spikes: int = 12) -> Verdict:
    """Plant single high, low and unknown cells over noise, lay it, and compare with every footprint by shapely."""
    data = case.data
    data[:] = FLOOR + rng.uniform(0, 50, data.shape)
    planted = rng.choice(data.size, min(spikes, data.size), replace=False)
    for part, height in enumerate((1000.0, -1000.0, math.nan)):
        data.ravel()[planted[part::3]] += np.float32(height)
    laid = lay(case.source, case.frame, case.grid)
    every = np.argwhere(np.ones(data.shape, bool))
    most, least = extremes(case, *touching(case, every))
    most_near, least_near = extremes(case, *nearly_touching(case, every, 0.02))
    hole, hole_near = np.isnan(most), np.isnan(most_near)
    unknown = np.isnan(laid.highest)
    assert np.isfinite(most[~hole]).all(), "the raster must cover the grid"
    assert (unknown == np.isnan(laid.lowest)).all()
    lost = (hole & ~unknown) | (laid.highest < most) | (laid.lowest > least)
    more = (unknown & ~hole_near) | (laid.highest > most_near) & ~hole_near | (laid.lowest < least_near) & ~hole_near
    return Verdict(len(planted), int(lost.sum()), int(more.sum()), int((laid.highest > most).sum()), lost.size)


def extremes(case: Case, at: np.ndarray, source: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Highest and lowest by working cell of pairs; NaN where one of them is not known."""
    values = case.data.ravel()[source]
    most = np.full(case.grid.shape, -np.inf, np.float32)
    least = np.full(case.grid.shape, np.inf, np.float32)
    np.maximum.at(most, (at[:, 0], at[:, 1]), values)
    np.minimum.at(least, (at[:, 0], at[:, 1]), values)
    return most, least
