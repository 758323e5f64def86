"""The plan file: written as compact JSON, and read back to equal what was written."""

from __future__ import annotations

import json
import math
import re
import stat
from pathlib import Path
from typing import Any, Final, NoReturn

from pydantic import ValidationError
from pydantic_core import PydanticSerializationError

from diproute.document.plan import FORMAT, Plan
from diproute.errors import OutputError, PlanError
from diproute.files import write_atomically

LARGEST_BYTES: Final = 256 * 2**20
MOST_VALUES: Final = 40_000_000  # parts and numbers; more do not fit into that many bytes of a plan
MOST_INT: Final = 2**53
SHOWN: Final = 80  # characters of a value that a message repeats
_NUMBER: Final = int(FORMAT.rpartition("/")[2])
_DAMAGED: Final = "the file is damaged or was changed by hand: copy it again, or plan the incident again"


class _DamagedError(ValueError):
    """What is wrong with the text of a plan, in words."""


def plan_text(plan: Plan) -> str:
    """Print a plan as the text of ``plan.json``: compact JSON, ending in a line feed.

    Raises
    ------
    OutputError
        A key of a later release, kept in the plan, holds what JSON cannot say.
    """
    try:
        return plan.model_dump_json() + "\n"
    except PydanticSerializationError as error:
        raise OutputError(f"the plan cannot be written as JSON: {_cut(str(error))}") from error


def write_plan(plan: Any, path: str | Path) -> Path:
    """Write ``plan.json``.

    Parameters
    ----------
    plan
        A plan, or what `diproute.make_plan` gives.
    path
        The file to write.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    document: Plan = plan if isinstance(plan, Plan) else plan.document
    return write_atomically(path, plan_text(document))


def read_plan(path: str | Path) -> Plan:
    """Read a plan file.

    Parameters
    ----------
    path
        A ``plan.json``.

    Returns
    -------
    Plan
        Equal to the plan that was written. Keys of a later release are kept.

    Raises
    ------
    PlanError
        A file that cannot be read, that is no plan, that is damaged, or that is of an older or a newer format.
    """
    place = Path(path)
    text = _read(place)
    try:
        _check_text(text)
        return Plan.model_validate_json(text)
    except _DamagedError as error:
        _refuse(place, str(error))
    except ValidationError as error:
        _refuse(place, f"{_first(error)}; {_DAMAGED}")
    except RecursionError:
        _refuse(place, f"its parts lie too deep inside each other; {_DAMAGED}")
    except MemoryError:
        _refuse(place, "it holds more than there is memory for; plan the incident again with a smaller search.keep")


def _refuse(place: Path, why: str) -> NoReturn:
    raise PlanError(f"{place}: {why}", where=str(place)) from None


def _read(place: Path) -> str:
    """Read a file's text, and nothing that is no file."""
    try:
        told = place.stat()
        if stat.S_ISDIR(told.st_mode):
            _refuse(place, "is a folder; name the plan.json in it")
        if not stat.S_ISREG(told.st_mode):
            _refuse(place, "is no ordinary file; name a plan.json")
        if told.st_size > LARGEST_BYTES:
            _refuse(
                place,
                f"holds {told.st_size / 2**20:.0f} MB, and no plan holds more than {LARGEST_BYTES // 2**20}; "
                "name a plan.json",
            )
        with place.open("rb") as file:
            data = file.read(told.st_size + 1)
    except FileNotFoundError:
        _refuse(place, "there is no such file; name the plan.json of a plan that was made")
    except (OSError, ValueError) as error:
        _refuse(
            place, f"cannot be read: {getattr(error, 'strerror', None) or error}; name a plan.json that you may read"
        )
    if not data.strip():
        _refuse(place, "is empty; plan the incident again")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        _refuse(place, f"is not text in UTF-8 (byte {error.start + 1}); a plan.json is: {_DAMAGED}")


def _check_text(text: str) -> None:
    """Refuse what is no JSON, what JSON leaves open, and what is no plan of this format."""
    if text.startswith("\ufeff"):
        raise _DamagedError("begins with a byte order mark, which no plan does; save it as UTF-8 without one")
    if sum(text.count(sign) for sign in "{[,") > MOST_VALUES:
        raise _DamagedError(f"holds more values than a plan can; {_DAMAGED}")
    try:
        told = json.loads(
            text, object_pairs_hook=_once, parse_constant=_constant, parse_float=_finite, parse_int=_whole
        )
    except json.JSONDecodeError as error:
        if text.lstrip().startswith("{") and not text.rstrip().endswith("}"):
            raise _DamagedError(
                "ends in the middle: it was cut short; copy it again, or plan the incident again"
            ) from None
        raise _DamagedError(
            f"is no JSON (line {error.lineno}, column {error.colno}: {error.msg}); {_DAMAGED}"
        ) from None
    if not isinstance(told, dict) or not isinstance(told.get("format"), str):
        raise _DamagedError('is no plan: it has no "format"; name a plan.json that diproute wrote')
    _check_format(told["format"])


def _check_format(came: str) -> None:
    number = re.fullmatch(r"diproute-plan/([0-9]{1,6})", came)
    if number is None:
        raise _DamagedError(f"is no plan: its format is {_cut(came)}; name a plan.json that diproute wrote")
    if int(number[1]) < _NUMBER:
        raise _DamagedError(f"{came} came; this release reads {FORMAT}; plan the incident again")
    if int(number[1]) > _NUMBER:
        raise _DamagedError(f"{came} came; this release reads {FORMAT}; use a newer diproute")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in found if names.count(name) > 1)
        raise _DamagedError(f"the key {_cut(twice)} stands twice in one part; {_DAMAGED}")
    return found


def _constant(name: str) -> NoReturn:
    raise _DamagedError(f"{name} came, which is no number of JSON; {_DAMAGED}")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise _DamagedError(f"the number {_cut(text)} is too large; {_DAMAGED}")
    return number


def _whole(text: str) -> int:
    if len(text) > 17 or abs(int(text)) > MOST_INT:
        raise _DamagedError(f"the number {_cut(text)} is too large; {_DAMAGED}")
    return int(text)


def _first(error: ValidationError) -> str:
    """Say the first thing that is wrong, where it stands, and how many more there are."""
    found = error.errors(include_url=False, include_context=False)
    first = found[0]
    where = ".".join(re.sub(r"[^\w-]", "?", str(part))[:40] for part in first["loc"]) or "the plan"
    said = first["msg"].removeprefix("Value error, ")
    came = (
        ""
        if isinstance(first["input"], dict | list) or first["type"] == "missing"
        else f", {_cut(first['input'])} came"
    )
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    return f"{where[:160]}: {said[:1].lower()}{said[1:200]}{came}{more}"


def _cut(value: object) -> str:
    """Show a value that came, at most `SHOWN` characters of it, control characters as what they are."""
    told = repr(value[: SHOWN + 1]) if isinstance(value, str) else repr(value)
    return told if len(told) <= SHOWN else f"{told[:SHOWN]}…"
