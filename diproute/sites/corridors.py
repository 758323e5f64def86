"""Corridors of several gradients and lengths round the ends of legs: the lift that each asks for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from diproute.records import F64, Corridors, Ground
from diproute.sites.clearance import Heights, Sweeper
from diproute.sites.rules import ClearanceRules

DIRECTIONS = 72


def survey_corridors(
    ground: Ground, heights: Heights, rules: ClearanceRules, spots: tuple[F64, F64, F64], kinds: tuple[F64, F64],
    *, least_lift_m: float,
) -> Corridors:  # fmt: skip
    """Survey the corridors of some ends.

    Parameters
    ----------
    ground, heights, rules
        The working grid, made ready by `diproute.sites.clearance.prepare` with the same rules.
    spots
        x and y [m] and the height of the bucket's bottom [m AMSL; NaN: nothing is known there], shape (n,) each.
    kinds
        Gradients and surveyed lengths [m]; every gradient is surveyed over every length.
    least_lift_m
        Of any corridor [m].

    Returns
    -------
    Corridors
        ``lift`` as `diproute.sites.clearance.survey` defines it: the greatest of ``top − z + load_margin − g·d`` over
        all cells that touch the corridor, at least the least lift; its kinds run through the gradients for each length.
    """
    gradients, lengths = kinds
    sweeper = Sweeper(ground, *spots, DIRECTIONS)
    rules = replace(rules, least_lift_m=least_lift_m)
    pairs = [(float(g), float(s)) for s in lengths for g in gradients]
    lift = [
        sweeper.lift(heights, rules, replace(rules.departure, slope=slope, length_m=length)).over_m
        for slope, length in pairs
    ]
    return Corridors(
        sweeper.x_m, sweeper.y_m, sweeper.points.level, sweeper.bearing_deg, sweeper.points.bearing,
        np.array([slope for slope, _ in pairs]), np.array([length for _, length in pairs]), np.stack(lift, axis=-1),
    )  # fmt: skip
