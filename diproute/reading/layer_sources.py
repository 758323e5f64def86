"""Where each layer came from: its file, digest, date and licence, as far as the file itself says.

A date is that of the content: an obstacle file's currency, a GeoTIFF's date tag, a GeoPackage's ``last_change``, a
date among the metadata. When the file was copied or touched says nothing and is never looked at.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from contextlib import closing
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from diproute.reading import door
from diproute.reading.ground import datum_of
from diproute.reading.kinds import is_raster
from diproute.reading.obstacle_file import currency
from diproute.reading.raster import Raster
from diproute.reading.vectors import Entry
from diproute.records import Incident, LayerSource

_DATES: Final = (
    "tifftag_datetime", "date", "datetime", "content_date", "currency", "last_change", "last_update", "modified",
    "timestamp", "date_published", "dbf_date_last_update",
)  # fmt: skip
_LICENCES: Final = ("licence", "license", "tifftag_copyright", "copyright", "rights")
_JSON: Final = (".geojson", ".json")
_MOST_JSON_BYTES: Final = 64_000_000  # a larger one is not read twice for its licence

Said = tuple[str | None, str | None]  # date, licence


def list_sources(incident: Incident, tiles: Sequence[Raster]) -> tuple[LayerSource, ...]:
    """List the files that the ground, the waters, the areas, the drops and the weather were read from.

    Parameters
    ----------
    incident
        Its layers, its drops (some lie along a line of a file) and its weather.
    tiles
        The elevation files that reach into the search.

    Returns
    -------
    tuple of LayerSource
        By role and name, whatever the order in the incident file.
    """
    layers, weather = incident.layers, incident.weather
    digests: dict[Path, str] = {}
    found = []

    def row(role: Any, entry: Entry, datum: str | None = None, error_m: float | None = None) -> LayerSource:
        path, layer = entry
        if path not in digests:
            digests[path] = digest_of(path)
        current, licence = said_by(path, layer, f"layers.{role}")
        return LayerSource(role, name_in(path, layers.folder), digests[path], layer, current, licence, datum, error_m)

    for tile in tiles:
        found.append(row("elevation", (tile.path, None), datum_of(tile), layers.elevation_error_m))
    if layers.canopy is not None:
        path, layer = layers.canopy
        for file in _files(path, layers.folder):
            found.append(row("canopy", (file, layer), error_m=layers.canopy_error_m))
    for role, entries in (("water", layers.water), ("obstacles", layers.obstacles), ("avoid", layers.avoid)):
        found += [row(role, entry) for entry in _sorted(entries)]
    found += [
        row("drop", (path, None)) for path in sorted({drop.along for drop in incident.drops if drop.along is not None})
    ]
    if weather.file is not None:
        found.append(row("weather", (weather.file, None)))
    return tuple(found)


def _files(path: Path, folder: Path | None) -> list[Path]:
    """Name the files that a canopy is read from: those of a mosaic, or itself."""
    if not is_raster(path, "layers.canopy"):
        return [path]
    return [tile.path for tile in door.tiles(path, folder, "layers.canopy")]


def _sorted(entries: Iterable[Entry]) -> list[Entry]:
    return sorted(set(entries), key=lambda entry: (str(entry[0]), entry[1] or ""))


def name_in(path: Path, folder: Path | None) -> str:
    """Name a file: from the folder where it lies inside it, else by its name alone, so that no place is given away."""
    if folder is not None:
        inside, within = path.resolve(), folder.resolve()
        if inside.is_relative_to(within):
            return inside.relative_to(within).as_posix()
    return path.name


def digest_of(path: Path) -> str:
    """SHA-256 of a file's bytes, hexadecimal; of a folder (a file geodatabase) of its files' names and bytes."""
    if path.is_dir():
        whole = hashlib.sha256()
        for part in sorted(part for part in path.rglob("*") if part.is_file()):
            whole.update(f"{part.relative_to(path).as_posix()}\0{digest_of(part)}\n".encode())
        return whole.hexdigest()
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def said_by(path: Path, layer: str | None, key: str = "layers") -> Said:
    """Date [ISO 8601] and licence that a file states of its content; None each where it does not."""
    suffix = path.suffix.lower()
    if suffix == ".dat":
        day = currency(path)
        return None if day is None else day.isoformat(), None
    if suffix in _JSON:
        return _among(_members(path))
    if suffix == ".csv":
        return None, None
    if suffix != ".gpkg":
        return _among(_tags(path, key) if is_raster(path, key) else _vector_metadata(path, layer, key))
    current, licence = _among(_vector_metadata(path, layer, key))
    return current or _last_change(path, layer), licence


def _among(metadata: Mapping[str, Any]) -> Said:
    found = {str(key).lower(): value for key, value in metadata.items()}
    dates = (_iso(found[key]) for key in _DATES if key in found)
    licences = (str(found[key]).strip() for key in _LICENCES if isinstance(found.get(key), str))
    return next((day for day in dates if day), None), next((text for text in licences if text), None)


def _iso(text: object) -> str | None:
    """Write a date or a time as ISO 8601; None when it is none. TIFF writes ``2026:08:14 12:00:00``."""
    said = str(text).strip()
    for read in (date.fromisoformat, datetime.fromisoformat, lambda t: datetime.strptime(t, "%Y:%m:%d %H:%M:%S")):
        try:
            return read(said).isoformat()
        except ValueError:
            continue
    return None


def _tags(path: Path, key: str) -> dict[str, Any]:
    with door.raster(path, key) as file:
        return dict(file.tags())


def _members(path: Path) -> dict[str, Any]:
    """Top-level members of a GeoJSON file, those of a ``metadata`` member among them."""
    if path.stat().st_size > _MOST_JSON_BYTES:
        return {}
    try:
        whole = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        return {}
    if not isinstance(whole, dict):
        return {}
    inner = whole.get("metadata")
    return {**(inner if isinstance(inner, dict) else {}), **whole}


def _vector_metadata(path: Path, layer: str | None, key: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    with door.vector(path, key) as file:
        for name in [layer] if layer is not None else file.layers():
            info = file.info(name)
            found |= {**(info["dataset_metadata"] or {}), **(info["layer_metadata"] or {})}
    return found


def _last_change(path: Path, layer: str | None) -> str | None:
    """Latest change of a GeoPackage's layer, or of any of them."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as file:
            rows = file.execute("select table_name, last_change from gpkg_contents").fetchall()
    except sqlite3.Error:
        return None
    days = [day for name, said in rows if layer in (None, name) and (day := _iso(said))]
    return max(days, default=None)
