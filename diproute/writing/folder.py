"""Everything a plan writes, in one folder, all of one run."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Final

from diproute.document.file import plan_text
from diproute.document.plan import Plan
from diproute.document.run import run_of
from diproute.errors import QuantityError
from diproute.files import left_over
from diproute.writing.brief.brief import brief, kneeboard, paper_of
from diproute.writing.exchange.formats import FORMATS, exchange
from diproute.writing.map.draw import map_page
from diproute.writing.sheet.sheet import sheet
from diproute.writing.swap import write_set
from diproute.writing.typeset import can_typeset

PLAN: Final = "plan.json"
MAP: Final = "map.html"
PDFS: Final[dict[str, tuple[str, Callable[[Plan], bytes]]]] = {
    "brief": ("brief.pdf", brief),
    "kneeboard": ("kneeboard.pdf", kneeboard),
    "sheet": ("sheet.pdf", lambda plan: sheet(plan, paper_of(plan))),
}
PARTS: Final = ("plan", "map", *PDFS, *FORMATS)
_HEAD: Final = 4096  # bytes of a page in which its run is told
_RUN: Final = re.compile(rb'<meta name="diproute-run" content="([0-9a-f]+)">')


def parts_of(asked: str | None) -> tuple[str, ...]:
    """Read which parts are wanted: names of `PARTS` with commas between; None: all that is installed.

    The plan is always among them: without it there is no set.

    Raises
    ------
    QuantityError
        An unknown name.
    OutputError
        A PDF is asked for by name, and what it needs is not installed (when it is made).
    """
    if asked is None:
        return tuple(part for part in PARTS if part not in PDFS or can_typeset())
    names = [name.strip() for name in asked.split(",") if name.strip()]
    for name in names:
        if name not in PARTS:
            raise QuantityError(f"no part {name!r}; there are: {', '.join(PARTS)}", where="only", got=name)
    return tuple(part for part in PARTS if part == "plan" or part in names)


def set_of(plan: Plan, parts: Collection[str] = ("plan", "map")) -> dict[str, bytes | str]:
    """Give the files of a plan by name; the first is the one without which there is no set."""
    found: dict[str, bytes | str] = {PLAN: plan_text(plan)}
    if "map" in parts:
        found[MAP] = map_page(plan)
    found |= {name: make(plan) for part, (name, make) in PDFS.items() if part in parts}
    found |= {FORMATS[part].file: exchange(plan, part) for part in FORMATS if part in parts}
    return found


def write_folder(plan: Plan, folder: str | Path, parts: Collection[str] = ("plan", "map")) -> tuple[Path, ...]:
    """Write ``plan.json``, ``map.html`` and what else is asked for.

    All are made in full before the first is written. In the end all are there, or what was there before.

    Parameters
    ----------
    plan
        The plan.
    folder
        Where to; made when it is missing. What else lies in it stays.
    parts
        Names of `PARTS`; see `parts_of`.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OutputError
        The folder or a file cannot be written, or what a PDF needs is not installed.
    """
    return write_set(set_of(plan, parts), folder)


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


def of_other_runs(plan: Plan, folder: str | Path) -> tuple[str, ...]:
    """Name the files in a folder that carry our names and are not of this plan's run: left from one before."""
    place = Path(folder)
    ours = [name for name, _ in PDFS.values()] + [one.file for one in FORMATS.values()]
    if plan.run is None:
        return ()
    return tuple(name for name in [MAP, *ours] if (place / name).is_file() and not _holds(place / name, plan.run))


def _holds(path: Path, run: str) -> bool:
    """Tell whether a file says that it is of a run: every file of a set has the id in it as plain text."""
    try:
        return run.encode("ascii") in path.read_bytes()
    except OSError:
        return True


def _run_of(page: Path) -> str | None:
    """Read the run id of a map; None where it tells none."""
    try:
        with page.open("rb") as file:
            found = _RUN.search(file.read(_HEAD))
    except OSError:
        return None
    return found[1].decode("ascii") if found else None
