"""Writing a file so that a reader finds the old one or the new one, and never half of either."""

from __future__ import annotations

import errno
import os
from collections.abc import Mapping
from pathlib import Path

from diproute.errors import OutputError


def write_atomically(path: str | Path, data: bytes | str) -> Path:
    """Write a whole file beside its place and move it there in one step.

    Parameters
    ----------
    path
        Where the file is wanted; its folder is made when it is missing.
    data
        Bytes, or text that is written as UTF-8 with bare line feeds.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    OutputError
        The folder or the file cannot be written. Nothing half-written is left behind.
    """
    return write_together({Path(path): data})[0]


def write_together(files: Mapping[Path, bytes | str]) -> tuple[Path, ...]:
    """Write several whole files beside their places, and move them there when the last one is written.

    Parameters
    ----------
    files
        Bytes or text, as for `write_atomically`, by path.

    Returns
    -------
    tuple of Path
        The paths written.

    Raises
    ------
    OutputError
        A folder or a file cannot be written. None of the files is then there, but those that were there before.
    """
    parts: dict[Path, Path] = {}
    place = Path()
    try:
        for place, data in files.items():
            place.parent.mkdir(parents=True, exist_ok=True)
            if place.is_dir():
                raise IsADirectoryError(errno.EISDIR, "a folder has its name")
            parts[place] = place.with_name(f".{place.name}.{os.getpid()}.part")
            parts[place].write_bytes(data.encode("utf-8") if isinstance(data, str) else data)
        for place, part in parts.items():
            part.replace(place)
    except OSError as error:
        raise OutputError(
            f"cannot write {place}: {error.strerror or error}; choose a folder that you may write to",
            where=str(place),
        ) from error
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
    return tuple(files)
