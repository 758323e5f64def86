"""A store of 100 000 records against the same table in geopandas, in one run.

Run by hand: ``python tests/bench/sharing.py [COUNT]``. Each task runs in a process of its own, three times (``take``
once), the best counts. Bars: add ≤ 3.5 × geopandas' write of the table to a GeoPackage; 50 boxes ≥ 10 × faster than
its read by box; merge of two stores ≤ 1 × its read of both, concat and dedupe; each ≤ 0.5 GB. Records and tables are
made before the clock starts. "take" is what a stranger's store costs, of which every new record is looked at; it has
no bar.
"""

from __future__ import annotations

import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pyogrio

sys.path.insert(0, str(Path(__file__).parents[1] / "sharing"))
from said import NOW, record

from diproute.sharing.pack import take as take_in
from diproute.sharing.seal import Sealed, digest, read_record
from diproute.sharing.store import Store

BOXES = 50
LAYER = "records"


def made(count: int, seed: int) -> Iterator[Sealed]:
    """Make invented records with all that a plan computes of a site."""
    chance = random.Random(seed)
    told = json.loads(record("Pond", seen={"depth_dm": 25, "snags": "stumps, north end"}).body)
    told["properties"]["computed"] = {
        "made_with": "diproute 0.1.0", "bucket_hang_dm": 45, "level_low_dm": 7120, "level_high_dm": 7140,
        "vertical_datum": "EGM2008", "line_needed_dm": 120, "open_ddeg": [[300, 900], [1800, 2500]],
        "climb": {"courses_ddeg": list(range(0, 3600, 50)), "approach_dm": [30] * 72, "departure_dm": [45] * 72},
        "air": {"when": "2026-07-01T12:00:00Z", "temperature_dk": 3020, "density_altitude_dm": 23800},
        "hazards": [{"what": "mast", "distance_dm": 3240, "bearing_ddeg": 1800, "height_dm": 263}],
        "sources": [{"role": "elevation", "file": "elevation.tif", "sha256": "0" * 64, "date": "2023-06-01"}],
    }  # fmt: skip
    for i in range(count):
        told["geometry"]["coordinates"] = [round(chance.uniform(-120, -112), 6), round(chance.uniform(40, 45), 6)]
        told["properties"]["name"] = f"Pond {seed} {i}"
        told["properties"]["computed"]["climb"]["departure_dm"] = [chance.randint(0, 900) for _ in range(72)]
        yield read_record(json.dumps(told).encode())


def boxes() -> list[tuple[float, float, float, float]]:
    """Give boxes of a tenth of a degree."""
    chance = random.Random(7)
    corners = [(chance.uniform(-120, -112.1), chance.uniform(40, 44.9)) for _ in range(BOXES)]
    return [(w, s, w + 0.1, s + 0.1) for w, s in corners]


def table(path: Path) -> Any:
    """Give a store's content as geopandas would hold it."""
    return pyogrio.read_dataframe(path, layer=LAYER)


def add(folder: Path) -> Callable[[], object]:
    """Add records that were made before: the time of making them is taken off."""
    with Store(folder / "a.gpkg") as source:
        rows = [(one.id, one.body) for one in source.records()]
    store = Store(folder / "added.gpkg", make=True)
    spent = [0.0]

    def looked_at() -> Iterator[Sealed]:
        for id_, body in rows:
            start = time.perf_counter()
            one = Sealed(id_, body)
            assert one.record
            spent[0] += time.perf_counter() - start
            yield one

    def run() -> float:
        store.add(looked_at())
        return spent[0]

    return run


def gp_write(folder: Path) -> Callable[[], object]:
    """Write the table."""
    whole = table(folder / "a.gpkg")
    return lambda: whole.to_file(folder / "written.gpkg", layer=LAYER, driver="GPKG")


def box(folder: Path) -> Callable[[], object]:
    """Read the records in each box, checked."""
    store = Store(folder / "a.gpkg")
    return lambda: [len(list(store.box(one))) for one in boxes()] and None


def gp_box(folder: Path) -> Callable[[], object]:
    """Read the rows in each box."""
    return lambda: [len(pyogrio.read_dataframe(folder / "a.gpkg", layer=LAYER, bbox=one)) for one in boxes()] and None


def merge(folder: Path) -> Callable[[], object]:
    """Merge a store into another; half of its records are known there."""
    store = Store(folder / "into.gpkg", make=True)
    return lambda: store.merge(Store(folder / "b.gpkg")) and None


def take(folder: Path) -> Callable[[], object]:
    """Take a stranger's store, half of it known, and look at every new record."""
    store = Store(folder / "into.gpkg", make=True)
    return lambda: take_in(store, folder / "b.gpkg", NOW) and None


def gp_merge(folder: Path) -> Callable[[], object]:
    """Read both, put them together, leave out what stands twice, and write nothing."""
    import pandas as pd

    return lambda: (
        (
            pd.concat([table(folder / "a.gpkg"), table(folder / "b.gpkg")], ignore_index=True).drop_duplicates("id")
            is None
        )
        or None
    )


TASKS = {task.__name__: task for task in (add, gp_write, box, gp_box, merge, gp_merge, take)}


def prepare(folder: Path, count: int) -> None:
    """Write the two stores: the second has half of the first's records."""
    with Store(folder / "a.gpkg", make=True) as one:
        one.add(made(count, 1))
        with Store(folder / "b.gpkg", make=True) as other:
            other.add(made(count // 2, 1))
            other.add(made(count - count // 2, 2))


def one_task(name: str, folder: Path) -> None:
    """Run one task; print its time [s] and the most memory that the process had [GB]."""
    for left in (*folder.glob("added.gpkg*"), *folder.glob("written.gpkg*"), *folder.glob("into.gpkg*")):
        left.unlink()
    if name in ("merge", "take"):
        with Store(folder / "a.gpkg") as source:
            source.copy_to(folder / "into.gpkg")
    run = TASKS[name](folder)
    start = time.perf_counter()
    aside = run() or 0.0
    took = time.perf_counter() - start - float(aside)  # type: ignore[arg-type]
    print(json.dumps([took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6]))


def main() -> None:
    """Print the figures."""
    if sys.argv[1:2] == ["--task"]:
        one_task(sys.argv[2], Path(sys.argv[3]))
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    assert digest(b"")  # the package is the one that is meant
    best: dict[str, tuple[float, float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder), count)
        for name in (*[task for task in TASKS if task != "take"] * 3, "take"):
            ran = subprocess.run(
                [sys.executable, __file__, "--task", name, folder], capture_output=True, text=True, check=True
            )
            took, memory = json.loads(ran.stdout)
            best[name] = min(best.get(name, (took, memory)), (took, memory))
    for name, (took, memory) in best.items():
        print(f"{name:9} {took:7.2f} s {memory:5.2f} GB  {TASKS[name].__doc__}")
    print(f"add {best['add'][0] / best['gp_write'][0]:.1f} x geopandas (bar 3.5)")
    print(f"box {best['gp_box'][0] / best['box'][0]:.1f} x faster (bar 10)")
    print(f"merge {best['merge'][0] / best['gp_merge'][0]:.2f} x geopandas (bar 1)")
    print(f"{count} records; load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
