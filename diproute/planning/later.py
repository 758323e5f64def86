"""Sites that the weather of the plan's time leaves no way to, flown in another hour of its day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from diproute.planning.assessment import Flown, fly_sites
from diproute.planning.gateways import courses_over
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.records import Weather

HOURS: Final = 3  # whose fields are solved for it at most
# what another hour's wind may change about a leg that cannot be flown
BY_WIND: Final = frozenset({"no-flyable-departure", "no-flyable-arrival", "blocked-wind"})


def fly_later(fields: TravelFields, flown: Sequence[Flown]) -> list[Flown]:
    """Give every site its ways in the weather of the plan's time, or else in another hour of the day.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    flown
        The sites as flown in it.

    Returns
    -------
    list of Flown
        In the same order; what the plan's time leaves a way to is as it was. The hours are taken by how many of the
        other sites the wind leaves open in them, so that hours whose own ways can be looked for anew begin from one.
    """
    found = list(flown)
    waiting = [i for i, one in enumerate(flown) if _waits(one)]
    hours = [replace(fields.weather, air=hour.air, wind=hour.wind) for hour in fields.weather.hourly]
    tried: list[Weather] = [fields.weather]
    for _ in range(HOURS):
        left = [hour for hour in hours if not any(_alike(hour, other) for other in tried)]
        opens = [[i for i in waiting if _open_in(fields, flown[i], hour)] for hour in left]
        best = max(range(len(left)), key=lambda h: (len(opens[h]), -h), default=None)
        if best is None or not opens[best]:
            break
        tried.append(left[best])
        then = solve_fields(fields.prepared, left[best], rungs=False)
        for i, one in zip(opens[best], fly_sites(then, [flown[i].candidate for i in opens[best]]), strict=True):
            if one.rounds is not None:
                found[i] = one
        waiting = [i for i in waiting if found[i].rounds is None]
    return found


def _waits(one: Flown) -> bool:
    """Whether a site has no way, and another hour's wind may give it one."""
    blocked = one.blocked
    return one.line is not None and blocked is not None and blocked.why.code in BY_WIND


def _alike(one: Weather, other: Weather) -> bool:
    return one.wind == other.wind


def _open_in(fields: TravelFields, one: Flown, weather: Weather) -> bool:
    """Whether the survey and the wind of an hour leave a way in and a way out."""
    ends = one.ends
    for corridors, is_open, departure in ((ends.into, ends.open_in, False), (ends.out, ends.open_out, True)):
        courses = courses_over(fields.prepared, corridors.bearing_deg, corridors.z_m, weather.wind, departure=departure)
        if not (is_open & courses.allowed).any():
            return False
    return bool(np.isfinite(ends.out.z_m).all())
