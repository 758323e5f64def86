"""Made-up ponds whose level is known, seen by an elevation of coarse cells."""

from dataclasses import dataclass

import numpy as np
from layer_scene import LAT, LON
from scipy import ndimage
from shapely import Polygon

from diproute.reading.grid import neat_cell
from diproute.records import Grid, Ground, WaterBody

FINE_M = 2.0
HALF = 250  # fine cells from the middle to the edge


@dataclass(frozen=True, slots=True)
class Setting:
    """How the ground lies round the ponds, and how the elevation sees it."""

    name: str
    cell_m: float  # of the elevation's file
    surface: bool = False
    slope: float = 0.05  # of the ground round the pond
    bumps_m: float = 2.0
    trees_m: float = 0.0  # height of the wood round the pond
    cover: float = 0.9  # share of the ground under it
    blur: float = 0.0  # spread of each cell over its neighbours, in cells
    noise_m: float = 0.0  # one standard deviation; twice as much is stated
    embanked: bool = False  # held above the lower half of its shore by a bank 12 m wide
    radius_m: tuple[float, float] = (10.0, 70.0)


SETTINGS = (
    Setting("fine ground", 5.0),
    Setting("ground", 10.0, slope=0.15),
    Setting("ground, 30 m", 30.0, slope=0.1),
    Setting("ground, 30 m, steep", 30.0, slope=0.4, bumps_m=6.0),
    Setting("ground, 30 m, noise", 30.0, noise_m=1.5),
    Setting("ground, 90 m", 90.0, slope=0.1, radius_m=(20.0, 150.0)),
    Setting("ground, blurred", 30.0, slope=0.2, blur=0.5),
    Setting("ground, larger ponds", 20.0, slope=0.1, radius_m=(50.0, 200.0)),
    Setting("ground, embanked", 10.0, slope=0.08, embanked=True),
    Setting("ground, 30 m, embanked", 30.0, slope=0.08, embanked=True),
    Setting("surface, bare", 30.0, surface=True, slope=0.1),
    Setting("surface, low wood", 30.0, surface=True, trees_m=12.0),
    Setting("surface, wood", 30.0, surface=True, trees_m=25.0),
    Setting("surface, tall wood", 30.0, surface=True, trees_m=38.0, cover=1.0),
    Setting("surface, wood, blurred", 30.0, surface=True, trees_m=25.0, blur=0.6),
    Setting("surface, wood, steep", 30.0, surface=True, trees_m=25.0, slope=0.3, bumps_m=5.0),
    Setting("surface, wood, noise", 30.0, surface=True, trees_m=20.0, noise_m=2.0),
    Setting("surface, wood, 10 m", 10.0, surface=True, trees_m=25.0),
    Setting("surface, wood, larger ponds", 30.0, surface=True, trees_m=25.0, radius_m=(60.0, 220.0)),
    Setting("surface, wood, 90 m", 90.0, surface=True, trees_m=25.0, radius_m=(20.0, 150.0)),
)


def pond(setting: Setting, seed: int) -> tuple[WaterBody, Ground, float]:
    """Give a pond whose level is not known yet, the ground as the elevation sees it, and the pond's true level."""
    rng = np.random.default_rng([seed, sum(setting.name.encode())])
    n = 2 * HALF
    y, x = (FINE_M * (np.arange(n) - HALF + 0.5) for _ in range(2))
    x, y = np.meshgrid(x, -y)
    shape = _outline(rng, rng.uniform(*setting.radius_m))
    course = rng.uniform(0, 2 * np.pi)
    bumps = ndimage.gaussian_filter(rng.standard_normal((n, n)), 20)
    height = 500 + setting.slope * (x * np.sin(course) + y * np.cos(course)) + setting.bumps_m * bumps / bumps.std()
    water = _inside(shape, x, y)
    shore = ndimage.binary_dilation(water, iterations=2) & ~water
    if setting.embanked:
        level = float(np.median(height[shore]))
        bank = ndimage.binary_dilation(water, iterations=6)
        height = np.where(bank, np.maximum(height, level + 0.5), height)
    else:
        level = float(height[shore].min()) - rng.uniform(0.0, 1.0)
    height = np.where(water, level, height)
    if setting.surface and setting.trees_m:
        crowns = ndimage.gaussian_filter(rng.standard_normal((n, n)), 2)
        stands = (crowns < np.quantile(crowns, setting.cover)) & ~water
        height = height + np.where(stands, setting.trees_m * rng.uniform(0.7, 1.0, (n, n)), 0.0)
    return (
        WaterBody("w1", "", "pond", shape, False, np.nan, np.nan, np.nan, None, "made up"),
        _seen(height, setting, rng),
        level,
    )


def _outline(rng: np.random.Generator, radius_m: float) -> Polygon:
    angle = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    lobes = sum(rng.uniform(0, 0.25 / k) * np.cos(k * angle + rng.uniform(0, 6.3)) for k in (1, 2, 3))
    r = radius_m * (1 + lobes)
    stretch = rng.uniform(0.6, 1.0)
    east, north = rng.uniform(-40, 40, 2)
    return Polygon(np.column_stack([east + r * np.cos(angle), north + stretch * r * np.sin(angle)]))


def _inside(shape: Polygon, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    import shapely

    shapely.prepare(shape)
    return shapely.contains_xy(shape, x.ravel(), y.ravel()).reshape(x.shape)


def _seen(height: np.ndarray, setting: Setting, rng: np.random.Generator) -> Ground:
    """Means of the file's cells, laid somewhere, brought to the working grid as the reader does it: bilinear."""
    per_cell = setting.cell_m / FINE_M
    if setting.blur:
        height = ndimage.gaussian_filter(height, setting.blur * per_cell, mode="nearest")
    left, top = rng.uniform(0, setting.cell_m, 2)
    step = neat_cell(setting.cell_m)
    count = int((2 * HALF * FINE_M - 2 * setting.cell_m) // setting.cell_m)
    sums = np.pad(np.cumsum(np.cumsum(height, 0), 1), ((1, 0), (1, 0)))

    def summed(rows: np.ndarray, cols: np.ndarray) -> np.ndarray:
        r, c = np.meshgrid(rows, cols, indexing="ij")
        return ndimage.map_coordinates(sums, [r, c], order=1)

    rows = (top + setting.cell_m * np.arange(count + 1)) / FINE_M
    cols = (left + setting.cell_m * np.arange(count + 1)) / FINE_M
    total = summed(rows, cols)
    cells = (total[1:, 1:] - total[:-1, 1:] - total[1:, :-1] + total[:-1, :-1]) / per_cell**2
    cells = cells + setting.noise_m * rng.standard_normal(cells.shape)
    half = (HALF * FINE_M // step - 4) * step
    n = round(2 * half / step)
    middle = np.arange(n) * step + step / 2 - half + HALF * FINE_M  # from the fine ground's corner
    r, c = (middle - top) / setting.cell_m - 0.5, (middle - left) / setting.cell_m - 0.5
    r, c = np.meshgrid(r, c, indexing="ij")
    ground = ndimage.map_coordinates(cells, [r, c], order=1, mode="nearest").astype(np.float32)
    grid = Grid(LAT, LON, -half, half, step, n, n)
    return Ground(
        grid=grid, ground=ground, top=ground, cause=np.zeros(ground.shape, np.uint16), obstacles=(),
        vertical_datum="made up", vertical_error_m=2 * setting.noise_m or None,
        elevation_is="surface" if setting.surface else "ground", canopy_known=True, sources=(),
        elevation_cell_m=setting.cell_m, elevation_error_m=2 * setting.noise_m or None,
    )  # fmt: skip
