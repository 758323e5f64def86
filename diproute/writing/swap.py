"""Putting a set of files into a folder so that nobody takes files of two runs for one.

Where the system can, the new set is written to a folder beside the old one, and the two are exchanged in one call: a
reader, a kill or a power cut finds the old set or the new one. Elsewhere (another system, a folder with folders in it,
the folder that one stands in, a parent that may not be written) the files go in one by one, between taking the set's
first file away and putting its new one there: a folder without it holds no whole set.

What else lies in the folder stays.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
import shutil
import stat
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final, cast

from diproute.errors import OutputError
from diproute.files import cannot_write, discard, is_own_name, left_over, own_name, settle, sweep, write_whole

MOST_CARRIED: Final = 1000  # other files in the folder; where more lie, they are not touched at all
_HERE: Final = -100  # AT_FDCWD
_EXCHANGE: Final = 2  # RENAME_EXCHANGE

Files = Mapping[str, bytes | str]


def write_set(files: Files, folder: str | Path) -> tuple[Path, ...]:
    """Write a set of files into a folder, in place of the set of the same names that may be there.

    Parameters
    ----------
    files
        Bytes, or text that is written as UTF-8, by name. The first is the one without which there is no set.
    folder
        Where to; made when it is missing. A link to a folder stays a link.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OutputError
        The folder or a file cannot be written. The set that was there is then still there, whole.
    """
    given = Path(folder)
    try:
        place = given.resolve()
        _check(files, place)
        place.parent.mkdir(parents=True, exist_ok=True)
        for dead in left_over(place.parent, "new"):
            _take_down(dead, files)
        sweep(place, "part")
        if not _by_exchange(files, place):
            _one_by_one(files, place)
        sweep(place, "old")
    except OutputError:
        raise
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: links that lead in a circle
        raise cannot_write(given, error) from error
    return tuple(given / name for name in files)


def _check(files: Files, place: Path) -> None:
    """Refuse a folder that is none, and folders where the files should go."""
    if place.exists() and not place.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "it is a file")
    for name in files:
        path = place / name
        if path.is_dir() and not path.is_symlink():
            raise cannot_write(path, IsADirectoryError(errno.EISDIR, "a folder has its name"))


def _by_exchange(files: Files, place: Path) -> bool:
    """Write the set to a folder beside and exchange the two; False, and nothing changed, where that cannot be done."""
    there = place.exists()
    if there and not _may_be_exchanged(place):
        return False
    beside = place.with_name(own_name("new"))
    try:
        beside.mkdir()
    except OSError:
        return False
    try:
        if there and not _carry(place, beside, files):
            return False
        for name, data in files.items():
            write_whole(beside / name, data)
        settle(beside)
        if not (exchange(beside, place) if there else _move(beside, place)):
            return False
        settle(place.parent)
        if there:
            _bring_after(beside, place, files)
        return True
    finally:
        _take_down(beside, files)


def exchange(one: Path, other: Path) -> bool:
    """Exchange two paths in one step, where the system and the file system can; else False, and nothing changed."""
    rename = renameat2()
    return rename is not None and rename(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0


def renameat2() -> Callable[..., int] | None:
    """Give Linux' call that exchanges two names, if this system has it."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        function = ctypes.CDLL(None).renameat2
    except (OSError, AttributeError):
        return None
    function.argtypes = [ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint]
    return cast(Callable[..., int], function)


def _move(beside: Path, place: Path) -> bool:
    """Move a folder to where none is; False where one has come since."""
    try:
        beside.rename(place)
    except OSError:
        return False
    return True


def _may_be_exchanged(place: Path) -> bool:
    """Tell whether another folder may take this one's place, and nobody miss it."""
    with contextlib.suppress(OSError):  # the folder that one stands in may be gone
        if place in (here := Path.cwd()).parents or place == here:
            return False
    if renameat2() is None or not _may_write(place) or os.path.ismount(place):
        return False
    with os.scandir(place) as entries:
        for n, entry in enumerate(entries):
            if n >= MOST_CARRIED or entry.is_dir(follow_symlinks=False):
                return False
    return True


def _may_write(place: Path) -> bool:
    """Tell whether the folder itself may be written: to put another in its place would get round its being closed."""
    return os.access(place, os.W_OK | os.X_OK, effective_ids=os.access in os.supports_effective_ids)


def _carry(place: Path, beside: Path, files: Files) -> bool:
    """Give the new folder what the old one has besides the set: its owner and rights, and every file by a hard link.

    A link, not a copy: the file keeps its owner, its times and its content, whoever writes to it meanwhile.
    """
    try:
        shutil.copystat(place, beside)
        old, new = place.stat(), beside.stat()
        if (old.st_uid, old.st_gid) != (new.st_uid, new.st_gid):
            os.chown(beside, old.st_uid, old.st_gid)
            beside.chmod(stat.S_IMODE(old.st_mode))
            new = beside.stat()
        if (old.st_uid, old.st_gid, old.st_mode) != (new.st_uid, new.st_gid, new.st_mode):
            return False
        for path in place.iterdir():
            if path.name not in files:
                os.link(path, beside / path.name, follow_symlinks=False)
    except OSError:
        return False
    return True


def _bring_after(old: Path, place: Path, files: Files) -> None:
    """Bring what came into the old folder while the new one was written."""
    for path in list(old.iterdir()):
        with contextlib.suppress(OSError):
            told = path.lstat()
            if path.name not in files and (stat.S_ISDIR(told.st_mode) or told.st_nlink == 1):
                path.rename(place / path.name)


def _take_down(beside: Path, files: Files) -> None:
    """Remove a folder of ours beside the place: the files of a set, and links to files that lie elsewhere too.

    A file that lies nowhere else stays, and the folder with it.
    """
    with contextlib.suppress(OSError):
        for path in list(beside.iterdir()):
            if path.name in files or is_own_name(path.name) or path.lstat().st_nlink > 1:
                discard(path)
        beside.rmdir()


def _one_by_one(files: Files, place: Path) -> None:
    """Write the files beside their places; take the first of the set away, put the others in, and the first last."""
    place.mkdir(exist_ok=True)
    parts = {name: place / own_name("part") for name in files}
    try:
        for name, data in files.items():
            write_whole(parts[name], data)
        _put(parts, place)
    finally:
        for part in parts.values():
            discard(part)


def _put(parts: Mapping[str, Path], place: Path) -> None:
    """Set the old files aside and put the new ones in their places; on an error put the old ones back."""
    aside = {name: place / own_name("old") for name in parts if os.path.lexists(place / name)}
    put = []
    try:
        for name, away in aside.items():
            (place / name).replace(away)
        for name in reversed(list(parts)):
            settle(place)
            parts[name].replace(place / name)
            put.append(place / name)
    except BaseException:
        for path in put:
            discard(path)
        for name in reversed(list(aside)):
            if os.path.lexists(aside[name]):
                aside[name].replace(place / name)
        raise
    settle(place)
    for away in aside.values():
        discard(away)
