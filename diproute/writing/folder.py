"""Everything a plan writes, in one folder."""

from __future__ import annotations

from pathlib import Path

from diproute.records import Plan
from diproute.writing.files import write_atomically
from diproute.writing.map.draw import map_page
from diproute.writing.plan_file import plan_text


def write_folder(plan: Plan, folder: Path) -> tuple[Path, ...]:
    """Write ``plan.json`` and ``map.html``.

    Both are made in full before the first is written.

    Parameters
    ----------
    plan
        The plan.
    folder
        Where to; made when it is missing.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OutputError
        The folder or a file cannot be written.
    """
    made = {"plan.json": plan_text(plan), "map.html": map_page(plan)}
    return tuple(write_atomically(folder / name, text) for name, text in made.items())
