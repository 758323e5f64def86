"""Reading the attributes of a mapped feature: heights, widths, voltages, yes and no, whatever way they were written."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Final

from diproute import units
from diproute.constants import FT_M, LENGTH_AT_MOST_M
from diproute.errors import QuantityError, plain

Tags = Mapping[str, object]

_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_FEET_INCHES: Final = re.compile(rf"\s*({_NUMBER})\s*(?:'|’)\s*(?:({_NUMBER})\s*(?:\"|''|”))?\s*\Z")
_RANGE: Final = re.compile(
    rf"[~<>≈±]?\s*({_NUMBER})\s*(?:([A-Za-z]+)?\s*(?:-|–|to)\s*({_NUMBER})\s*)?([A-Za-z]+)?\s*\Z"
)  # one number or two, the unit behind the last or behind both
_SPELT: Final = {
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "mtr": "m", "feet": "ft", "foot": "ft", "miles": "mi",
    "nm": "NM",
}  # fmt: skip
_NO: Final = frozenset({"", "no", "n", "0", "0.0", "false", "f", "none", "never"})


def text(tags: Tags, *keys: str) -> str:
    """First of the keys that holds something, as one line with control characters shown; empty when none does."""
    for key in keys:
        value = tags.get(key)
        if value is not None and (found := " ".join(str(value).split())):
            return plain(found)
    return ""


def word(tags: Tags, *keys: str) -> str:
    """Like `text`, in lower case, with spaces for underscores."""
    return text(tags, *keys).lower().replace("_", " ")


def yes(tags: Tags, *keys: str) -> bool:
    """Whether one of the keys holds anything but a no."""
    return any(text(tags, key).lower() not in _NO for key in keys)


def no(tags: Tags, *keys: str) -> bool:
    """Whether one of the keys holds a no."""
    return any(key in tags and (said := text(tags, key).lower()) and said in _NO for key in keys)


def number(tags: Tags, *keys: str) -> float | None:
    """First of the keys that holds a finite number; None when none does."""
    for key in keys:
        try:
            value = float(str(tags.get(key, "")).replace(",", "."))
        except ValueError:
            continue
        if math.isfinite(value):
            return value
    return None


def length_m(tags: Tags, *stems: str) -> float | None:
    """Read a length from ``stem``, ``stem_m`` or ``stem_ft``.

    A bare number is metres, as OpenStreetMap has it; text may carry its unit (``"125 ft"``, ``"40'"``); of a range or a
    list the greatest counts, as a height wants it. Negative numbers, the no-data numbers of public tables and what no
    height, width, depth or distance can be (over 10 km) are not known.

    Parameters
    ----------
    tags
        The feature's attributes, keys in lower case.
    stems
        Names to look for, the first that can be read wins.

    Returns
    -------
    float or None
        The length [m]; None when no attribute can be read.
    """
    return max(_lengths(tags, stems), default=None)


def least_length_m(tags: Tags, *stems: str) -> float | None:
    """Read a length as `length_m` does, but the least of a range or a list: for a depth or a width.

    ``"<3"`` is less than 3 m by nobody knows how much, so it is not known; see `bound_m`.
    """
    return min(_lengths(tags, stems, least=True), default=None)


def bound_m(tags: Tags, *stems: str) -> float | None:
    """Read what a length stays below, as ``"<3"`` says of a depth [m]; None where nothing says so."""
    said = {key: value for key, value in tags.items() if str(value).lstrip().startswith("<")}
    return min(_lengths(said, stems), default=None)


def _lengths(tags: Tags, stems: Sequence[str], *, least: bool = False) -> list[float]:
    """Every length of the first attribute that can be read [m]."""
    for stem in stems:
        for key, bare in ((f"{stem}_m", 1.0), (f"{stem}_ft", FT_M.value), (stem, 1.0)):
            said = text(tags, key)
            if least and said.startswith("<"):
                continue
            if found := [value for part in said.split(";") for value in _of_part(part, bare)]:
                return found
    return []


def volts(tags: Tags) -> float | None:
    """Highest of the voltages of a power line [V]; ``voltage`` is volts or text with kV, ``voltage_kv`` kilovolts."""
    if (kilovolts := number(tags, "voltage_kv", "kv", "vn_kv")) is not None:
        return kilovolts * 1000
    found = [
        float(value.replace(",", ".")) * (1000 if unit.lower() == "kv" else 1)
        for value, unit in re.findall(r"(\d+(?:[.,]\d+)?)\s*([kK]?[vV])?", text(tags, "voltage"))
    ]
    return max(found, default=None)


def _of_part(said: str, bare: float) -> list[float]:
    """Give the one length of a text, or both ends of its range [m]; none when it cannot be read."""
    if (feet := _FEET_INCHES.match(said)) is not None:
        inches = float(feet[2].replace(",", ".")) if feet[2] else 0.0
        return _possible([(float(feet[1].replace(",", ".")) + inches / 12) * FT_M.value])
    if (match := _RANGE.match(said.strip())) is None:
        return []
    values = [float(part.replace(",", ".")) for part in match.group(1, 3) if part]
    if min(values) < 0 or (match[2] and match[2] != match[4]):
        return []
    unit = match[4] or ""
    unit = unit if unit in units.UNITS["length"] else unit.lower()
    try:
        found = [
            units.parse(f"{value} {_SPELT.get(unit, unit)}", "length", "length") if unit else value * bare
            for value in values
        ]
    except QuantityError:
        return []
    return _possible(found)


def _possible(lengths: list[float]) -> list[float]:
    return lengths if max(lengths) <= LENGTH_AT_MOST_M.value else []
