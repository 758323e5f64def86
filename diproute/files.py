"""Writing a file so that a reader finds the old one or the new one, and never half of either.

Until a file is whole it lies beside its place under a name of ours, ``.diproute-HOST-PROCESS-COUNT.part``. What a
process leaves that was killed is swept by the next one that writes there: only names of ours, of this computer, whose
process is gone.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import itertools
import os
import platform
import re
import sys
from pathlib import Path
from typing import Final, Literal

from diproute.errors import OutputError

Ending = Literal["part", "old", "new"]  # a file on its way in, one on its way out, a folder on its way in

_HOST: Final = hashlib.sha256(platform.node().encode("utf-8", "replace")).hexdigest()[:8]
_OURS: Final = re.compile(r"\.diproute-([0-9a-f]{8})-([0-9]{1,10})-[0-9]+\.(part|old|new)")
_FULL: Final = (errno.ENOSPC, errno.EFBIG, errno.EDQUOT)
_NO_SYNC: Final = (errno.EINVAL, errno.ENOSYS, errno.ENOTSUP)
_count = itertools.count()


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
        The folder or the file cannot be written, or its place is taken by what is no ordinary file. Nothing
        half-written is left behind, and what was there before stays.
    """
    place = Path(path)
    part = place.with_name(own_name("part")) if place.name else place
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        check_free(place)
        sweep(place.parent, "part")
        write_whole(part, data)
        part.replace(place)
        settle(place.parent)
    except (OSError, ValueError) as error:
        raise cannot_write(place, error) from error
    finally:
        if part != place:
            discard(part)
    return place


def cannot_write(place: Path, error: Exception) -> OutputError:
    """Give the one line of a place that cannot be written."""
    why = getattr(error, "strerror", None) or str(error)
    full = getattr(error, "errno", None) in _FULL
    wanted = "make room there, or choose another folder" if full else "choose a folder that you may write to"
    return OutputError(f"cannot write {place}: {why}; {wanted}", where=str(place))


def check_free(place: Path) -> None:
    """Refuse a place where a folder, a link or a device stands: they are not ours to replace.

    Raises
    ------
    OSError
        There is one.
    """
    if place.is_symlink():
        raise OSError(errno.EEXIST, "a link has its name; name the file that it leads to")
    if place.is_dir():
        raise IsADirectoryError(errno.EISDIR, "a folder has its name")
    if place.exists() and not place.is_file():
        raise OSError(errno.EEXIST, "what has its name is no ordinary file")


def own_name(ending: Ending) -> str:
    """Give a name that no other process and no other call gives, and that tells whose it is."""
    return f".diproute-{_HOST}-{os.getpid()}-{next(_count)}.{ending}"


def is_own_name(name: str) -> bool:
    """Tell whether a name is one that `own_name` gives, here or on another computer."""
    return _OURS.fullmatch(name) is not None


def left_over(folder: Path, ending: Ending) -> list[Path]:
    """List what processes of this computer left in a folder that are gone; nothing for a folder that cannot be read."""
    found = []
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            ours = _OURS.fullmatch(entry.name)
            if not ours or ours[1] != _HOST or ours[3] != ending or entry.is_symlink():
                continue
            if entry.is_dir() == (ending == "new") and not _runs(int(ours[2])):
                found.append(folder / entry.name)
    return sorted(found)


def sweep(folder: Path, ending: Literal["part", "old"]) -> None:
    """Remove the files that processes left in a folder that are gone."""
    for path in left_over(folder, ending):
        discard(path)


def discard(path: Path) -> None:
    """Remove a file of ours, if it is there and can be removed."""
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)


def write_whole(path: Path, data: bytes | str) -> None:
    """Write a file that is not there yet, and wait until the disk has it, where the file system can tell."""
    with path.open("xb") as file:
        file.write(data.encode("utf-8") if isinstance(data, str) else data)
        file.flush()
        try:
            os.fsync(file.fileno())
        except OSError as error:
            if error.errno not in _NO_SYNC:
                raise


def settle(folder: Path) -> None:
    """Wait until the disk has the names of a folder, where the system lets a folder be asked for that."""
    if sys.platform == "win32":
        return
    with contextlib.suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _runs(process: int) -> bool:
    """Tell whether a process of this computer still runs; where it cannot be told, it does."""
    if sys.platform == "win32":
        import ctypes

        kernel = ctypes.WinDLL("kernel32", use_last_error=True)
        handle = kernel.OpenProcess(0x1000, False, process)  # PROCESS_QUERY_LIMITED_INFORMATION
        if handle:
            kernel.CloseHandle(handle)
        return bool(handle) or ctypes.get_last_error() != 87  # ERROR_INVALID_PARAMETER: there is none
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True
