"""Names of waters that can be read over the radio: every water has one, and no two sound the same.

A water without a name is called by its place, ``pond 1.2 km NE of Head``; namesakes get their place beside the name,
``Long Lake (3.4 km W of Head)``. The place is that of the shore nearest to a drop, from the nearest drop.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain, count
from typing import Final

import numpy as np

from diproute.physics.geodesy import frame_of
from diproute.records import F64, Grid, WaterBody

_COMPASS: Final = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
_TENTHS_TO_KM: Final = 9.95  # from here on whole kilometres
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place that waters are named from: the points of a drop."""

    name: str
    x_m: F64
    y_m: F64


def with_names(waters: Sequence[WaterBody], marks: Sequence[Mark], grid: Grid) -> tuple[WaterBody, ...]:
    """Give every water a name of its own.

    Parameters
    ----------
    waters
        In an order that does not depend on that of files and features.
    marks
        The drops.
    grid
        The working grid, for true north.

    Returns
    -------
    tuple of WaterBody
        The same waters; those without a name of their own are not `records.WaterBody.named`.
    """
    namesakes: dict[str, int] = defaultdict(int)
    for water in waters:
        namesakes[_heard(water.name)] += 1
    taken = {heard for heard, times in namesakes.items() if heard and times == 1}
    alike: dict[tuple[str, str], list[int]] = defaultdict(list)
    for i, water in enumerate(waters):
        if _heard(water.name) not in taken:
            alike[_heard(water.name) or water.kind, _place(water, marks, grid)].append(i)
    named = list(waters)
    for (_, place), members in alike.items():
        letters = chain([""] if len(members) == 1 else [], _LETTERS, map(str, count(2)))
        for i in members:
            name = _called(waters[i], place, next(letters))
            while _heard(name) in taken:
                name = _called(waters[i], place, next(letters))
            taken.add(_heard(name))
            named[i] = replace(waters[i], name=name, named=bool(waters[i].name))
    return tuple(named)


def _heard(name: str) -> str:
    return " ".join(name.split()).casefold()


def _called(water: WaterBody, place: str, letter: str) -> str:
    if water.name:
        return f"{water.name} ({letter}, {place})" if letter else f"{water.name} ({place})"
    return f"{water.kind} {letter} {place}" if letter else f"{water.kind} {place}"


def _place(water: WaterBody, marks: Sequence[Mark], grid: Grid) -> str:
    """Tell where a water lies from the nearest mark, by its nearest shore."""
    import shapely

    found = []
    for mark in marks:
        points = shapely.points(mark.x_m, mark.y_m)
        away = shapely.distance(points, water.polygon)
        nearest = int(np.argmin(away))
        found.append((round(float(away[nearest])), mark.name, nearest, mark))
    away_m, name, nearest, mark = min(found, key=lambda entry: entry[:3])
    x, y = float(mark.x_m[nearest]), float(mark.y_m[nearest])
    km = away_m / 1000
    if km < 0.05:
        return f"at {name}"
    (_, _), (to_x, to_y) = shapely.get_coordinates(shapely.shortest_line(shapely.Point(x, y), water.polygon))
    convergence_deg = float(frame_of(grid).convergence_deg(x, y))
    octant = round((np.degrees(np.arctan2(to_x - x, to_y - y)) + convergence_deg) / 45.0) % 8
    distance = f"{km:.1f} km" if km < _TENTHS_TO_KM else f"{km:.0f} km"
    return f"{distance} {_COMPASS[octant]} of {name}"
