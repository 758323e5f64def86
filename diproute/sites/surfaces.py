"""Strips of air that widen and climb away from a dip point: the flown corridors and the published surfaces."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, NamedTuple

from diproute import constants as k
from diproute.errors import RangeError


class Strip(NamedTuple):
    """A `Corridor` as the sweep's kernel takes it: lengths in cells, slopes in metres a cell."""

    half_width: float
    spread: float
    length: float
    slope: float
    start: float
    widest: float
    bend: float
    slope_beyond: float


@dataclass(frozen=True, slots=True)
class Corridor:
    """A strip that runs outward from a dip point, widening, under a line that climbs.

    In the distance ``d`` along the strip from its start, ``0 <= d <= length_m``, the strip is
    ``min(half_width_m + spread·d, widest_m)`` wide on each side, and the line has climbed ``slope·d`` up to
    ``bend_m`` and ``slope_beyond`` a metre after it.
    """

    half_width_m: float
    spread: float
    length_m: float
    slope: float
    start_m: float = 0.0  # from the dip point to the start of the strip
    widest_m: float = math.inf
    bend_m: float = math.inf
    slope_beyond: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.half_width_m, self.spread, self.slope, self.start_m, self.slope_beyond, self.bend_m)
        if not (all(size >= 0 for size in sizes) and 0 < self.length_m < math.inf):
            raise RangeError(f"corridor of {self}: every size must be 0 or more and the length above 0; check [limits]")

    def rise(self, distance_m: float) -> float:
        """Height of the line over its start at a distance along the strip [m]."""
        return self.slope * min(distance_m, self.bend_m) + self.slope_beyond * max(0.0, distance_m - self.bend_m)

    def in_cells(self, cell_m: float) -> Strip:
        """Give the strip on cells of a size [m]."""
        return Strip(
            half_width=float(self.half_width_m / cell_m),
            spread=float(self.spread),
            length=float(self.length_m / cell_m),
            slope=float(self.slope * cell_m),
            start=float(self.start_m / cell_m),
            widest=float(self.widest_m / cell_m),
            bend=float(self.bend_m / cell_m),
            slope_beyond=float(self.slope_beyond * cell_m),
        )


def _far_part_77(hover_circle_m: float, rotor_diameter_m: float) -> Corridor:
    del rotor_diameter_m  # the outer width is published in feet
    length, half_end = k.SURFACE_LENGTH_M.value, k.SURFACE_END_WIDTH_M.value / 2
    half = hover_circle_m / 2
    return Corridor(half, max(0.0, half_end - half) / length, length, k.SURFACE_SLOPE.value, start_m=half)


def _annex_14(
    length: k.Constant, slope: k.Constant, bend_m: float, beyond: float
) -> Callable[[float, float], Corridor]:
    def build(hover_circle_m: float, rotor_diameter_m: float) -> Corridor:
        half = hover_circle_m / 2
        widest = max(half, k.ICAO_OUTER_ROTORS.value * rotor_diameter_m / 2)
        return Corridor(half, k.ICAO_DIVERGENCE.value, length.value, slope.value, half, widest, bend_m, beyond)

    return build


SURFACES: Final[dict[str, Callable[[float, float], Corridor]]] = {
    "8:1": _far_part_77,
    "icao-a": _annex_14(k.ICAO_A_LENGTH_M, k.ICAO_A_SLOPE, math.inf, 0.0),
    "icao-b": _annex_14(k.ICAO_B_LENGTH_M, k.ICAO_B_SLOPE, k.ICAO_B_BEND_M.value, k.ICAO_B_SLOPE_BEYOND.value),
    "icao-c": _annex_14(k.ICAO_C_LENGTH_M, k.ICAO_C_SLOPE, math.inf, 0.0),
}


def published_surface(name: str, hover_circle_m: float, rotor_diameter_m: float) -> Corridor:
    """Give the published approach and departure surface of a name, its foot at the water.

    The hover circle stands for the primary surface (14 CFR 77.23) or the safety area (ICAO Annex 14).

    Parameters
    ----------
    name
        A key of `SURFACES`: ``"8:1"`` is 14 CFR 77.23, civil (width of the hover circle at its edge, 500 ft wide
        after 4000 ft); ``"icao-a"``, ``"icao-b"``, ``"icao-c"`` are the slope categories of ICAO Annex 14 Volume II,
        Table 4-1, by day (from memory).
    hover_circle_m
        Diameter of the hover circle [m].
    rotor_diameter_m
        Diameter of the rotor [m]; the ICAO surfaces end at 7 of them across.

    Returns
    -------
    Corridor
        The surface as a strip, its start at the hover circle's edge.

    Raises
    ------
    RangeError
        An unknown name; the message lists the known ones.
    """
    if name not in SURFACES:
        raise RangeError(f"no surface is called {name!r}; known: {', '.join(SURFACES)}", where="surface", got=name)
    return SURFACES[name](hover_circle_m, rotor_diameter_m)
