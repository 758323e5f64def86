"""What the doors for files refuse in the same words, and the one catch for whatever a library raises over a file."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Literal

from diproute.errors import DiprouteError, LayerError
from diproute.reading.drivers import armed

Wanted = Literal["raster", "vector"]
WANTED: Final[dict[Wanted, str]] = {
    "raster": "a raster of heights, such as a GeoTIFF",
    "vector": "shapes, such as a GeoPackage or GeoJSON with polygons, lines or points",
}
_CAME: Final[dict[Wanted, str]] = {"raster": "a raster (cells)", "vector": "a vector file (shapes)"}


def no_crs(name: str, key: str) -> LayerError:
    """Refuse a file that does not say where it lies."""
    return LayerError(f"{key}: {name} names no coordinate reference system; write it into the file", where=key)


def refused(key: str, name: str, why: str) -> LayerError:
    """Refuse a file: ``why`` goes on after its name."""
    return LayerError(f"{key}: {name} {why}", where=key, got=name)


def other_kind(wanted: Wanted, name: str, key: str) -> LayerError:
    """Refuse a raster where shapes are wanted, or shapes where a raster is."""
    other: Wanted = "vector" if wanted == "raster" else "raster"
    return refused(key, name, f"is {_CAME[other]}; give {WANTED[wanted]}")


def no_kind(wanted: Wanted, name: str, key: str) -> LayerError:
    """Refuse a file that is nothing the door knows."""
    return refused(key, name, f"is no {wanted} file that GDAL reads; give {WANTED[wanted]}")


def damaged(name: str, key: str) -> LayerError:
    """Refuse a file that opens and cannot be read to its end."""
    return refused(key, name, "is damaged and cannot be read to its end; get it anew")


@contextmanager
def told(key: str, name: str) -> Iterator[None]:
    """Turn whatever a library raises over a file into one `LayerError`, and keep its warnings from the screen.

    It stands round the calls of GDAL, PROJ and GEOS and nothing else, so that no mistake of ours is taken for the
    file's. Each library has errors of its own, and beside them come those of Python: Unicode, memory, files.

    Parameters
    ----------
    key
        The incident file's key.
    name
        The file, without its folder.
    """
    with warnings.catch_warnings(), _unheard():
        warnings.simplefilter("ignore")
        try:
            yield
        except DiprouteError:
            raise
        except MemoryError as error:
            raise refused(key, name, "needs more memory than there is; cut it to the search") from error
        except PermissionError as error:
            raise refused(key, name, "may not be read by you; change its permissions") from error
        except Exception as error:
            if _cut_short(error):
                raise damaged(name, key) from error
            said = " ".join(str(error).split()) or type(error).__name__
            raise refused(key, name, f"cannot be read: {said[:200]}; get it anew, or save it again") from error


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep a library that stumbles over its own log of a broken file from printing that; in an armed process only."""
    if not armed():
        yield
        return
    hooks = sys.excepthook, sys.unraisablehook
    sys.excepthook, sys.unraisablehook = _nothing, _nothing
    try:
        yield
    finally:
        sys.excepthook, sys.unraisablehook = hooks


def _nothing(*_: object) -> None:
    """Print nothing."""


def _cut_short(error: Exception) -> bool:
    """Tell whether a file ends before what it says of itself."""
    from rasterio.errors import RasterioIOError

    return isinstance(error, RasterioIOError) and str(error).startswith("Read failed")


def there(path: Path, key: str) -> Path:
    """Give the real place of a file, which must be there; its folder's and its own links are followed.

    Raises
    ------
    LayerError
        No such file, one that may not be looked at, or a name that no file can have.
    """
    try:
        real = path.resolve(strict=True)
    except (FileNotFoundError, NotADirectoryError):
        raise refused_missing(path, key) from None
    except (OSError, ValueError, RuntimeError) as error:  # too long a name, a NUL in it, a link to itself
        why = getattr(error, "strerror", None) or str(error)
        raise refused(key, path.name, f"cannot be looked for: {why}; give another name") from error
    if any(ord(letter) < 32 for letter in str(real)):
        raise refused(key, path.name, "has a control character in its name or its folder's; rename it")
    return real


def refused_missing(path: Path, key: str) -> LayerError:
    """Refuse a file that is not there."""
    return LayerError(f"{key}: there is no file {path.name}; give its path relative to the incident file", where=key)
