"""The run that a file belongs to: plan, map and whatever else goes out of one plan carry the same id.

The id is the beginning of the SHA-256 of the plan's own text, so that the same plan has the same id wherever and
whenever it is made. Anyone can check it: take the member ``"run":"…",`` out of ``plan.json`` and the line feed off
its end, and digest what is left.
"""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Final

from diproute.document.file import LARGEST_BYTES
from diproute.document.plan import FORMAT, RUN, RUN_DIGITS, Plan

_HEAD_BYTES: Final = 200
_HEAD: Final = f'{{"format":"{FORMAT}",'
_MEMBER: Final = re.compile(rf'^{re.escape(_HEAD)}"run":"({RUN})",')


def sealed(plan: Plan) -> Plan:
    """Give the plan with the id of its run."""
    return plan.model_copy(update={"run": _digest(plan.model_dump_json(exclude={"run"}))})


def is_as_written(plan: Plan, path: str | Path) -> bool:
    """Tell whether a plan file still is as diproute wrote it.

    Parameters
    ----------
    plan
        The plan that was read from it. One without a run id was written by a release that gave none, and counts as
        unchanged.
    path
        The file.
    """
    if plan.run is None:
        return True
    text = Path(path).read_text(encoding="utf-8").removesuffix("\n")
    member = _MEMBER.match(text)
    return member is not None and _digest(_HEAD + text[member.end() :]) == member[1]


def run_of(path: str | Path) -> str | None:
    """Read the run id of a plan file, which may be damaged; None where it tells none."""
    try:
        with Path(path).open("rb") as file:
            member = _MEMBER.match(file.read(_HEAD_BYTES).decode("utf-8", "replace"))
            if member is not None:
                return member[1]
            file.seek(0)
            told = json.loads(file.read(LARGEST_BYTES))
    except (OSError, ValueError, RecursionError):
        return None
    run = told.get("run") if isinstance(told, dict) else None
    return run if isinstance(run, str) and re.fullmatch(RUN, run) else None


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:RUN_DIGITS]
