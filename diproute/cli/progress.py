"""The stages of a run on a terminal: one line on stderr that is gone at the end, and nothing in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from diproute.progress import heard_by


@contextmanager
def shown() -> Iterator[None]:
    """Show the stage and the time since the beginning while the context lasts, where stderr is a terminal."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        line = progress.add_task("reading the incident")
        with heard_by(lambda stage: progress.update(line, description=stage)):
            yield
