"""The border between trade units and SI: ``"125 ft"`` in, metres inside, trade units out.

Inside the package every number is SI (m, kg, s, Pa, K, m/s; litres for water and fuel volumes, degrees for
directions) with the unit in its name.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable
from typing import Final, Literal

from diproute.constants import FT_M, IMP_GAL_L, INHG_PA, LB_KG, NM_M, US_GAL_L
from diproute.errors import QuantityError

Kind = Literal[
    "length", "speed", "mass", "volume", "time", "pressure", "temperature", "direction", "ratio", "flow", "density",
    "line_mass", "settle", "lapse", "temperature_difference",
]  # fmt: skip
Display = Literal["us", "metric"]  # what a reader may ask for
Units = Literal["us", "metric", "si"]  # and the plan file's own sentences

_FT, _NM, _LB, _GAL = FT_M.value, NM_M.value, LB_KG.value, US_GAL_L.value

# unit -> (factor, offset): SI = factor * value + offset
UNITS: Final[dict[Kind, dict[str, tuple[float, float]]]] = {
    "length": {"m": (1, 0), "km": (1000, 0), "ft": (_FT, 0), "NM": (_NM, 0), "mi": (1609.344, 0)},
    "speed": {
        "m/s": (1, 0), "kt": (_NM / 3600, 0), "km/h": (1 / 3.6, 0), "mph": (0.44704, 0), "ft/min": (_FT / 60, 0),
    },
    "mass": {"kg": (1, 0), "lb": (_LB, 0), "t": (1000, 0)},
    "volume": {"L": (1, 0), "m3": (1000, 0), "gal": (_GAL, 0), "impgal": (IMP_GAL_L.value, 0)},
    "time": {"s": (1, 0), "min": (60, 0), "h": (3600, 0)},
    "pressure": {"Pa": (1, 0), "hPa": (100, 0), "inHg": (INHG_PA.value, 0)},
    "temperature": {"K": (1, 0), "degC": (1, 273.15), "degF": (5 / 9, 273.15 - 32 * 5 / 9)},
    "temperature_difference": {"K": (1, 0), "degC": (1, 0), "degF": (5 / 9, 0)},
    "direction": {"deg": (1, 0)},
    "ratio": {"%": (0.01, 0)},
    "flow": {"L/h": (1, 0), "gal/h": (_GAL, 0)},
    "density": {"kg/L": (1, 0), "kg/m3": (0.001, 0), "lb/gal": (_LB / _GAL, 0)},
    "line_mass": {"kg/m": (1, 0), "lb/ft": (_LB / _FT, 0)},
    "settle": {"s/m": (1, 0), "s/ft": (1 / _FT, 0)},
    "lapse": {"K/m": (1, 0), "K/km": (0.001, 0), "degC/km": (0.001, 0), "degC/1000ft": (1 / (1000 * _FT), 0)},
}  # fmt: skip

EXAMPLES: Final[dict[Kind, str]] = {
    "length": "125 ft", "speed": "12 kt", "mass": "95 kg", "volume": "820 L", "time": "20 min", "pressure": "1009 hPa",
    "temperature": "31 degC", "temperature_difference": "3 degC", "direction": "240 deg", "ratio": "80 %",
    "flow": "180 L/h", "density": "0.8 kg/L", "line_mass": "0.6 kg/m", "settle": "0.2 s/m", "lapse": "6.5 K/km",
}  # fmt: skip

# what `show` prints and keyboards offer, and the unit it is
_ALSO: Final = {"°C": "degC", "°F": "degF", "°": "deg", "US gal": "gal", "m³": "m3", "kg/m³": "kg/m3"}
_QUANTITY = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*?)?\s*\Z")


def parse(text: object, kind: Kind, where: str) -> float:
    """Read one quantity with its unit and give it in SI.

    Parameters
    ----------
    text
        What came, ``"125 ft"``; anything but text with a unit is refused.
    kind
        What it measures, a key of `UNITS`.
    where
        The key it came from, for the message.

    Returns
    -------
    float
        The value in the SI unit of `kind` [m, m/s, kg, L, s, Pa, K, deg, 1, L/h, kg/L, kg/m, s/m, K/m].

    Raises
    ------
    QuantityError
        A bare number, an unknown unit, text that is no quantity, or a temperature below absolute zero. Names the key,
        what came and an example.
    """
    example = f'write it like "{EXAMPLES[kind]}"'
    if isinstance(text, bool) or not isinstance(text, str):
        raise QuantityError(f"{where}: got {text!r}, wanted a {kind.replace('_', ' ')} with its unit; {example}",
                            where=where, got=text)  # fmt: skip
    match = _QUANTITY.match(text.replace("\u202f", ""))
    if match is None:
        raise QuantityError(f"{where}: cannot read {text!r} as a {kind.replace('_', ' ')}; {example}",
                            where=where, got=text)  # fmt: skip
    number, unit = float(match[1]), _ALSO.get(match[2], match[2])
    table = UNITS[kind]
    if unit is None:
        raise QuantityError(f"{where}: got {text!r} without a unit; {example}", where=where, got=text)
    if unit not in table:
        near = difflib.get_close_matches(unit.lower(), [u.lower() for u in table], n=1)
        hint = next((f'; did you mean "{u}"?' for u in table if near and u.lower() == near[0]), "")
        raise QuantityError(f"{where}: unknown unit {unit!r} in {text!r}; known: {', '.join(table)}{hint}",
                            where=where, got=text)  # fmt: skip
    factor, offset = table[unit]
    value = factor * number + offset
    if kind == "temperature" and value < 0:
        raise QuantityError(f"{where}: {text!r} is below absolute zero; {example}", where=where, got=text)
    if not math.isfinite(number):
        raise QuantityError(f"{where}: {text!r} is not a finite number; {example}", where=where, got=text)
    return value


# kind of reading -> (us unit, decimals), (metric unit, decimals), (SI unit, decimals at the most)
SHOWN: Final[dict[str, tuple[tuple[str, int], tuple[str, int], tuple[str, int]]]] = {
    "height": (("ft", 0), ("m", 0), ("m", 1)),
    "distance": (("NM", 1), ("km", 1), ("m", 0)),
    "line": (("ft", 0), ("m", 0), ("m", 1)),
    "depth": (("ft", 0), ("m", 1), ("m", 1)),
    "speed": (("kt", 0), ("km/h", 0), ("m/s", 1)),
    "wind": (("kt", 0), ("kt", 0), ("m/s", 1)),
    "vertical": (("ft/min", 0), ("m/s", 1), ("m/s", 2)),
    "mass": (("lb", 0), ("kg", 0), ("kg", 0)),
    "volume": (("gal", 0), ("L", 0), ("L", 0)),
    "temperature": (("degF", 0), ("degC", 0), ("degC", 1)),
    "temperature_difference": (("degF", 0), ("degC", 0), ("K", 1)),
    "pressure": (("inHg", 2), ("hPa", 0), ("hPa", 1)),
}
_KIND_OF: Final[dict[str, Kind]] = {
    "height": "length", "distance": "length", "line": "length", "depth": "length", "speed": "speed", "wind": "speed",
    "vertical": "speed", "mass": "mass", "volume": "volume", "temperature": "temperature",
    "temperature_difference": "temperature_difference", "pressure": "pressure",
}  # fmt: skip
_PRINTED: Final = {"degF": "°F", "degC": "°C", "gal": "US gal"}
_COLUMN: Final[dict[Units, int]] = {"us": 0, "metric": 1, "si": 2}


def show(value: float | None, what: str, display: Units, *, unit: bool = True) -> str:
    """Print an SI value in the units its reader uses.

    Parameters
    ----------
    value
        The value [SI]; None or NaN prints as ``"not known"``.
    what
        A key of `SHOWN`: ``"height"``, ``"distance"``, ``"mass"``, …
    display
        ``"us"``, ``"metric"`` or ``"si"``.
    unit
        False leaves the unit's name out (for a table whose heading carries it).

    Returns
    -------
    str
        ``"4 210 ft"``, with a thin space between thousands.
    """
    if value is None or math.isnan(value):
        return "not known"
    name, decimals = SHOWN[what][_COLUMN[display]]
    factor, offset = UNITS[_KIND_OF[what]][name]
    number = f"{(value - offset) / factor:,.{decimals}f}".replace(",", "\u202f")
    if display == "si":
        number = re.sub(r"\.0+$", "", number)
    number = "0" if number == "-0" else number
    return f"{number} {_PRINTED.get(name, name)}" if unit else number


def show_up(value: float | None, what: str, display: Units) -> str:
    """Print as `show` does, rounded up: for what is needed, so that the printed figure is never too small."""
    return show(_whole(value, what, display, math.ceil), what, display)


def show_down(value: float | None, what: str, display: Units) -> str:
    """Print as `show` does, rounded down: for what there is, so that the printed figure is never too large."""
    return show(_whole(value, what, display, math.floor), what, display)


def _whole(value: float | None, what: str, display: Units, to: Callable[[float], int]) -> float | None:
    if value is None or not math.isfinite(value):
        return value
    name, decimals = SHOWN[what][_COLUMN[display]]
    factor, offset = UNITS[_KIND_OF[what]][name]
    steps = (value - offset) / factor * 10**decimals
    hair = 1e-6 if to is math.ceil else -1e-6  # 45 m is 45 m, whatever its last digit
    return to(steps - hair) * factor / float(10**decimals) + offset


def unit_name(what: str, display: Units) -> str:
    """Name the unit that `show` prints for a reading: ``"ft"``, ``"US gal"``."""
    name = SHOWN[what][_COLUMN[display]][0]
    return _PRINTED.get(name, name)


def show_time(seconds: float) -> str:
    """Print a duration: ``"4 min 05 s"``, ``"1 h 52 min"``, ``"35 s"``; NaN is ``"not known"``."""
    if math.isnan(seconds):
        return "not known"
    whole = round(seconds)
    if whole >= 3600:
        minutes = round(seconds / 60)
        return f"{minutes // 60} h {minutes % 60:02d} min"
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def show_share(share: float) -> str:
    """Print a share of one in per cent: ``"80 %"``."""
    return "not known" if math.isnan(share) else f"{share * 100:.0f} %"


def show_course(course_deg: float) -> str:
    """Print a course with three figures, north as 360: ``"045°"``; NaN is ``"not known"``."""
    if math.isnan(course_deg):
        return "not known"
    return f"{(round(course_deg) - 1) % 360 + 1:03d}°"
