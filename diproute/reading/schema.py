"""What the incident and fleet files share: tables that know their keys, values that carry a unit, one-line errors.

The files are checked by pydantic models whose fields are named after the keys. `Table` refuses an unknown or a
missing key in our own words, `Quantity` reads a value with its unit, and `explain` turns what pydantic reports into
one line of ours: file, dotted key, what came, what was wanted. Only the models import this module, and only when a
file is read.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final, NoReturn

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, ValidationError, model_validator
from pydantic_core import ErrorDetails, core_schema

from diproute import units
from diproute.errors import MOST_OF_A_VALUE, InputError, QuantityError, plain

HERE: Final = "@"  # stands for the dotted key in a message until `explain` knows it


class WrongKeyError(ValueError):
    """Something wrong with one key of a table, or with the table as a whole (``key=""``)."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def nearest(name: str, known: Sequence[str]) -> str:
    """Give ``'; did you mean "…"?'``, or the known names when none is near."""
    close = difflib.get_close_matches(name.lower(), [k.lower() for k in known], n=1, cutoff=0.6)
    hit = next((k for k in known if close and k.lower() == close[0]), None)
    return f'; did you mean "{hit}"?' if hit else f"; known here: {', '.join(known)}"


class Reader:
    """A value read by a function of ours in place of pydantic's own rules."""

    example: str = ""

    def read(self, value: object) -> Any:
        """Give the value in SI, or raise with `HERE` in front of the message."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Hand `read` to pydantic as the whole rule of the field."""
        return core_schema.no_info_plain_validator_function(self.read)


class Quantity(Reader):
    """A quantity with its unit, inside a plausible range.

    Parameters
    ----------
    kind
        What it measures, a key of `units.UNITS`.
    low, high
        The range, as text with a unit; None leaves that side open.
    above
        True: `low` itself is refused too.
    word
        A word allowed in place of a quantity, read as None (``"plan"``).
    """

    def __init__(
        self,
        kind: units.Kind,
        low: str | None = None,
        high: str | None = None,
        *,
        above: bool = False,
        word: str | None = None,
    ) -> None:
        self.kind, self.low, self.high, self.above, self.word = kind, low, high, above, word
        self._low = float("-inf") if low is None else units.parse(low, kind, "low")
        self._high = float("inf") if high is None else units.parse(high, kind, "high")
        self.example = f'write it like "{units.EXAMPLES[kind]}"' + (f' or "{word}"' if word else "")

    def _inside(self, value: float) -> bool:
        return (self._low < value if self.above else self._low <= value) and value <= self._high

    def read(self, value: object) -> float | None:
        """Read one quantity [SI of its kind]."""
        if self.word is not None and value == self.word:
            return None
        try:
            number = units.parse(value, self.kind, HERE)
        except QuantityError as error:
            if self.word is None:
                raise
            raise QuantityError(f'{error} or "{self.word}"', where=HERE, got=value) from error
        if self._inside(number):
            return number
        low = f"{'more than' if self.above else 'at least'} {self.low}" if self.low is not None else ""
        high = f"at most {self.high}" if self.high is not None else ""
        wanted = " and ".join(part for part in (low, high) if part)
        raise QuantityError(f'{HERE}: got "{value}", wanted {wanted}{self._slip(str(value))}', where=HERE, got=value)

    def _slip(self, text: str) -> str:
        """Name the unit with which the same number would be plausible."""
        table, text = units.UNITS[self.kind], text.strip()
        came = max((unit for unit in table if text.endswith(unit)), key=len)
        number = text[: -len(came)].strip()
        if float(number) > 0:
            for unit, (factor, offset) in table.items():
                if unit != came and self._inside(factor * float(number) + offset):
                    return f'; did you mean "{number} {unit}"?'
        return "; check the number and its unit"


class Place(Reader):
    """A position in decimal degrees, degrees and minutes, DMS or MGRS, read as latitude and longitude [deg]."""

    example = 'write it like "42 10.500 N 160 03.250 W"'

    def read(self, value: object) -> tuple[float, float]:
        """Read one position."""
        from diproute.physics.coordinates import parse_position

        if not isinstance(value, str):
            raise QuantityError(f"{HERE}: got {value!r}, wanted a position; {self.example}", where=HERE, got=value)
        return parse_position(value, HERE)


class Moment(Reader):
    """A time with its offset from UTC, as text or as TOML's own date-time."""

    example = 'write it like "2026-08-14T15:00-10:00"'

    def read(self, value: object) -> datetime:
        """Read one time."""
        try:
            when = (
                value
                if isinstance(value, datetime)
                else datetime.fromisoformat(value if isinstance(value, str) else "")
            )
        except ValueError as error:
            raise QuantityError(
                f"{HERE}: cannot read {_shown(value)} as a time; {self.example}", where=HERE, got=value
            ) from error
        if when.utcoffset() is None:
            raise QuantityError(
                f'{HERE}: got "{value}" without its offset from UTC; {self.example}', where=HERE, got=value
            )
        return when


class Table(BaseModel):
    """A table of a file: its fields are its keys, and it refuses every other."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _keys(cls, data: Any) -> Any:
        if not isinstance(data, Mapping):
            raise WrongKeyError("", f"got {_shown(data)}, wanted a table of keys: {', '.join(cls.keys())}")
        known = cls.keys()
        for key, value in data.items():
            if key not in known:
                raise WrongKeyError(plain(str(key), MOST_OF_A_VALUE), f"unknown key{nearest(str(key), known)}")
            if isinstance(value, str) and plain(" ".join(value.split())) != " ".join(value.split()):
                raise WrongKeyError(key, f"got {_shown(value)}, which holds control characters; remove them")
        for name, field in cls.model_fields.items():
            if field.is_required() and (field.alias or name) not in data:
                example = next((r.example for r in field.metadata if isinstance(r, Reader)), "")
                raise WrongKeyError(field.alias or name, f"missing; {example or 'see docs/formats.md'}")
        return data

    @classmethod
    def keys(cls) -> list[str]:
        """Give the keys as they are written in the file."""
        return [field.alias or name for name, field in cls.model_fields.items()]


def _shown(value: object) -> str:
    """Show what came the way TOML writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    return plain(f'"{value}"' if isinstance(value, date) else repr(value), MOST_OF_A_VALUE)


def _dotted(location: tuple[int | str, ...]) -> str:
    """Write a place in the file: ``weather.wind[0].speed``. Parts that start with ``~`` name a branch of a union."""
    out = ""
    for part in location:
        if isinstance(part, int):
            out += f"[{part}]"
        elif not part.startswith("~"):
            out += f".{part}" if out else part
    return out


_WANTED: Final = {
    "string_type": "text in quotes", "list_type": "a list in brackets", "int_type": "a whole number",
    "int_from_float": "a whole number", "int_parsing_size": "a smaller number", "float_type": "a number",
    "bool_type": "true or false", "dict_type": "a table", "model_type": "a table", "finite_number": "a finite number",
}  # fmt: skip


def _told(detail: ErrorDetails) -> tuple[str, str]:
    """Give the dotted key and our words for one of pydantic's findings."""
    place, context, came = _dotted(detail["loc"]), detail.get("ctx", {}), _shown(detail["input"])
    error = context.get("error")
    if isinstance(error, WrongKeyError):
        return ".".join(part for part in (place, error.key) if part), str(error)
    if isinstance(error, InputError):
        return place, str(error).removeprefix(HERE).removeprefix(":").strip()
    limits = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    for name, words in limits.items():
        if name in context:
            return place, f"got {came}, wanted {words} {context[name]:g}"
    match detail["type"]:
        case "literal_error":
            return place, f"got {came}, wanted {context['expected']}"
        case "too_short" | "string_too_short":
            least = context["min_length"]
            return place, f"wanted at least {least}" if detail["input"] else "empty; wanted at least one"
        case kind:
            return place, f"got {came}, wanted {_WANTED.get(kind, 'something else; see docs/formats.md')}"


def explain(error: ValidationError, file: str, kind: type[InputError]) -> NoReturn:
    """Turn pydantic's findings into one line of ours and raise it: the first in full, the other keys by name.

    Parameters
    ----------
    error
        What pydantic raised.
    file
        The name of the file, which begins the line.
    kind
        The leaf of our family to raise.
    """
    told = [_told(detail) for detail in error.errors(include_url=False)]
    key, message = told[0]
    others = list(dict.fromkeys(name for name, _ in told[1:] if name and name != key))
    also = f" (also wrong: {', '.join(others)})" if others else ""
    raise kind(
        f"{file}: {key + ': ' if key else ''}{message}{also}", where=key, got=error.errors()[0]["input"]
    ) from None
