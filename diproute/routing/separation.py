"""One-way circuits: a leg that keeps a sideways distance from another, so that nobody is met head-on.

The ground within that distance of the other leg, away from the two ends that both share, costs extra; the field is
solved again for that one site. It is meant for the few sites that will be flown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from diproute.constants import SEPARATION_ENDS, SEPARATION_PRICE, SEPARATION_SHARE
from diproute.records import Finding, Leg
from diproute.routing.airspace import priced
from diproute.routing.blocked import Blocked
from diproute.routing.leg import Kind, fly_legs
from diproute.routing.travel_time import Ask, Field, solve


def separated_legs(
    field: Field, asks: Sequence[Ask], others: Sequence[Leg | Blocked], separation_m: float, drop: str, kind: Kind
) -> list[Leg | Blocked]:
    """Give legs that keep a distance from others.

    Parameters
    ----------
    field
        The field of the legs wanted, most often the empty ones.
    asks, others
        The sites, and for each the leg to keep away from.
    separation_m
        Sideways distance to keep [m].
    drop, kind
        As in `fly_legs`.

    Returns
    -------
    list of Leg or Blocked
        A leg that could not keep the distance over more than `constants.SEPARATION_SHARE` of its length says so.
    """
    out: list[Leg | Blocked] = []
    for ask, other in zip(asks, others, strict=True):
        strip = None if isinstance(other, Blocked) else strip_of(other, separation_m)
        if strip is None or strip.is_empty:
            out += fly_legs(field, [ask], drop, kind)
            continue
        dearer = priced(field.airspace, [strip], lambda _: SEPARATION_PRICE.value)
        again = solve(dearer, field.flying, field.wind, field.sources, towards=field.towards)
        (found,) = fly_legs(again, [ask], drop, kind)
        out.append(_told(found, strip, separation_m) if isinstance(found, Leg) else found)
    return out


def strip_of(leg: Leg, separation_m: float) -> Any:
    """Give the ground within a distance of a leg, without its two ends, in working x, y."""
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    ends = shapely.MultiPoint([path.coords[0], path.coords[-1]]).buffer(SEPARATION_ENDS.value * separation_m)
    return path.buffer(separation_m).difference(ends)


def _told(leg: Leg, strip: Any, separation_m: float) -> Leg:
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    shared = float(path.intersection(strip.buffer(-0.1 * separation_m)).length)
    if shared <= SEPARATION_SHARE.value * leg.length_m:
        return leg
    close = Finding.of("legs-close", leg=leg.leg, shared_m=shared, separation_m=separation_m)
    return replace(leg, cautions=(*leg.cautions, close))
