"""Compiling the hot loops: numba's ``njit``, which runs where no compiled code can be kept, too.

numba keeps what it compiled in a folder, beside the package or in the user's cache. Where it may write neither, where
the disk is full, or where what lies there is damaged, a kernel is compiled anew in each run, and that is said once.
"""

from __future__ import annotations

import logging
import pickle
from collections.abc import Callable
from typing import Any, Final

import numba

_LOG: Final = logging.getLogger("diproute")  # with no other setting its warnings are lines on stderr
_BROKEN: Final = (OSError, EOFError, ValueError, pickle.UnpicklingError)
_told: list[str] = []


def njit(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Compile a function as `numba.njit` does.

    Parameters
    ----------
    options
        numba's; of them ``cache`` asks to keep the compiled code, where that can be done.
    """

    def compiled(function: Callable[..., Any]) -> Any:
        try:
            kernel = numba.njit(**options)(function)
        except RuntimeError as error:
            if "cannot cache" not in str(error):
                raise
            _tell("there is no folder to keep it in")
            return numba.njit(**{**options, "cache": False})(function)
        if options.get("cache"):
            _guard(kernel)
        return kernel

    return compiled


def is_kept(kernel: Any) -> bool:
    """Whether compiled code of a kernel lies in its folder; true, too, where none can be kept."""
    file = getattr(kernel._cache, "_cache_file", None)  # numba has no other way to it
    try:
        return file is None or bool(file._load_index())
    except _BROKEN:
        return True


def _guard(kernel: Any) -> None:
    """Let a kernel be compiled and used though its folder has become unusable since."""
    cache = kernel._cache  # numba has no other way to it

    def guarded(use: Callable[..., Any]) -> Callable[..., Any]:
        def try_to(*what: Any) -> Any:
            try:
                return use(*what)
            except _BROKEN as error:
                _tell(getattr(error, "strerror", None) or "the kept code is damaged")
                return None

        return try_to

    cache.load_overload, cache.save_overload = guarded(cache.load_overload), guarded(cache.save_overload)


def _tell(why: str) -> None:
    if not _told:
        _told.append(why)
        _LOG.warning(
            "diproute: compiled code cannot be kept (%s): each run compiles for some time first; "
            "set NUMBA_CACHE_DIR to a folder that you may write to",
            why,
        )
