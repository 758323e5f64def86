"""The FAA digital obstacle file (``.DAT``), in its present column layout.

The layout is the read-me's of 2018/2019 as restated by public parsers. A line in the layout before that is refused:
read with the present columns its height above sea level would pass for its height above ground.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Final

from diproute.constants import FT_M, NM_M
from diproute.errors import LayerError
from diproute.reading.refusals import refused, there, told

_FT: Final = FT_M.value
# accuracy codes: the read-me, as restated by public parsers
HORIZONTAL_M: Final[dict[str, float | None]] = {
    "1": 20 * _FT, "2": 50 * _FT, "3": 100 * _FT, "4": 250 * _FT, "5": 500 * _FT, "6": 1000 * _FT,
    "7": NM_M.value / 2, "8": NM_M.value, "9": None,
}  # fmt: skip
VERTICAL_M: Final[dict[str, float | None]] = {
    "A": 3 * _FT, "B": 10 * _FT, "C": 20 * _FT, "D": 50 * _FT, "E": 125 * _FT, "F": 250 * _FT, "G": 500 * _FT,
    "H": 1000 * _FT, "I": None,
}  # fmt: skip

_KEY: Final = "layers.obstacles"
_HEAD_LINES: Final = 20
_RECORD: Final = re.compile(
    r"(?P<oas>.{2}-.{6}) (?P<verified>[OU]) .{2} .{2} .{16} "
    r"(?P<lat>[ \d]\d [ \d]\d [ \d]\d\.\d\d[NS]) (?P<lon>[ \d]{2}\d [ \d]\d [ \d]\d\.\d\d[EW]) "
    r"(?P<type>[^\d]{18}) (?P<quantity>.) (?P<agl>[ \d]{5}) (?P<amsl>[ \d-]{5}) . (?P<h>.) (?P<v>.) . .{14} "
    r"(?P<action>.) (?P<when>\d{7})"
)
_OLD: Final = re.compile(
    r".{2}-.{6} [OU] .{50}[^\d]{12} [ \d] [ \d]{4}\d [ \d-]{4}\d [^\d] "
)  # quantity 76, heights 78-82 and 84-88
_CURRENCY: Final = re.compile(r"CURRENCY DATE\s*=\s*(\d\d)/(\d\d)/(\d\d)")


@dataclass(frozen=True, slots=True)
class FiledObstacle:
    """One record of the file, in SI."""

    number: str  # "01-001307"
    verified: bool
    lat_deg: float
    lon_deg: float
    type: str  # in lower case, as filed
    quantity: int | None
    height_m: float | None  # above ground, lights and aerials included; None: blank
    top_m: float | None  # AMSL; None: blank
    accuracy_m: float | None  # horizontal; None: unknown
    vertical_error_m: float | None  # None: unknown
    dismantled: bool
    dated: date


@dataclass(frozen=True, slots=True)
class ObstacleFile:
    """The records inside a box, and the date up to which the file is current."""

    current: date | None
    obstacles: tuple[FiledObstacle, ...]


def read_obstacle_file(path: Path, west: float, south: float, east: float, north: float) -> ObstacleFile:
    """Read the records of an obstacle file that lie within a box.

    Parameters
    ----------
    path
        The ``.DAT`` file.
    west, south, east, north
        The box, WGS 84 [deg]; its longitudes may run on past ±180.

    Returns
    -------
    ObstacleFile
        Records in the file's order.

    Raises
    ------
    LayerError
        A file that is not there, the layout of before 2018, or a record that does not fit: the line, and what to do.
    """
    real = there(path, _KEY)
    if not real.is_file():
        raise refused(_KEY, path.name, "is no plain file; give the obstacle file itself")
    with told(_KEY, path.name):
        lines = real.read_text(encoding="latin-1").splitlines()
    start = _start(lines)
    try:
        current = _current(lines[:start])
    except ValueError as error:
        raise refused(_KEY, path.name, f"names a currency date that is none ({error}); correct it") from error
    kept: list[FiledObstacle] = []
    middle = (west + east) / 2
    for i, line in enumerate(lines[start:], start=start + 1):
        if not line.strip() or (start == 0 and _CURRENCY.search(line)):
            continue
        try:
            lat, lon = _degrees(line[35:47]), _degrees(line[48:61])
        except ValueError:
            raise _misfit(path, i, line) from None
        if south <= lat <= north and west <= lon + 360 * round((middle - lon) / 360) <= east:
            kept.append(_record(path, i, line, lat, lon))
    return ObstacleFile(current, tuple(kept))


def currency(path: Path) -> date | None:
    """Date up to which an obstacle file says that it is current; None when it does not say."""
    with path.open(encoding="latin-1") as file:
        head = [line for line, _ in zip(file, range(_HEAD_LINES), strict=False)]
    start = _start(head)
    return _current(head[:start])


def _start(lines: Sequence[str]) -> int:
    """Find the first record's line, counted from 0."""
    return next((i + 1 for i, line in enumerate(lines[:_HEAD_LINES]) if line.startswith("-----")), 0)


def _current(head: Sequence[str]) -> date | None:
    found = next((found for line in head if (found := _CURRENCY.search(line))), None)
    if found is None:
        return None
    month, day, year = (int(part) for part in found.groups())
    return date(2000 + year, month, day)


def _record(path: Path, number: int, line: str, lat: float, lon: float) -> FiledObstacle:
    match = _RECORD.match(line)
    if match is None:
        raise _misfit(path, number, line)
    try:
        dated = datetime.strptime(match["when"], "%Y%j").date()
        agl, amsl = _feet(match["agl"]), _feet(match["amsl"])
    except ValueError:
        raise _misfit(path, number, line) from None
    return FiledObstacle(
        match["oas"], match["verified"] == "O", lat, lon, match["type"].strip().lower(),
        int(match["quantity"]) if match["quantity"].isdigit() else None, agl, amsl, HORIZONTAL_M.get(match["h"]),
        VERTICAL_M.get(match["v"]), match["action"] == "D", dated,
    )  # fmt: skip


def _degrees(text: str) -> float:
    """Degrees of ``30 10 45.00N`` or ``088 04 39.00W``; ValueError when it is none."""
    degrees, minutes, seconds = text[:-1].split()
    if text[-1] not in "NSEW" or not 0 <= float(minutes) < 60 or not 0 <= float(seconds) < 60:
        raise ValueError(text)
    value = int(degrees) + int(minutes) / 60 + float(seconds) / 3600
    return -value if text[-1] in "SW" else value


def _feet(text: str) -> float | None:
    return int(text) * _FT if text.strip() else None


def _misfit(path: Path, number: int, line: str) -> LayerError:
    if _OLD.match(line):
        why = "is in the layout of before 2018, whose height columns differ; get the file's present edition"
    else:
        why = f"does not fit the obstacle file's columns: {line[:60]!r}; correct or remove it"
    return LayerError(f"{_KEY}: {path.name} line {number} {why}", where=_KEY, got=line)
