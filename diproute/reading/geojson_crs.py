"""The ``crs`` member of a GeoJSON file, read before GDAL sees the file, which would follow a link in it.

RFC 7946 has no such member and means WGS 84; older files name another system by it.
"""

from __future__ import annotations

import json
import mmap
import re
from pathlib import Path
from typing import Any, Final

from diproute.reading.refusals import refused

_LIKELY: Final = re.compile(
    rb'(?i)"crs"|\\u00[4-7][32]'
)  # a key's letters may be escaped: 63, 72, 73, and the capitals
_TOKEN: Final = re.compile(rb'"(?:[^"\\]|\\.)*"|[{}\[\]]', re.DOTALL)
_COLON: Final = re.compile(rb"\s*:\s*")
_LONGEST: Final = 20_000  # bytes of a member that is read
_LONGEST_KEY: Final = 40  # bytes of "crs" with every letter escaped
_NAMED: Final = re.compile(
    r"(?:urn:(?:x-)?ogc:def:crs:)?(EPSG|OGC|IGNF|ESRI):(?:[\d.]*:)?([A-Za-z0-9]+)\Z"
    r"|http://www\.opengis\.net/def/crs/(EPSG|OGC)/[\d.]+/([A-Za-z0-9]+)\Z",
    re.IGNORECASE,
)


def crs_of(path: Path, key: str, *, sequence: bool) -> Any:
    """Give the reference system of a GeoJSON file.

    Parameters
    ----------
    path
        The file.
    key
        The incident file's key, for messages.
    sequence
        A file of one feature a line, in which no feature may name a system.

    Returns
    -------
    pyproj.CRS
        WGS 84, longitude first, without a ``crs``; else the one that it names.

    Raises
    ------
    LayerError
        Two of them, a link, a name that cannot be read, a system that PROJ does not know.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    said = _members(path)
    if not said:
        return CRS("OGC:CRS84")
    if sequence:
        raise refused(key, path.name, "is a GeoJSON sequence with a crs; save it as GeoJSON or GeoPackage")
    if len(said) > 1:
        raise refused(key, path.name, "is GeoJSON with two crs; keep one")
    try:
        value, _ = json.JSONDecoder().raw_decode(said[0].decode("utf-8", "replace"))
    except (ValueError, RecursionError):
        raise refused(key, path.name, "is GeoJSON whose crs cannot be read; name it like EPSG:32611") from None
    found = _NAMED.match(_name(value))
    if found is None:
        shown = json.dumps(value)[:80]
        raise refused(
            key, path.name, f"is GeoJSON whose crs is {shown}; name it like EPSG:32611, for a link is never followed"
        )
    code = f"{found[1] or found[3]}:{found[2] or found[4]}".upper()
    try:
        return CRS(code)
    except CRSError:
        raise refused(key, path.name, f"is GeoJSON in {code}, which PROJ does not know; name another") from None


def _members(path: Path) -> list[bytes]:
    """List what stands after each ``crs`` of an outermost object; GDAL takes the key in capitals too."""
    said: list[bytes] = []
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        last = max((match.end() for match in _LIKELY.finditer(data)), default=0)
        depth = 0
        for match in _TOKEN.finditer(data, 0, min(last + _LONGEST_KEY, len(data))):
            token = match[0]
            if token in (b"{", b"["):
                depth += 1
            elif token in (b"}", b"]"):
                depth -= 1
            elif depth == 1 and _is_crs(token) and (colon := _COLON.match(data, match.end())):
                said.append(bytes(data[colon.end() : colon.end() + _LONGEST]))
    return said


def _is_crs(token: bytes) -> bool:
    try:
        return len(token) <= _LONGEST_KEY and str(json.loads(token)).lower() == "crs"
    except ValueError:
        return False


def _name(value: Any) -> str:
    """Name in ``{"type": "name", "properties": {"name": …}}``; empty when it is built otherwise."""
    inner = value.get("properties") if isinstance(value, dict) and value.get("type") == "name" else None
    name = inner.get("name") if isinstance(inner, dict) else None
    return name if isinstance(name, str) else ""
