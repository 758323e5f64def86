"""A whole plan over forty kilometres: wall time, CPU, peak memory and where they go.

Run with ``python tests/bench/whole_plan.py [--keep 40] [--side-km 40] [--waters 400] [--cold]``, or with
``--grow sites`` (``waters``, ``radius``, ``hours``) for the same plan against its growth. The incident is invented and
the same on every run: hills of 10 m cells, woods, lakes, towers, wires, climb limits, a base, a forecast of twelve
hours. Bars (two idle cores, warm): 10 s and 1.2 GB for 200 kept sites, 6 s for 40; 60 s and 3 GB for 20 000 waters
within 60 km.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).parents[2]
LAT, LON = 45.0, -120.0
EPSG = 32611  # UTM zone 11 north; the middle of the grid is put where it is true
# the stages whose time is shown, by module and function; those inside each other are indented by hand
STAGES = (
    ("planning/prepared.py", "prepare_ground"), ("planning/travel_fields.py", "solve_fields"),
    ("planning/shortlist.py", "shortlist"), ("planning/assessment.py", "fly_sites"),
    ("planning/assessment.py", "fly_kept"), ("planning/scenario_flights.py", "fly_scenarios"),
    ("planning/hours.py", "day_of"), ("planning/sensitivity.py", "work_cases"), ("planning/plan.py", "make_plan"),
    ("document/compose.py", "compose"), ("writing/folder.py", "write_folder"),
)  # fmt: skip


def hills(rng: np.random.Generator, side: int) -> np.ndarray:
    """Smooth hills of several sizes, heights of 300 to 1300 m."""
    from scipy.ndimage import gaussian_filter, zoom

    small = side // 16 + 1
    field = sum(gaussian_filter(rng.standard_normal((small, small)), s) * s for s in (3, 8, 25))
    field = zoom(field, side / small, order=1)[:side, :side]
    return (300.0 + 1000.0 * (field - field.min()) / np.ptp(field)).astype(np.float32)


@dataclass(frozen=True)
class Size:
    """How large the incident is."""

    keep: int = 200
    waters: int = 400
    side_km: float = 40.0
    cell_m: float = 10.0
    hours: int = 12

    @property
    def radius_km(self) -> float:
        """Of the search."""
        return 0.45 * self.side_km


_WIDE = {"side_km": 134.0, "cell_m": 20.0}
GROWTH: dict[str, list[dict[str, Any]]] = {
    "sites": [{"keep": keep} for keep in (5, 40, 200, 400)],
    "waters": [*({"keep": 40, "waters": n} for n in (100, 400, 1600)), {"keep": 40, "waters": 20_000, **_WIDE}],
    "radius": [{"keep": 40, "side_km": side, "cell_m": 20.0} for side in (20.0, 40.0, 80.0, 134.0)],
    "hours": [{"keep": 40, "hours": n} for n in (1, 6, 12)],
}


def write_incident(folder: Path, size: Size) -> Path:
    """Write the layers and the incident file; its path."""
    import geopandas as gpd
    import rasterio
    import shapely
    from pyproj import Transformer
    from scipy.ndimage import gaussian_filter, zoom

    rng, cell_m = np.random.default_rng(40), size.cell_m
    side = int(size.side_km * 1000 / cell_m)
    to_lonlat = Transformer.from_crs(EPSG, 4326, always_xy=True)
    east0, north0 = Transformer.from_crs(4326, EPSG, always_xy=True).transform(LON, LAT)
    left, top = round(east0) - side * cell_m / 2, round(north0) + side * cell_m / 2
    ground = hills(rng, side)
    lakes = []
    while len(lakes) < size.waters:
        x, y = rng.uniform(1500, side * cell_m - 1500, 2)
        angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        radius = rng.uniform(60, 300) * (1 + 0.25 * np.sin(2 * angle + rng.uniform(0, 6)))
        lakes.append(
            shapely.Polygon(np.column_stack([left + x + radius * np.sin(angle), top - y - radius * np.cos(angle)]))
        )
        row, col, reach = int(y / cell_m), int(x / cell_m), int(radius.max() / cell_m) + 4
        window = ground[max(0, row - reach) : row + reach, max(0, col - reach) : col + reach]
        window[:] = np.maximum(window, ground[row, col])
        rows, cols = np.indices(window.shape)
        rows, cols = rows + max(0, row - reach), cols + max(0, col - reach)
        inside = shapely.contains_xy(lakes[-1], left + (cols + 0.5) * cell_m, top - (rows + 0.5) * cell_m)
        window[inside] = ground[row, col]
    woods = zoom(gaussian_filter(rng.standard_normal((side // 8 + 1,) * 2), 6), side / (side // 8 + 1), order=1)
    trees = np.where(woods[:side, :side] > np.quantile(woods, 0.6), 22.0, 0.0).astype(np.float32)
    profile: dict[str, Any] = {
        "driver": "GTiff", "width": side, "height": side, "count": 1, "dtype": "float32", "crs": EPSG,
        "transform": rasterio.transform.from_origin(left, top, cell_m, cell_m), "compress": "deflate", "tiled": True,
    }  # fmt: skip
    for name, data in (("elevation.tif", ground), ("canopy.tif", trees)):
        with rasterio.open(folder / name, "w", **profile) as raster:
            raster.write(data, 1)
    names = [f"Lake {i}" for i in range(len(lakes))]
    gpd.GeoDataFrame({"name": names, "natural": "water"}, geometry=lakes, crs=EPSG).to_file(
        folder / "water.gpkg", driver="GPKG"
    )
    features: list[dict[str, Any]] = []
    places = rng.uniform(1000, side * cell_m - 1000, (200, 2))
    for i, (x, y) in enumerate(places):
        place = to_lonlat.transform(left + x, top - y)
        features.append(_feature({"man_made": "tower", "name": f"Tower {i}", "height": "45"}, "Point", list(place)))
    for i in range(20):
        begin, bearing = rng.uniform(0.1, 0.9, 2) * side * cell_m, rng.uniform(0, 2 * np.pi)
        steps = np.arange(0, 8000, 400.0)
        x = left + np.clip(begin[0] + steps * np.sin(bearing), 500, side * cell_m - 500)
        y = top - np.clip(begin[1] + steps * np.cos(bearing), 500, side * cell_m - 500)
        line = np.column_stack(to_lonlat.transform(x, y)).tolist()
        features.append(_feature({"power": "line", "name": f"Line {i}", "height": "28"}, "LineString", line))
    (folder / "obstacles.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    hours = ["time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt"]
    hours += [
        f"2026-08-14T{h:02d}:00-08:00,{14 + h / 1.2:.1f},1014,{200 + 5 * h},{4 + h // 2}"
        for h in range(15 - size.hours // 2, 15 + (size.hours + 1) // 2)
    ]
    (folder / "forecast.csv").write_text("\n".join(hours) + "\n")
    (folder / "incident.toml").write_text(f'''
title = "Forty kilometres, invented"
when = "2026-08-14T15:00-08:00"
invented = true
[layers]
elevation = ["elevation.tif"]
elevation_is = "ground"
canopy = "canopy.tif"
water = ["water.gpkg"]
obstacles = ["obstacles.geojson"]
[[drop]]
name = "Head"
at = "{LAT:.5f} N {-LON:.5f} W"
[base]
at = "{LAT + 0.03:.5f} N {-LON - 0.06:.5f} W"
[weather]
hourly = "forecast.csv"
measured_at = "600 m"
[helicopter]
name = "demo-light"
crew = "95 kg"
fuel = "plan"
[bucket]
name = "demo-760"
fill = "plan"
[lines]
carried = ["0 m", "30 m", "45 m"]
[search]
radius = "{size.radius_km:g} km"
keep = {size.keep}
''')
    return folder / "incident.toml"


def _feature(properties: dict[str, str], kind: str, coordinates: list[Any]) -> dict[str, Any]:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


RUN = """
import atexit, resource, sys, time
from functools import wraps
from importlib import import_module
stages, out = {}, sys.argv.pop()
def watch(module, name):
    home = import_module(module)
    plain = getattr(home, name)
    @wraps(plain)
    def timed(*args, **kwargs):
        start, cpu = time.perf_counter(), time.process_time()
        try:
            return plain(*args, **kwargs)
        finally:
            was, peak = stages.get(name, (0, 0.0, 0.0)), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
            took = time.perf_counter() - start, time.process_time() - cpu
            stages[name] = was[0] + 1, was[1] + took[0], was[2] + took[1], peak
    for other in list(sys.modules.values()):
        if getattr(other, "__name__", "").startswith("diproute") and vars(other).get(name) is plain:
            setattr(other, name, timed)
import diproute.cli.plan, json
for module, name in json.loads(sys.argv.pop()):
    watch(module, name)
atexit.register(lambda: open(out, "w").write(json.dumps(stages)))
from diproute.cli import main
main(sys.argv[1:])
"""


def timed(incident: Path, out: Path, cache: Path) -> None:
    """Plan in a process of its own and print what it took."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "NUMBA_CACHE_DIR": str(cache)}
    modules = [(f"diproute.{module[:-3].replace('/', '.')}", name) for module, name in STAGES]
    start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    arguments = ["plan", str(incident), "--out", str(out), json.dumps(modules), str(out.parent / "stages.json")]
    done = subprocess.run([sys.executable, "-c", RUN, *arguments], env=environment, capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(done.stderr[-2000:])
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    plan = json.loads((out / "plan.json").read_text())
    sizes = " and ".join(f"{(out / name).stat().st_size / 1e6:.1f} MB" for name in ("plan.json", "map.html"))
    sites = sum(site["rank"] is not None for site in plan["sites"])
    peak = after.ru_maxrss / 1e6
    print(f"{wall:.1f} s, CPU {cpu:.1f} s, peak {peak:.2f} GB; {sites} ranked of {len(plan['sites'])} sites; {sizes}")
    for name, (count, stage, stage_cpu, high) in json.loads((out.parent / "stages.json").read_text()).items():
        print(f"   {name:16s} {count:4d} times {stage:7.2f} s, CPU {stage_cpu:7.2f} s, peak by its end {high:5.2f} GB")


def main() -> None:
    """Write the incident and plan it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--keep", type=int, default=200)
    parser.add_argument("--side-km", type=float, default=40.0)
    parser.add_argument("--waters", type=int, default=400)
    parser.add_argument("--cold", action="store_true", help="the first run too, with nothing compiled")
    parser.add_argument("--grow", choices=sorted(GROWTH), help="the same plan against the growth of one thing")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        cache = folder / "cache" if asked.cold else Path(tempfile.gettempdir()) / "diproute-bench-cache"
        if asked.grow is not None:
            for i, grown in enumerate(GROWTH[asked.grow]):
                place = folder / str(i)
                place.mkdir()
                incident = write_incident(place, Size(**grown))
                print(f"{grown}: ", end="", flush=True)
                timed(incident, place / "out", cache)
            return
        incident = write_incident(folder, Size(keep=asked.keep, waters=asked.waters, side_km=asked.side_km))
        for name in ("cold", "warm") if asked.cold else ("warm",):
            print(f"{name}: ", end="", flush=True)
            timed(incident, folder / "out", cache)


if __name__ == "__main__":
    main()
