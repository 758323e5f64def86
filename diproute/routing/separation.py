"""One-way circuits: a leg that keeps a sideways distance from another, so that nobody is met head-on.

The ground within that distance of the other leg, away from the two ends that both share, costs extra; the field is
solved again for that one site. It is meant for the few sites that will be flown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final, Literal

import numpy as np

from diproute.records import Display, Finding, Leg
from diproute.routing.airspace import priced
from diproute.routing.blocked import Blocked
from diproute.routing.travel_time import Ask, Field, solve
from diproute.units import show

PRICE: Final = 3.0  # factor on the time inside the other leg's strip
ENDS: Final = 2.0  # distances from an end within which the legs may meet
CLOSE: Final = 0.05  # share of the leg inside the strip from which it is said


def legs_apart(
    field: Field, asks: Sequence[Ask], others: Sequence[Leg | Blocked], apart_m: float, drop: str,
    leg: Literal["loaded", "empty", "ferry"], display: Display = "metric",
) -> list[Leg | Blocked]:  # fmt: skip
    """Give legs that keep apart from others.

    Parameters
    ----------
    field
        The field of the legs wanted, most often the empty ones.
    asks, others
        The sites, and for each the leg to keep apart from.
    apart_m
        Sideways distance to keep [m].
    drop, leg, display
        As in `Field.legs`.

    Returns
    -------
    list of Leg or Blocked
        A leg that could not keep apart over more than a twentieth of its length says so.
    """
    out: list[Leg | Blocked] = []
    for ask, other in zip(asks, others, strict=True):
        strip = None if isinstance(other, Blocked) else strip_of(other, apart_m)
        if strip is None or strip.is_empty:
            out += field.legs([ask], drop, leg, display)
            continue
        again = solve(
            priced(field.airspace, [strip], lambda _: PRICE), field.flying, field.wind,
            field.source_x_m, field.source_y_m, field.source_bottom_m, towards=field.towards,
        )  # fmt: skip
        (found,) = again.legs([ask], drop, leg, display)
        out.append(_said(found, strip, apart_m, display) if isinstance(found, Leg) else found)
    return out


def strip_of(leg: Leg, apart_m: float) -> Any:
    """Give the ground within a distance of a leg, without its two ends, in working x, y."""
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    ends = shapely.MultiPoint([path.coords[0], path.coords[-1]]).buffer(ENDS * apart_m)
    return path.buffer(apart_m).difference(ends)


def _said(leg: Leg, strip: Any, apart_m: float, display: Display) -> Leg:
    import shapely

    shared = shapely.LineString(np.column_stack([leg.x_m, leg.y_m])).intersection(strip.buffer(-0.1 * apart_m)).length
    if shared <= CLOSE * leg.length_m:
        return leg
    said = Finding(
        "legs-close",
        f"{show(shared, 'distance', display)} of the {leg.leg} leg come closer than {show(apart_m, 'height', display)} "
        "to the other one: no one-way circuit there",
    )
    return replace(leg, cautions=(*leg.cautions, said))
