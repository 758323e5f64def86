"""One door for the TOML files: the text of a file, or one line about why it cannot be had."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from diproute.errors import IncidentError


def read_toml(path: Path, what: str) -> dict[str, Any]:
    """Read a TOML file.

    Parameters
    ----------
    path
        The file.
    what
        What it should be, for the message: ``"incident file"``.

    Returns
    -------
    dict
        The keys as they stand in the file.

    Raises
    ------
    IncidentError
        No such file, a directory, no permission, not UTF-8, or not TOML.
    """

    def refuse(why: str) -> IncidentError:
        return IncidentError(f"{path}: {why}", where=str(path), got=str(path))

    try:
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise refuse(f"no such file; give the path of the {what}") from error
    except IsADirectoryError as error:
        raise refuse(f"this is a directory; give the {what} inside it") from error
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        why = getattr(error, "strerror", None) or str(error)
        raise refuse(f"cannot be read as the {what}: {why}") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(
            f"not UTF-8 text (byte 0x{raw[error.start]:02x} at {error.start}); save the {what} as UTF-8"
        ) from error
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise refuse(f"not valid TOML: {error}; see docs/formats.md for the {what}") from error
