"""One-way circuits: a leg that keeps a sideways distance from another, so that nobody is met head-on.

The ground within that distance of the other leg, away from the two ends that both share, costs extra in the search. It
is meant for the few sites that several helicopters will fly.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from diproute.constants import SEPARATION_ENDS, SEPARATION_PRICE, SEPARATION_SHARE
from diproute.records import Finding, Leg
from diproute.routing.airspace import priced
from diproute.routing.travel_time import Field


def apart_from(field: Field, other: Leg, separation_m: float) -> Field:
    """Give a field whose legs pay for coming near another leg.

    Parameters
    ----------
    field
        Of the legs wanted, most often the empty ones.
    other
        The leg to keep away from.
    separation_m
        Sideways distance to keep [m].

    Returns
    -------
    Field
        The same times; the price weighs in the search for a leg and is no time of it.
    """
    strip = strip_of(other, separation_m)
    if strip.is_empty:
        return field
    return replace(field, airspace=priced(field.airspace, [strip], lambda _: SEPARATION_PRICE.value))


def strip_of(leg: Leg, separation_m: float) -> Any:
    """Give the ground within a distance of a leg, without its two ends, in working x, y."""
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    ends = shapely.MultiPoint([path.coords[0], path.coords[-1]]).buffer(SEPARATION_ENDS.value * separation_m)
    return path.buffer(separation_m).difference(ends)


def told_apart(leg: Leg, other: Leg, separation_m: float) -> Leg:
    """Give a leg that says so where it cannot keep the distance over more than `constants.SEPARATION_SHARE` of it.

    Parameters
    ----------
    leg, other
        The leg, and the one to keep away from.
    separation_m
        Sideways distance to keep [m].
    """
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    shared = float(path.intersection(strip_of(other, separation_m).buffer(-0.1 * separation_m)).length)
    if shared <= SEPARATION_SHARE.value * leg.length_m:
        return leg
    close = Finding.of("legs-close", leg=leg.leg, shared_m=shared, separation_m=separation_m)
    return replace(leg, cautions=(*leg.cautions, close))
