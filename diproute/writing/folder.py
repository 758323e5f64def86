"""Everything a plan writes, in one folder, all of one run."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from diproute.document.file import plan_text
from diproute.document.plan import Plan
from diproute.document.run import run_of
from diproute.files import left_over
from diproute.writing.map.draw import map_page
from diproute.writing.swap import write_set

PLAN: Final = "plan.json"
MAP: Final = "map.html"
_HEAD: Final = 4096  # bytes of a page in which its run is told
_RUN: Final = re.compile(rb'<meta name="diproute-run" content="([0-9a-f]+)">')


def set_of(plan: Plan) -> dict[str, str]:
    """Give the files of a plan by name; the first is the one without which there is no set."""
    return {PLAN: plan_text(plan), MAP: map_page(plan)}


def write_folder(plan: Plan, folder: str | Path) -> tuple[Path, ...]:
    """Write ``plan.json`` and ``map.html``.

    Both are made in full before the first is written. In the end both are there, or what was there before.

    Parameters
    ----------
    plan
        The plan.
    folder
        Where to; made when it is missing. What else lies in it stays.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OutputError
        The folder or a file cannot be written.
    """
    return write_set(set_of(plan), folder)


def check_folder(folder: str | Path) -> str | None:
    """Say what is wrong with the set of files in a folder; None for a whole set, and where there is none.

    Parameters
    ----------
    folder
        Where a run may have written.
    """
    place = Path(folder)
    plan, page = place / PLAN, place / MAP
    if not plan.is_file():
        if left_over(place, "old"):
            return f"an unfinished run lies in {place}: {PLAN} is missing"
        return f"{MAP} lies in {place} without its {PLAN}, as an unfinished run leaves it" if _run_of(page) else None
    if not page.is_file():
        return None
    runs = run_of(plan), _run_of(page)
    if runs[0] == runs[1]:
        return None
    told = " and ".join(run or "none" for run in runs)
    return f"{PLAN} and {MAP} in {place} are not of one run ({told})"


def _run_of(page: Path) -> str | None:
    """Read the run id of a map; None where it tells none."""
    try:
        with page.open("rb") as file:
            found = _RUN.search(file.read(_HEAD))
    except OSError:
        return None
    return found[1].decode("ascii") if found else None
