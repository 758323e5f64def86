"""Writing a file so that a reader finds the old one or the new one, and never half of either."""

from __future__ import annotations

import os
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
    place = Path(path)
    part = place.with_name(f".{place.name}.{os.getpid()}.part")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_bytes(data.encode("utf-8") if isinstance(data, str) else data)
            part.replace(place)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(
            f"cannot write {place}: {error.strerror or error}; choose a folder that you may write to",
            where=str(place),
        ) from error
    return place
