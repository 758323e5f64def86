"""Areas with people in them, and how far a hover, a dip or a drop keeps away."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from diproute.records import AvoidArea, Finding

_VEHICLES: Final = frozenset({"road", "railway"})  # kinds of a map that hold traffic, not people on foot
_NO_PEOPLE: Final = re.compile(
    r"\b(airspace|runway|restricted area|danger area|wires?|cables?|power ?line)\b", re.IGNORECASE
)


def holds_people(area: AvoidArea) -> bool:
    """Tell whether an area is taken to hold people.

    Every hard area from the ground up is, but for roads, railways and what its source calls airspace or a wire: a
    reason that nobody gives is not taken for safe.

    Parameters
    ----------
    area
        With the reason to keep out of it.
    """
    if not area.hard or area.floor_m is not None:
        return False
    values = area.why.values
    if values.get("kind") in _VEHICLES:
        return False
    return _NO_PEOPLE.search(f"{area.name} {values.get('text', '')}") is None


def people_near(areas: Sequence[AvoidArea], distance_m: float, x_m: float, y_m: float) -> Finding | None:
    """Tell of the nearest area with people that lies closer to a place than the distance; None: there is none.

    Parameters
    ----------
    areas
        Areas to avoid, in working x, y.
    distance_m
        To keep from them [m].
    x_m, y_m
        The place [m].
    """
    import shapely

    spot = shapely.Point(x_m, y_m)
    near = [(area.geometry.distance(spot), area) for area in areas if holds_people(area)]
    within = [(away, area.name, area) for away, area in near if away < distance_m]
    if not within:
        return None
    away, _, area = min(within, key=lambda one: one[:2])
    told = Finding.of("area", name=area.name, why=area.why)
    return Finding.of("people-near", area=told, away_m=float(away), distance_m=distance_m)
