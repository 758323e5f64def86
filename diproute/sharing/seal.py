"""The bytes of a record and its id: RFC 8785 makes the bytes, their SHA-256 is the id.

A record never changes: another byte is another record. What comes from outside is parsed strictly (no key twice, no
number that is none, no half characters) and refused in one line.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final, NoReturn

from pydantic import ValidationError

from diproute.errors import ShareError
from diproute.sharing.record import SiteRecord

MOST_BYTES: Final = 256 * 1024  # of one record
_HEX: Final = re.compile(r"[0-9a-f]{64}")
# what the plain printing of JSON may do otherwise than RFC 8785: exponents, whole numbers above 2^53
_ODD: Final = re.compile(rb"[0-9]e[-+]|[:,\[][-]?[0-9]{16}")
_MOST_DIGITS: Final = 40
_PLAIN: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


@dataclass(frozen=True, slots=True)
class Sealed:
    """A record with its bytes and its id; the bytes are parsed when somebody looks at the record."""

    id: str
    body: bytes
    _parsed: SiteRecord | None = field(default=None, repr=False, compare=False)

    @property
    def record(self) -> SiteRecord:
        """Give the record.

        Raises
        ------
        ShareError
            The bytes are no record, which whoever let them in did not look at.
        """
        if self._parsed is None:
            object.__setattr__(self, "_parsed", _parsed(self.body))
        assert self._parsed is not None
        return self._parsed


def seal(record: SiteRecord) -> Sealed:
    """Give a record its bytes and its id.

    Parameters
    ----------
    record
        A record that was made here.

    Returns
    -------
    Sealed
        What is not known is left out of the bytes.

    Raises
    ------
    ShareError
        Its text cannot be written.
    """
    body = canonical(record.model_dump(mode="json", exclude_none=True))
    return Sealed(digest(body), body, record)


def read_record(body: bytes) -> Sealed:
    """Read a record from JSON, in whatever order and spacing it comes.

    Raises
    ------
    ShareError
        It is no record, or says what no record may say.
    """
    return check_record(parse_strictly(body, "the record"))


def check_record(told: Any) -> Sealed:
    """Check what was parsed, and seal it as it came: keys that are not known here stay in it.

    Raises
    ------
    ShareError
        It is no record, or says what no record may say.
    """
    body = _quick(told)
    if len(body) > MOST_BYTES:
        raise ShareError(f"the record holds {len(body)} bytes, and none may hold more than {MOST_BYTES}")
    return Sealed(digest(body), body, _parsed(body))


def _parsed(body: bytes) -> SiteRecord:
    with in_one_line():
        return SiteRecord.model_validate_json(body)


@contextlib.contextmanager
def in_one_line() -> Iterator[None]:
    """Say in one line what a record may not say, while it is made or read."""
    try:
        yield
    except ValidationError as error:
        raise ShareError(f"the record cannot be used: {_first(error)}") from None


def is_id(text: object) -> bool:
    """Tell whether a text has the form of an id."""
    return isinstance(text, str) and _HEX.fullmatch(text) is not None


def digest(body: bytes) -> str:
    """Give the SHA-256 of some bytes as text."""
    return hashlib.sha256(body).hexdigest()


def canonical(told: Any) -> bytes:
    """Print JSON in the one form of RFC 8785.

    Raises
    ------
    ShareError
        It cannot be printed so, or the library for it is missing.
    """
    try:
        import rfc8785
    except ImportError:
        raise ShareError("making records needs more libraries; install diproute[share]") from None
    try:
        return rfc8785.dumps(told)
    except (rfc8785.CanonicalizationError, UnicodeError, RecursionError) as error:
        raise ShareError(f"the record cannot be printed: {error}") from None


def parse_strictly(text: bytes, what: str, most: int = MOST_BYTES) -> Any:
    """Parse JSON; refuse what JSON leaves open.

    Parameters
    ----------
    text
        UTF-8.
    what
        What it is, for the message.
    most
        Bytes that it may hold.

    Raises
    ------
    ShareError
        It is too large, no JSON, has a key twice or one that is not ASCII, a number that is none, or lies too deep.
    """
    if len(text) > most:
        raise ShareError(f"{what} holds {len(text)} bytes, and may hold {most}")
    try:
        return json.loads(text.decode("utf-8"), object_pairs_hook=_once, parse_constant=_constant, parse_float=_number)
    except RecursionError:
        why = "its parts lie too deep inside each other"
    except UnicodeDecodeError as error:
        why = f"it is not text in UTF-8 (byte {error.start + 1})"
    except json.JSONDecodeError as error:
        why = f"it is no JSON (line {error.lineno}, column {error.colno}: {error.msg})"
    except ValueError as error:
        why = "a whole number in it is too large" if "digits" in str(error) else str(error)
    raise ShareError(f"{what} cannot be read: {why}")


def _quick(told: Any) -> bytes:
    """Print in the form of RFC 8785 what was parsed here, fast where the plain printing gives the same."""
    try:
        body = _PLAIN.encode(told).encode("utf-8")
    except RecursionError:
        raise ShareError("the record cannot be read: its parts lie too deep inside each other") from None
    except UnicodeEncodeError:
        raise ShareError("the record cannot be read: half a character stands in its text") from None
    return canonical(told) if _ODD.search(body) else body


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in found if names.count(name) > 1)
        raise ValueError(f"the key {twice[:40]!a} stands twice in one part")
    if not all(map(str.isascii, found)):
        raise ValueError("a key holds what is not ASCII")
    return found


def _constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _number(text: str) -> float | int:
    number = float(text) if len(text) <= _MOST_DIGITS else math.inf
    if not math.isfinite(number):
        raise ValueError(f"the number {text[:20]} is too large or too long")
    return int(number) if number.is_integer() and abs(number) < 2**53 else number


def _first(error: ValidationError) -> str:
    """Say the first thing that is wrong and where it stands."""
    first = error.errors(include_url=False, include_context=False)[0]
    where = ".".join(re.sub(r"[^\w -]", "?", str(part))[:40] for part in first["loc"])[:160]
    if first["type"] == "extra_forbidden":
        return f"{where} may not stand there: a record is a GeoJSON feature in WGS 84 and no more"
    said = first["msg"].removeprefix("Value error, ")
    silent = first["type"] in ("missing", "json_invalid") or isinstance(first["input"], dict | list)
    came = "" if silent else f", {str(first['input'])[:60]!a} came"
    return f"{where or 'it'}: {said[:1].lower()}{said[1:200]}{came}"
