"""The parts of a shapefile that GDAL does without and we do not: without its table every lake is fresh and deep."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Final

from diproute.reading.refusals import refused

_SHX_HEAD: Final = 100  # bytes before the index's records
_SHX_RECORD: Final = 8
_DBF_HEAD: Final = 32  # bytes that tell the records' number, where they begin and how long each is


def check_parts(path: Path, name: str, key: str) -> None:
    """Refuse a shapefile whose index or table is missing, cut short, or of another number of features.

    Parameters
    ----------
    path
        The ``.shp``.
    name, key
        The file and the incident file's key, for messages.
    """
    index, table = _part(path, ".shx", name, key), _part(path, ".dbf", name, key)
    shapes = max(index.stat().st_size - _SHX_HEAD, 0) // _SHX_RECORD
    with table.open("rb") as file:
        head = file.read(_DBF_HEAD)
    if len(head) < _DBF_HEAD:
        raise refused(key, name, f"has a damaged table, {table.name}; get the whole shapefile anew")
    rows, begin, length = struct.unpack_from("<IHH", head, 4)
    if rows != shapes or table.stat().st_size < begin + rows * length:
        raise refused(
            key, name, f"has {shapes} shapes and a table, {table.name}, of {rows} rows or cut short; get all of it anew"
        )


def has_index(path: Path) -> bool:
    """Tell whether a spatial index lies beside it: one that was not kept up hides features."""
    return any(path.with_suffix(ending).exists() for ending in (".qix", ".sbn", ".QIX", ".SBN"))


def _part(path: Path, ending: str, name: str, key: str) -> Path:
    found = next((part for part in (path.with_suffix(ending), path.with_suffix(ending.upper())) if part.exists()), None)
    if found is None:
        raise refused(key, name, f"lacks its {ending} beside it; copy all parts of the shapefile")
    return found
