"""Lay many random rasters against shapely, and time it beside GDAL's warp: ``python tests/bench/footprint.py``.

``--cases N``: random reference systems, rotations, shears and ratios from 1:10 to 10:1, each with single high, low and
unknown cells, compared with the footprints of every source cell. ``--seed`` draws others. ``--no-speed`` leaves out
the timing: 16M working cells, highest and lowest, against GDAL's ``max`` and ``min`` together, in the same run and on
the same number of threads. Exit code 1 when something is lost or the bar of 1.2 is missed.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
from affine import Affine
from pyproj import CRS

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from footprint_scene import SYSTEMS, chain, judge, random_case

from diproute.physics.geodesy import LocalFrame
from diproute.reading.footprint import Source, lay
from diproute.records import Grid
from diproute.threads import threads

N, CELL, BAR = 4000, 10.0, 1.2
LAT, LON = 46.0, 11.0


def many(cases: int, seed: int) -> bool:
    """Count what is lost over random cases; say so as it goes."""
    rng = np.random.default_rng(seed)
    spikes = lost = more = raised = cells = 0
    names = sorted(SYSTEMS)
    start = time.perf_counter()
    for n in range(cases):
        verdict = judge(random_case(rng, names[n % len(names)]), rng, spikes=18)
        spikes, lost, more = spikes + verdict.spikes, lost + verdict.lost, more + verdict.more
        raised, cells = raised + verdict.raised, cells + verdict.cells
        if verdict.lost or verdict.more:
            print(f"case {n}, {names[n % len(names)]}: {verdict}")
    seconds = time.perf_counter() - start
    print(f"{cases} rasters in {len(names)} systems, {spikes} single high, low and unknown cells, {seconds:.0f} s")
    print(
        f"lost: {lost}; more than comes within 0.02 cells: {more}; raised by the pad: {raised / cells:.2%} of {cells}"
    )
    return lost == 0 and more == 0


def warp_seconds(data: np.ndarray, transform: Affine, crs: CRS, frame: LocalFrame, grid: Grid) -> float:
    """GDAL's warp, `max` and `min` one after the other."""
    from rasterio.warp import Resampling, reproject

    into = Affine(grid.cell_m, 0, grid.left_m, 0, -grid.cell_m, grid.top_m)
    start = time.perf_counter()
    for how in (Resampling.max, Resampling.min):
        out = np.full(grid.shape, np.nan, np.float32)
        reproject(
            data, out, src_transform=transform, src_crs=crs.to_wkt(), dst_transform=into, dst_crs=frame.crs.to_wkt(),
            src_nodata=np.nan, dst_nodata=np.nan, resampling=how, num_threads=threads(),
        )  # fmt: skip
    return time.perf_counter() - start


def speed() -> bool:
    """Time ours and GDAL's in turns, three times each, the shortest counts."""
    frame, half = LocalFrame(LAT, LON), N * CELL / 2
    grid = Grid(LAT, LON, -half, half, CELL, N, N)
    utm, degrees = CRS.from_epsg(32632), CRS.from_epsg(4326)
    x, y = 654_800.0, 5_096_000.0  # the frame's centre in UTM 32, roughly
    rng = np.random.default_rng(0)
    step = 1 / 10_800  # third of an arc second
    cases = {
        "degrees, 7 x 10 m": (degrees, Affine(step, 0, LON - 3500 * step, 0, -step, LAT + 2500 * step), 5000, 7000)
    }
    for name, side, turn in (("UTM, 10 m", 10.0, 0.0), ("UTM, 10 m at 30 deg", 10.0, 30.0),
                             ("UTM, 10 m at 45 deg", 10.0, 45.0), ("UTM, 30 m at 30 deg", 30.0, 30.0),
                             ("UTM, 5 m at 30 deg", 5.0, 30.0)):  # fmt: skip
        n = int(6000 * 10 / side) if side >= 10 else 9000
        placed = chain(Affine(1, 0, x, 0, -1, y), Affine.rotation(turn), Affine.scale(side))
        cases[name] = utm, chain(placed, Affine.translation(-n / 2, -n / 2)), n, n
    met = True
    for name, (crs, transform, rows, cols) in cases.items():
        data = rng.random((rows, cols), dtype=np.float32) * 1000
        source = Source(lambda r, c, data=data: data[r, c], rows, cols, transform, crs)
        lay(source, frame, Grid(LAT, LON, 0.0, 0.0, CELL, 64, 64))  # compiled
        ours, theirs = [], []
        for _ in range(3):
            start = time.perf_counter()
            lay(source, frame, grid)
            ours.append(time.perf_counter() - start)
            theirs.append(warp_seconds(data, transform, crs, frame, grid))
        ratio = min(ours) / min(theirs)
        met &= ratio <= BAR
        start = time.perf_counter()
        lay(source, frame, grid, best=True)
        best = time.perf_counter() - start
        print(
            f"{name}: {min(ours):.2f} s, GDAL {min(theirs):.2f} s, ratio {ratio:.2f}; with the likeliest {best:.2f} s"
        )
    print(f"{'met   ' if met else 'MISSED'}  {BAR} x GDAL on {threads()} threads, {N * N / 1e6:.0f}M cells")
    return met


def main() -> int:
    """Run what was asked; 1 when a bar is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--no-speed", action="store_true")
    asked = parser.parse_args()
    good = many(asked.cases, asked.seed)
    return 0 if (asked.no_speed or speed()) and good else 1


if __name__ == "__main__":
    sys.exit(main())
