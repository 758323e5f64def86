"""How many threads the hot loops take: one setting for the whole package.

The number changes how long a plan takes and nothing else: the same input gives the same plan on any number of threads.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Final

from diproute.errors import RangeError

VARIABLE: Final = "DIPROUTE_THREADS"
_asked: int | None = None


def threads() -> int:
    """Give the number: as set, else as the environment's ``DIPROUTE_THREADS`` says, else the cores there are."""
    if _asked is not None:
        return _asked
    text = os.environ.get(VARIABLE)
    if text is None:
        return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    try:
        return _checked(int(text))
    except ValueError:
        raise RangeError(f"{VARIABLE}={text!r} came; give a whole number of 1 or more", where=VARIABLE) from None


def set_threads(count: int | None) -> None:
    """Set the number of threads for this process; None takes the setting back.

    Raises
    ------
    RangeError
        Less than one.
    """
    global _asked  # one setting, one place
    _asked = None if count is None else _checked(count)


@contextmanager
def pool() -> Iterator[ThreadPoolExecutor]:
    """Give a pool of so many threads; an exception, Ctrl-C too, takes back what has not begun and waits for nothing."""
    workers = ThreadPoolExecutor(threads())
    try:
        yield workers
    except BaseException:
        workers.shutdown(wait=False, cancel_futures=True)
        raise
    workers.shutdown()


def _checked(count: int) -> int:
    if count < 1:
        raise RangeError(f"{count} threads came; give 1 or more", where="threads", got=count)
    return count
