"""A drop surveyed like a dip: how high the bucket must hang over it, and the line that keeps hook and rotor clear."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diproute.records import F64, Corridors, Finding, Governing, Ground
from diproute.sites.clearance import Heights, Sweeper, survey
from diproute.sites.relief import Circle
from diproute.sites.rules import ClearanceRules


@dataclass(frozen=True, slots=True)
class DropSurvey:
    """The points of a drop, or the base. Arrays have one entry a point."""

    bottom_m: F64  # of the bucket there [m AMSL]; NaN: not known
    line_needed_m: float  # the shortest line that is long enough at every known point; NaN: not known at one of them
    asks: Governing | None  # what asks for that line


def survey_drop(
    ground: Ground, heights: Heights, rules: ClearanceRules, spots: tuple[F64, F64], height_m: float
) -> DropSurvey:
    """Survey the points of a drop.

    The bucket hangs by ``height_m`` and the layers' vertical error above everything that touches the circle of the
    corridor's start half-width round the point; wires keep their own margin where that is more. The line is found as
    at a dip, from that height of the bucket.

    Parameters
    ----------
    ground, heights, rules
        The working grid, made ready with the same rules.
    spots
        x and y [m], shape (n,) each.
    height_m
        Bucket's bottom over everything below it [m].

    Returns
    -------
    DropSurvey
        A point off the grid, or over ground that is not known, has no height.
    """
    x, y = spots
    highest = _highest(ground, heights, rules, spots)
    error = ground.vertical_error_m or 0.0
    bottom = highest + height_m + error
    known = np.isfinite(bottom)
    needed, asks = 0.0, None
    if known.any():
        found = survey(ground, x[known], y[known], bottom[known], rules, 4, heights)
        worst = max(found, key=lambda one: np.inf if np.isnan(one.line_needed_m) else one.line_needed_m)
        needed, asks = worst.line_needed_m, worst.line_governing
    return DropSurvey(bottom, needed, asks)


def _highest(ground: Ground, heights: Heights, rules: ClearanceRules, spots: tuple[F64, F64]) -> F64:
    """Highest thing that touches the circle round each point [m AMSL]."""
    sweeper = Sweeper(ground, spots[0], spots[1], np.zeros(len(spots[0])), 4)
    radius = rules.departure.half_width_m / sweeper.cell_m
    circle = Circle(radius=float(radius), reach=float(radius), side_slope=0.0, stands=-np.inf)
    return sweeper.highest_in(heights.plain, circle).over_m


def climb_out(corridors: Corridors, drop: str, limit_m: float) -> Finding | None:
    """Tell of a drop that no corridor leaves, or reaches, within the limit of its lift; None: some does.

    Parameters
    ----------
    corridors
        Surveyed round the points of the drop, from the height of the bucket there.
    drop
        Its name.
    limit_m
        Of the lift [m].

    Returns
    -------
    Finding or None
        ``drop-climb-out`` with the least lift that would do and how much higher the drop had to be for it.
    """
    known = corridors.lift_m[np.isfinite(corridors.lift_m)]
    if not known.size:
        return Finding.of("drop-climb-out", drop=drop, lift_m=None, limit_m=limit_m, higher_m=None)
    least = float(known.min())
    if least <= limit_m:
        return None
    return Finding.of("drop-climb-out", drop=drop, lift_m=least, limit_m=limit_m, higher_m=least - limit_m)
