"""Everything a plan writes, in one folder."""

from __future__ import annotations

from pathlib import Path

from diproute.document.file import plan_text
from diproute.document.plan import Plan
from diproute.files import write_together
from diproute.writing.map.draw import map_page


def write_folder(plan: Plan, folder: Path) -> tuple[Path, ...]:
    """Write ``plan.json`` and ``map.html``.

    Both are made in full before the first is written, and both or neither are there in the end.

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
    return write_together({folder / "plan.json": plan_text(plan), folder / "map.html": map_page(plan)})
