"""The invented scenario that comes with the package."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import diproute
from diproute.errors import InputError, OutputError

_PACKAGE = Path(diproute.__file__).parent


def sample_folder() -> Path:
    """Give the folder of the sample: inside an installed package, or beside it in a source tree."""
    for folder in (_PACKAGE / "sample_geo", _PACKAGE.parent / "sample_geo"):
        if (folder / "incident.toml").is_file():
            return folder
    raise InputError("the sample scenario is not in this installation; reinstall diproute")


def copy_sample(folder: Path) -> Path:
    """Copy the sample into a new or empty folder.

    Parameters
    ----------
    folder
        Where to put it.

    Returns
    -------
    Path
        The incident file in the copy.

    Raises
    ------
    OutputError
        The folder holds something already, or cannot be written. Nothing is left half-copied.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputError(f"{folder} exists and is not an empty folder; name a new one", where=str(folder))
    source = sample_folder()
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".diproute-") as scratch:
            copy = Path(scratch) / "sample"
            shutil.copytree(source, copy, ignore=shutil.ignore_patterns("__pycache__", "*.aux.xml"))
            if folder.exists():
                folder.rmdir()
            copy.rename(folder)
    except OSError as wrong:
        raise OutputError(f"cannot write {folder}: {wrong.strerror}; name another folder", where=str(folder)) from wrong
    return folder / "incident.toml"
