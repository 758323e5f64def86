"""A small made-up incident written as files: 10 x 10 km of ground at 30 m, a fire on a low hill, water round it.

Everything is in the working frame, whose centre is the fire. A test changes what it is about and leaves the rest.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from layer_scene import FRAME, LAT, LON, write_raster, write_vector

FLOOR_M = 600.0  # of the plain, and of the water on it
Height = Callable[[np.ndarray, np.ndarray], Any]


@dataclass(frozen=True)
class Water:
    """A stretch of water with its attributes."""

    name: str
    shape: Any
    level: float = FLOOR_M
    kind: str = "lake"
    depth_m: float | None = 8.0
    salt: str = "no"


def disc(x: float, y: float, radius: float, squash: float = 1.0) -> Any:
    return shapely.affinity.scale(shapely.Point(x, y).buffer(radius, quad_segs=16), 1.0, squash)


LAKE = Water("Long Lake", disc(2400, 0, 450))
POND = Water("Ringed Pond", disc(-1500, -1000, 40), kind="pond", depth_m=3.0)
WIRE = {"name": "valley line", "kind": "power line", "height_m": 40.0, "line": [(1300, -4500), (1300, 4500)]}
VILLAGE = {"name": "Village", "because": "people live here", "hard": "yes", "area": shapely.box(200, -900, 1100, 900)}

INCIDENT: dict[str, Any] = {
    "title": "Small made-up incident",
    "display": "metric",
    "when": "2026-08-14T15:00-10:00",
    "invented": True,
    "layers.elevation": ["elevation.tif"],
    "layers.elevation_is": "ground",
    "layers.canopy": "canopy.tif",
    "layers.water": ["water.gpkg"],
    "drop": [{"name": "Head", "at": f"{LAT} N {-LON} W"}],
    "base.at": "{} N {} W",
    "base.refuel": "12 min",
    "weather.temperature": "30 degC",
    "weather.measured_at": "600 m",
    "weather.qnh": "1013 hPa",
    "weather.wind": "270 deg 8 kt",
    "helicopter.name": "demo-light",
    "helicopter.crew": "95 kg",
    "helicopter.fuel": "plan",
    "bucket.name": "demo-760",
    "bucket.fill": "plan",
    "lines.carried": ["0 m", "30 m", "45 m"],
    "lines.mass_per_metre": "0.6 kg/m",
    "lines.settle": "0.2 s/m",
    "search.radius": "3200 m",
    "search.keep": 6,
}


def place(x: float, y: float) -> str:
    """A position as an incident file takes it."""
    lon, lat = FRAME.to_lonlat(x, y)
    return f"{float(lat):.6f} N {-float(lon):.6f} W"


INCIDENT["base.at"] = place(-600, 2500)


def hill(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The plain with a hill of 150 m under the fire."""
    return FLOOR_M + 1.0 + 150.0 * np.exp(-(x**2 + y**2) / (2 * 700.0**2))


def ring(water: Water, height: float = 25.0, width: float = 150.0, gap: Any = None) -> Height:
    """Trees from the shore outwards, but for a gap."""
    belt = water.shape.buffer(width).difference(water.shape)
    belt = belt if gap is None else belt.difference(gap)

    def trees(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where(shapely.contains_xy(belt, x, y), height, 0.0)

    return trees


def write_layers(
    folder: Path,
    *,
    ground: Height = hill,
    trees: Height | None = None,
    waters: Sequence[Water] = (LAKE, POND),
    wires: Sequence[Mapping[str, Any]] = (),
    avoid: Sequence[Mapping[str, Any]] = (),
    surface: bool = False,
    cell: float = 30.0,
    half: float = 5100.0,
) -> dict[str, Any]:
    """Write the layers; give the keys of the incident that name them.

    A surface model has the trees in its elevation and no canopy layer.
    """
    n = round(2 * half / cell)
    middle = (np.arange(n) + 0.5) * cell - half
    x, y = np.meshgrid(middle, -middle)
    z = np.asarray(ground(x, y), dtype=float)
    for water in waters:  # a cell and a half out, so that interpolation at the shore keeps the level
        z[shapely.contains_xy(water.shape.buffer(1.5 * cell), x, y)] = water.level
    wood = np.zeros_like(z) if trees is None else np.asarray(trees(x, y), dtype=float)
    keys: dict[str, Any] = {}
    if surface:
        z = z + wood
        keys = {"layers.elevation_is": "surface", "layers.canopy": None}
    else:
        write_raster(folder / "canopy.tif", wood.astype(np.float32), -half, half, cell, unit="m")
    write_raster(folder / "elevation.tif", z.astype(np.float32), -half, half, cell, unit="m")
    write_vector(
        folder / "water.gpkg",
        [w.shape for w in waters],
        name=[w.name for w in waters],
        kind=[w.kind for w in waters],
        depth_m=[w.depth_m for w in waters],
        salt=[w.salt for w in waters],
    )
    if wires:
        write_vector(
            folder / "wires.geojson",
            [shapely.LineString(w["line"]) for w in wires],
            **{key: [w.get(key) for w in wires] for key in ("name", "kind", "height_m")},
        )
        keys["layers.obstacles"] = ["wires.geojson"]
    if avoid:
        write_vector(
            folder / "avoid.geojson",
            [a["area"] for a in avoid],
            **{key: [a.get(key) for a in avoid] for key in ("name", "because", "hard", "cost")},
        )
        keys["layers.avoid"] = ["avoid.geojson"]
    return keys


def write_incident(folder: Path, changes: Mapping[str, Any] | None = None, **layers: Any) -> Path:
    """Write a whole incident folder.

    `changes` are keys like ``"weather.temperature"``; None takes a key out, and ``"base": None`` a whole table.
    """
    folder.mkdir(parents=True, exist_ok=True)
    return write_toml(folder / "incident.toml", {**INCIDENT, **write_layers(folder, **layers), **(changes or {})})


def again(incident: Path, name: str, changes: Mapping[str, Any], **keys: Any) -> Path:
    """Write a second incident file beside the first, over the same layers."""
    return write_toml(incident.with_name(name), {**INCIDENT, **keys, **changes})


def write_toml(path: Path, keys: Mapping[str, Any]) -> Path:
    """Write flat keys as TOML, tables in the order in which they come."""
    gone = [key for key, value in keys.items() if value is None]
    tables: dict[str, dict[str, Any]] = {"": {}}
    for key, value in keys.items():
        if value is None or any(key.startswith(f"{table}.") for table in gone):
            continue
        table, _, name = key.rpartition(".")
        tables.setdefault(table, {})[name] = value
    many = {name: tables[""].pop(name) for name in [k for k, v in tables[""].items() if _is_tables(v)]}
    lines = [f"{name} = {_value(value)}" for name, value in tables.pop("").items()]
    for name, entries in many.items():
        for entry in entries:
            lines += [f"\n[[{name}]]", *(f"{key} = {_value(value)}" for key, value in entry.items())]
    for table, entry in tables.items():
        lines += [f"\n[{table}]", *(f"{key} = {_value(value)}" for key, value in entry.items())]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return json.dumps(value)
