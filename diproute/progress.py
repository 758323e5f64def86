"""What a run is at: stages tell it, whoever wants to show it listens.

A stage calls `at` with a few words and goes on; with nobody listening that is all that happens.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

_listener: Callable[[str], None] | None = None


def at(stage: str) -> None:
    """Tell what begins now."""
    if _listener is not None:
        _listener(stage)


@contextmanager
def heard_by(listener: Callable[[str], None]) -> Iterator[None]:
    """Let a function hear of each stage for as long as the context lasts."""
    global _listener  # one run, one listener
    before, _listener = _listener, listener
    try:
        yield
    finally:
        _listener = before
