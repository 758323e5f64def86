"""Time the obstacle sweep, vectorised NumPy and GDAL's viewshed in one run: ``python tests/bench/obstacle_sweep.py``.

A rough canopy over mountains, 4000 x 4000 cells of 10 m; 72 directions to 2 km, every cell of every corridor. The
machine may be shared, so the ratios count. Exit code 1 when a bar of the project is missed.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import rasterio
from scipy.ndimage import zoom

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from diproute.records import Grid, Ground, Limits
from diproute.sites.clearance import prepare, survey, survey_arrays
from diproute.sites.rules import ClearanceRules
from diproute.threads import threads

N, CELL, REACH, DIRECTIONS = 4000, 10.0, 2000.0, 72
CORES = threads()


def rough_canopy() -> np.ndarray:
    """Mountains, hills and single trees up to 30 m, cell by cell."""
    rng = np.random.default_rng(1)
    top = np.zeros((N, N), np.float32)
    for size, height in ((500, 600), (160, 250), (50, 80), (16, 25)):
        coarse = rng.standard_normal((N // size + 3, N // size + 3)).astype(np.float32)
        top += height * zoom(coarse, size, order=1)[:N, :N]
    return top + rng.uniform(0, 30, (N, N)).astype(np.float32)


def numpy_plan(rules: ClearanceRules) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For a point in the middle of a cell: all corridors as flat offsets, their lines, where each starts."""
    strip = rules.departure
    n = int((REACH + 300) / CELL)
    east, south = np.meshgrid(np.arange(-n, n + 1) * CELL, np.arange(-n, n + 1) * CELL)
    offsets, lines, starts = [], [], [0]
    for a in np.radians(np.arange(DIRECTIONS) * 360.0 / DIRECTIONS):
        ux, uy = np.sin(a), -np.cos(a)
        along, across = east * ux + south * uy, south * ux - east * uy
        end = strip.half_width_m + strip.spread * REACH
        xs = [strip.half_width_m * abs(uy), end * abs(uy) + REACH * ux, REACH * ux - end * abs(uy)]
        ys = [strip.half_width_m * abs(ux), end * abs(ux) + REACH * uy, REACH * uy - end * abs(ux)]
        half, hair = CELL / 2 * (abs(ux) + abs(uy)), 1e-6
        sides = [CELL / 2 * (abs(-uy - s * strip.spread * ux) + abs(ux - s * strip.spread * uy)) for s in (1, -1)]
        touch = (along - half <= REACH + hair) & (along + half >= -hair)
        touch &= across - strip.spread * along - sides[0] <= strip.half_width_m + hair
        touch &= -across - strip.spread * along - sides[1] <= strip.half_width_m + hair
        touch &= (east - CELL / 2 <= max(*xs, -xs[0]) + hair) & (east + CELL / 2 >= min(*xs, -xs[0]) - hair)
        touch &= (south - CELL / 2 <= max(*ys, -ys[0]) + hair) & (south + CELL / 2 >= min(*ys, -ys[0]) - hair)
        r, c = np.nonzero(touch)
        offsets.append((r - n) * N + (c - n))
        lines.append(strip.slope * np.maximum(0.0, along[touch] - half))
        starts.append(starts[-1] + len(r))
    return np.concatenate(offsets), np.concatenate(lines).astype(np.float32), np.array(starts[:-1])


def numpy_sweep(top: np.ndarray, plan: tuple[np.ndarray, ...], at: np.ndarray, level: np.ndarray) -> np.ndarray:
    """Lift over the load margin in every direction, two threads, one gather a site."""
    offsets, lines, starts = plan
    flat = top.ravel()

    def one(i: int) -> np.ndarray:
        return np.maximum.reduceat(flat[at[i] + offsets] - lines, starts) - level[i]

    with ThreadPoolExecutor(CORES) as pool:
        return np.array(list(pool.map(one, range(len(at)))))


def viewshed_seconds(top: np.ndarray, sites: list[tuple[float, float]]) -> float:
    """Wall time a site of gdal_viewshed, as many at once as there are cores."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "top.tif"
        place = rasterio.transform.from_origin(500_000 - N * CELL / 2, N * CELL / 2 + 20_000, CELL, CELL)
        with rasterio.open(file, "w", driver="GTiff", width=N, height=N, count=1, dtype="float32", crs="EPSG:32633",
                           transform=place) as out:  # fmt: skip
            out.write(top, 1)

        def one(i: int) -> None:
            x, y = sites[i]
            subprocess.run(
                ["gdal_viewshed", "-q", "-md", str(REACH), "-ox", str(500_000 + x), "-oy", str(20_000 + y), "-oz", "5",
                 str(file), str(Path(folder) / f"{i}.tif")], check=True, capture_output=True,
            )  # fmt: skip

        one(0)  # the file is in memory from here on
        start = time.perf_counter()
        with ThreadPoolExecutor(CORES) as pool:
            list(pool.map(one, range(len(sites))))
        return (time.perf_counter() - start) / len(sites)


def best_of(repeats: int, work) -> float:  # type: ignore[no-untyped-def]
    """Shortest wall time of several runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> int:
    """Measure and print; 1 when a bar is missed."""
    top = rough_canopy()
    grid = Grid(0.0, 20.0, -(N + 1) * CELL / 2, N * CELL / 2, CELL, N, N)
    ground = Ground(grid, top, top, np.zeros(top.shape, np.uint16), (), "bench", None, "ground", True, ("bench",))
    rules = ClearanceRules.from_limits(Limits(corridor_length_m=REACH), 22.9, 10.7, 4.5)
    rng = np.random.default_rng(2)
    n = 20_000
    row, col = rng.integers(260, N - 260, (2, n))
    col[:400] = N // 2  # in the middle of the frame, x = 0, grid north is true north
    x, y = grid.xy(row, col)
    level = np.array([top[r - 1 : r + 2, c - 1 : c + 2].min() for r, c in zip(row, col, strict=True)], np.float64)

    start = time.perf_counter()
    heights = prepare(ground, rules)
    print(f"pyramid over {N * N / 1e6:.0f}M cells: {time.perf_counter() - start:.3f} s")
    start = time.perf_counter()
    survey(ground, x[:2], y[:2], level[:2], rules, heights=heights)
    print(f"first call, kernels compiled or loaded: {time.perf_counter() - start:.1f} s")
    ours = best_of(2, lambda: survey_arrays(ground, x, y, level, rules, DIRECTIONS, heights)) / n

    plan, m = numpy_plan(rules), 400
    at = (row * N + col)[:m]
    theirs = best_of(2, lambda: numpy_sweep(top, plan, at, level)) / m
    mine = survey_arrays(ground, x[:m], y[:m], level[:m], rules, DIRECTIONS, heights).lift_out_m
    same = np.maximum(numpy_sweep(top, plan, at, level) + rules.load_margin_m, rules.least_lift_m)
    agree = float(np.abs(mine - same).max())

    there = shutil.which("gdal_viewshed") is not None
    gdal = viewshed_seconds(top, list(zip(x[:16].tolist(), y[:16].tolist(), strict=True))) if there else float("nan")
    stage = best_of(3, lambda: survey(ground, x[:200], y[:200], level[:200], rules))  # pyramid and records and all
    copy = np.empty_like(top)
    bandwidth = 2 * top.nbytes / best_of(5, lambda: np.copyto(copy, top)) / 1e9

    print(
        f"diproute, line and lifts, {DIRECTIONS} directions to {REACH:.0f} m: {1 / ours:,.0f} sites/s on {CORES} cores"
    )
    print(
        f"NumPy, lifts alone, {len(plan[0]):,} cells a site: {1 / theirs:,.0f} sites/s; most they differ {agree:.4f} m"
    )
    print(f"ratio: {theirs / ours:,.1f} x NumPy")
    print(
        f"gdal_viewshed: {1 / gdal:,.1f} sites/s, {gdal / ours:,.0f} x"
        if there
        else "gdal_viewshed is not installed: not compared (Debian: gdal-bin)"
    )
    print(f"obstacles stage, 200 sites with their records: {stage:.3f} s")
    print(f"memory bandwidth, one thread copying: {bandwidth:.1f} GB/s")
    bars = {
        "5 000 sites/s": 1 / ours >= 5000,
        "3 x NumPy": theirs >= 3 * ours,
        **({"300 x gdal_viewshed": gdal >= 300 * ours} if there else {}),
        "200 sites under 0.5 s": stage < 0.5,
        "agreement with NumPy to 1 cm": agree < 0.01,
    }
    for bar, met in bars.items():
        print(f"{'met   ' if met else 'MISSED'}  {bar}")
    return 0 if all(bars.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
