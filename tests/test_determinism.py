"""The same input gives the same bytes, whatever the order of its parts; and nothing touches a network."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import geopandas
import numpy as np
import pytest
import rasterio
from layer_scene import write_raster
from small_incident import POND, VILLAGE, WIRE, again, ring, write_incident

from diproute import draw_map
from diproute.document import read_plan

ROOT = Path(__file__).parent.parent
PLAN = """
import sys
seen = []
asks = {"socket.connect", "socket.sendto", "socket.sendmsg", "socket.getaddrinfo", "socket.gethostbyname",
        "urllib.Request", "http.client.connect"}
sys.addaudithook(lambda event, _: seen.append(event) if event in asks else None)
from diproute import read_incident, make_plan
from diproute.writing.folder import write_folder
from pathlib import Path
write_folder(make_plan(read_incident(sys.argv[1])).document, Path(sys.argv[2]))
print(*sorted(set(seen)))
"""


def in_a_process(incident, out, *before, **env):
    """Plan and draw in a process of its own; give the files, and the network events that Python saw."""
    ran = subprocess.run(
        [*before, sys.executable, "-c", PLAN, str(incident), str(out)],
        capture_output=True, text=True, check=True, cwd=ROOT, env={**os.environ, **env},
    )  # fmt: skip
    return {path.name: path.read_bytes() for path in sorted(out.iterdir())}, ran.stdout.split()


@pytest.fixture(scope="module")
def incident(tmp_path_factory):
    return write_incident(
        tmp_path_factory.mktemp("same"), {"search.keep": 3}, trees=ring(POND, 40.0), wires=[WIRE], avoid=[VILLAGE]
    )


@pytest.fixture(scope="module")
def first(incident, tmp_path_factory):
    return in_a_process(incident, tmp_path_factory.mktemp("first"), PYTHONHASHSEED="1")


def test_same_bytes_in_another_process_with_another_hash_seed(incident, first, tmp_path):
    files, _ = in_a_process(incident, tmp_path, PYTHONHASHSEED="2", NUMBA_NUM_THREADS="1", TZ="Asia/Tokyo", LANG="C")
    assert {"plan.json", "map.html"} <= set(files)
    for name, data in first[0].items():
        assert files[name] == data, name


def test_the_map_of_the_plan_file_is_that_of_the_plan(first, tmp_path):
    (tmp_path / "plan.json").write_bytes(first[0]["plan.json"])
    draw_map(read_plan(tmp_path / "plan.json"), tmp_path / "map.html")
    assert (tmp_path / "map.html").read_bytes() == first[0]["map.html"]


def test_nothing_touches_the_network(first):
    assert first[1] == []


def test_works_with_no_network_at_all(incident, first, tmp_path):
    """In a network namespace of its own, where the system allows one: not even the loopback is up."""
    alone = ("unshare", "--map-root-user", "--net")
    if not shutil.which("unshare") or subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this system gives no network namespace")
    assert in_a_process(incident, tmp_path, *alone)[0] == first[0]


def plan_bytes(incident, out):
    return in_a_process(incident, out)[0]["plan.json"]


def cut_in_four(folder):
    """The elevation as four tiles that overlap by two cells."""
    with rasterio.open(folder / "elevation.tif") as file:
        whole, left, top, cell, wkt = file.read(1), file.bounds.left, file.bounds.top, file.res[0], file.crs.to_wkt()
    n = whole.shape[0] // 2
    names = []
    for r, c in np.ndindex(2, 2):
        rows, cols = (slice(max(0, i * n - 2), (i + 1) * n + 2) for i in (r, c))
        name = f"tile{r}{c}.tif"
        write_raster(folder / name, whole[rows, cols], left + cols.start * cell, top - rows.start * cell, cell,
                     crs=wkt, unit="m")  # fmt: skip
        names.append(name)
    return names


def cut_in_two(path):
    """A vector file as two, its features in turn; gives the names."""
    table = geopandas.read_file(path)
    names = []
    for i in (0, 1):
        name = f"{path.stem}{i}{path.suffix}"
        table.iloc[i::2].to_file(path.with_name(name))
        names.append(name)
    return names


def test_order_of_tiles_and_layers_changes_nothing(incident, tmp_path):
    folder = Path(shutil.copytree(incident.parent, tmp_path / "cut"))
    keys = {
        "layers.elevation": cut_in_four(folder), "layers.water": cut_in_two(folder / "water.gpkg"), "search.keep": 3,
        "layers.obstacles": ["wires.geojson", "towers.geojson"],
    }  # fmt: skip
    tower = geopandas.read_file(folder / "wires.geojson").set_geometry(
        geopandas.GeoSeries.from_wkt(["POINT (-160.08 42.12)"], crs="EPSG:4326")
    )
    tower.assign(name="mast", kind="mast").to_file(folder / "towers.geojson")
    there = again(folder / "incident.toml", "there.toml", keys)
    turned = {key: value[::-1] if isinstance(value, list) else value for key, value in keys.items()}
    back = again(folder / "incident.toml", "back.toml", turned)
    assert plan_bytes(there, tmp_path / "there") == plan_bytes(back, tmp_path / "back")


def test_tiles_give_the_plan_of_the_whole(incident, first, tmp_path):
    folder = Path(shutil.copytree(incident.parent, tmp_path / "cut"))
    keys = {"search.keep": 3, "layers.obstacles": ["wires.geojson"], "layers.avoid": ["avoid.geojson"]}
    tiles = again(folder / "incident.toml", "tiles.toml", {**keys, "layers.elevation": cut_in_four(folder)})
    whole, cut = json.loads(first[0]["plan.json"]), json.loads(plan_bytes(tiles, tmp_path / "out"))
    assert cut["sites"] == whole["sites"]
