"""The small language that sentences are written in.

``{depth_m:line}`` prints a value as a kind of reading, in the reader's units. ``[, {where} away]`` is left out when a
value in it is not known. The kinds:

=================  ==================================================================================
a key of `SHOWN`   ``{needed_m:line}``; ``line+`` rounds up (what is needed), ``line-`` down (what there is)
``altitude``       a height above mean sea level, and says so: MSL in US units, AMSL otherwise
``time``           a duration
``clock``          the time of day of a moment (ISO 8601)
``share``          a share of one, in per cent
``course``         a direction with three figures; ``true`` says so; ``bearing`` is magnetic for a pilot
``count WORD``     a number with its word, ``1 obstacle``, ``4 obstacles``; ``count body/bodies`` for another plural
``number``         a bare number
``latitude``       degrees of latitude, ``42.100 N``; ``longitude`` likewise
``angle``          an angle in whole degrees
``celsius``        a temperature in degrees Celsius, which hover charts read in whatever the reader's units
``label``          the screen's word for a key (`diproute.wording.labels`): ``fill setting`` is a bucket setting
``if``             prints nothing; its brackets stand only when it holds
``finding``        a finding inside the sentence, or several, joined by ``; ``
``list``           several findings, joined by commas
(none)             text as it is
=================  ==================================================================================
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from diproute.units import SHOWN, UNITS, Units, show, show_course, show_down, show_share, show_time, show_up
from diproute.wording.labels import label

_TOKEN = re.compile(r"\{(?P<name>\w+)(?::(?P<kind>[^}]*))?\}|(?P<open>\[)|(?P<close>\])")


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads: the units, and the declination where bearings are to be magnetic."""

    units: Units = "si"
    declination_deg: float | None = None  # east positive; None: bearings are true


@dataclass(frozen=True, slots=True)
class Field:
    """A value's place in a sentence."""

    name: str
    kind: str


@dataclass(frozen=True, slots=True)
class Optional:
    """A part that stands only when all its values are known."""

    parts: tuple[Part, ...]


Part = str | Field | Optional
Say = Callable[[Any], str]  # makes the sentence of a finding inside another


@cache
def parse(template: str) -> tuple[Part, ...]:
    """Take a template apart.

    Raises
    ------
    ValueError
        A bracket that is not closed, or not opened.
    """
    stack: list[list[Part]] = [[]]
    end = 0
    for token in _TOKEN.finditer(template):
        if token.start() > end:
            stack[-1].append(template[end : token.start()])
        end = token.end()
        if token["open"]:
            stack.append([])
        elif token["close"]:
            if len(stack) == 1:
                raise ValueError(f"a bracket closes that never opened: {template!r}")
            inside = tuple(stack.pop())
            stack[-1].append(Optional(inside))
        else:
            stack[-1].append(Field(token["name"], token["kind"] or "text"))
    if len(stack) > 1:
        raise ValueError(f"a bracket is not closed: {template!r}")
    return (*stack[0], template[end:])


def fields(parts: tuple[Part, ...], *, optional: bool = True) -> Iterator[Field]:
    """List the values that a template names; with ``optional=False`` only those outside brackets."""
    for part in parts:
        if isinstance(part, Field):
            yield part
        elif isinstance(part, Optional) and optional:
            yield from fields(part.parts)


def known(value: object) -> bool:
    """Tell whether a value can be told: not None, not NaN, not False."""
    return (
        value is not None
        and value is not False
        and not (isinstance(value, tuple | list) and not value)
        and not (isinstance(value, float) and math.isnan(value))
    )


def fill(parts: tuple[Part, ...], values: Mapping[str, Any], reader: Reader, say: Say) -> str:
    """Put values into a template that was taken apart."""
    words = []
    for part in parts:
        if isinstance(part, str):
            words.append(part)
        elif isinstance(part, Field):
            words.append(printed(values.get(part.name), part.kind, reader, say))
        elif all(known(values.get(field.name)) for field in fields(part.parts, optional=False)):
            words.append(fill(part.parts, values, reader, say))
    return "".join(words)


def printed(value: Any, kind: str, reader: Reader, say: Say) -> str:
    """Print one value as a kind of reading; unknown is ``"not known"``."""
    if kind == "if":
        return ""
    if not known(value):
        return "not known"
    name, _, word = kind.partition(" ")
    if name in _KINDS:
        return _KINDS[name](value, reader)
    if name == "count":
        return _counted(int(value), word)
    if name == "text":
        return str(value)
    if name in ("finding", "list"):
        several = value if isinstance(value, tuple | list) else (value,)
        return ("; " if name == "finding" else ", ").join(say(one) for one in several)
    if name.rstrip("+-") in SHOWN:
        how = {"+": show_up, "-": show_down}.get(name[-1], show)
        return how(value, name.rstrip("+-"), reader.units)
    raise ValueError(f"{kind!r} is no kind of reading")


def _counted(count: int, word: str) -> str:
    one, _, many = word.partition("/")
    return f"{count} {one if count == 1 else many or one + 's'}"


def _bearing(value: float, reader: Reader) -> str:
    if reader.declination_deg is None:
        return f"{show_course(value)} true"
    return f"{show_course(value - reader.declination_deg)} magnetic"


def _degrees(value: float, sides: str) -> str:
    return f"{abs(value):.3f} {sides[value < 0]}"


_KINDS: dict[str, Callable[[Any, Reader], str]] = {
    "altitude": lambda v, r: f"{show(v, 'height', r.units)} {'MSL' if r.units == 'us' else 'AMSL'}",
    "time": lambda v, _: show_time(v),
    "clock": lambda v, _: f"{datetime.fromisoformat(v):%H:%M}",
    "share": lambda v, _: show_share(v),
    "course": lambda v, _: show_course(v),
    "true": lambda v, _: f"{show_course(v)} true",
    "bearing": _bearing,
    "number": lambda v, _: f"{v:g}",
    "latitude": lambda v, _: _degrees(v, "NS"),
    "longitude": lambda v, _: _degrees(v, "EW"),
    "angle": lambda v, _: f"{v:.0f}°",
    "celsius": lambda v, _: f"{round(v - UNITS['temperature']['degC'][1], 1) + 0.0:g} °C",
    "label": lambda v, r: label(v, r.units),
}
