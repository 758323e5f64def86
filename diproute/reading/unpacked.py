"""A zip with one vector file in it, unpacked within bounds before anything reads it."""

from __future__ import annotations

import os
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from diproute.errors import LayerError
from diproute.reading.refusals import refused

MOST_BYTES: Final = 2_000_000_000
MOST_FILES: Final = 5000
_PART: Final = 1 << 20
_LAYERS: Final = frozenset({".shp", ".gpkg", ".geojson", ".json", ".fgb", ".kml", ".gdb", ".osm", ".pbf"})


@contextmanager
def unzipped(path: Path, key: str) -> Iterator[Path]:
    """Unpack a zip with one vector file in it, into a folder that goes away again.

    Parameters
    ----------
    path
        The zip.
    key
        The incident file's key, for messages.

    Yields
    ------
    Path
        The vector file.

    Raises
    ------
    LayerError
        A zip that is broken, locked, too large, that leads out of its folder, or that holds no layer or several.
    """
    with tempfile.TemporaryDirectory(prefix="diproute-") as made:
        folder = Path(made).resolve()
        try:
            with zipfile.ZipFile(path) as packed:
                _unpack(packed, folder, path.name, key)
        except LayerError:
            raise
        except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, ValueError, RuntimeError) as error:
            raise refused(key, path.name, f"is a broken zip ({error}); get it anew") from error
        found = [file for file in sorted(folder.rglob("*")) if _is_layer(file.relative_to(folder))]
        if len(found) != 1:
            names = ", ".join(file.name for file in found[:5]) or "none"
            raise refused(key, path.name, f"is a zip with {len(found)} layers ({names}); unpack it and name one")
        yield found[0]


def _unpack(packed: zipfile.ZipFile, folder: Path, name: str, key: str) -> None:
    parts = [part for part in packed.infolist() if not part.is_dir()]
    size = sum(part.file_size for part in parts)
    if len(parts) > MOST_FILES or size > MOST_BYTES:
        raise refused(
            key, name, f"is a zip of {len(parts)} files and {size / 1e9:.1f} GB, at most {MOST_FILES} and "
            f"{MOST_BYTES / 1e9:g} GB are unpacked; unpack it yourself and name the layer",
        )  # fmt: skip
    left = MOST_BYTES
    for part in parts:
        if part.flag_bits & 1:
            raise refused(key, name, "is a zip with a password; unpack it yourself")
        to = Path(os.path.normpath(folder / part.filename))
        if not to.is_relative_to(folder) or stat.S_ISLNK(part.external_attr >> 16):
            raise refused(key, name, f"is a zip whose {part.filename[:80]!r} leads out of it; it is not unpacked")
        to.parent.mkdir(parents=True, exist_ok=True)
        with packed.open(part) as source, to.open("wb") as sink:
            while data := source.read(_PART):
                left -= len(data)
                if left < 0:
                    raise refused(key, name, "is a zip that holds more than it says; it is not unpacked")
                sink.write(data)


def _is_layer(file: Path) -> bool:
    inside = any(part.suffix.lower() == ".gdb" for part in file.parents) or "__MACOSX" in file.parts
    return file.suffix.lower() in _LAYERS and not inside
