"""Small data for the page: one table of texts, whole numbers as differences, paths thinned for a screen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np

from diproute.writing.map.shapes import DEGREE_M

GRAIN: Final = 1e5  # a place is kept in hundred-thousandths of a degree, about a metre
SIDEWAYS_M: Final = 3.0
UP_M: Final = 2.0
_HAIR: Final = 1e-6  # what arithmetic alone adds is no reason to round up or down

Place = tuple[float, float, float]  # longitude, latitude [deg], height [m]


class Texts:
    """Each text once; what says it holds its number."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def __call__(self, text: str) -> int:
        """Give the number of a text."""
        return self._numbers.setdefault(text, len(self._numbers))

    def maybe(self, text: str | None) -> int | None:
        """Give the number of a text that may be missing."""
        return None if text is None else self(text)

    @property
    def table(self) -> list[str]:
        """All texts by their numbers."""
        return list(self._numbers)


def deltas(values: Iterable[int | None]) -> list[int | None]:
    """Give each number as its difference from the one before; one that is not known stays None and is passed over."""
    found: list[int | None] = []
    last = 0
    for value in values:
        found.append(None if value is None else value - last)
        last = last if value is None else value
    return found


def degrees(value: float) -> int:
    """Give a latitude or longitude as a whole number."""
    return round(value * GRAIN)


def outline(points: Sequence[Sequence[float]]) -> list[int]:
    """Give places [lat, lon] as differences, latitude and longitude in turn."""
    found: list[int] = []
    before = (0, 0)
    for lat, lon in points:
        here = (degrees(lat), degrees(lon))
        if found and here == before:
            continue
        found += [here[0] - before[0], here[1] - before[1]]
        before = here
    return found


def nested(geometry: Any) -> Any:
    """Pack a place, a line or the rings of an area, as `shapes.pieces` gives them."""
    if isinstance(geometry[0], float):
        return [degrees(geometry[0]), degrees(geometry[1])]
    if isinstance(geometry[0][0], float):
        return outline(geometry)
    return [outline(ring) for ring in geometry]


def upward(value: float | None) -> int | None:
    """Round a height up."""
    return None if value is None else math.ceil(value - _HAIR)


def downward(value: float | None) -> int | None:
    """Round a height down."""
    return None if value is None else math.floor(value + _HAIR)


def tenths(value: float | None) -> int | None:
    """Give a number that the plan holds to a tenth as a whole number of tenths."""
    return None if value is None else round(value * 10)


def hundredths(value: float | None) -> int | None:
    """Give a number that the plan holds to a hundredth as a whole number of hundredths."""
    return None if value is None else round(value * 100)


def kept(path: Sequence[Place]) -> list[int]:
    """Choose the points of a path that a line through them needs (Douglas and Peucker, 1973, in three dimensions).

    Parameters
    ----------
    path
        The points.

    Returns
    -------
    list of int
        Their numbers, both ends among them. What is left out lies within `SIDEWAYS_M` beside the line that is drawn, or
        `UP_M` above or below it, or in proportion where both count.
    """
    at = np.array(path, dtype=np.float64)
    wide = math.cos(math.radians(float(at[0, 1])))
    scaled = at * (DEGREE_M * wide / SIDEWAYS_M, DEGREE_M / SIDEWAYS_M, 1.0 / UP_M)
    chosen = {0, len(at) - 1}
    waiting = [(0, len(at) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        run = scaled[last] - scaled[first]
        off = scaled[first + 1 : last] - scaled[first]
        square = float(run @ run)
        along = np.clip(off @ run / square, 0.0, 1.0) if square > 0 else np.zeros(len(off))
        stray = np.linalg.norm(off - along[:, None] * run, axis=1)
        worst = int(np.argmax(stray))
        if stray[worst] > 1.0:
            middle = first + 1 + worst
            chosen.add(middle)
            waiting += [(first, middle), (middle, last)]
    return sorted(chosen)


def clock(seconds: float) -> str:
    """Print a duration as minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"
