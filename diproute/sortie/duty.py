"""Flight and duty hours against the US interagency limits.

A pilot flies at most 8 hours a day within a duty day of 14, and 36 hours in six days running; then comes time off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diproute.constants import DUTY_DAY_S, FLIGHT_DAY_S, FLIGHT_SIX_DAYS_S
from diproute.errors import RangeError
from diproute.records import Sortie


@dataclass(frozen=True, slots=True)
class DutyLeft:
    """What is left of a pilot's day."""

    flight_s: float
    duty_s: float
    flight_limit: Literal["day", "six days"]  # the one of the flight limits that leaves the least


def duty_left(flown_today_s: float = 0.0, on_duty_s: float = 0.0, flown_before_s: Sequence[float] = ()) -> DutyLeft:
    """Count what is left of flight and duty time.

    Parameters
    ----------
    flown_today_s
        Flown so far today [s].
    on_duty_s
        On duty so far today [s].
    flown_before_s
        Flown on each of the days before, the latest first [s]; only the five before today count.

    Returns
    -------
    DutyLeft
        Never below nothing.

    Raises
    ------
    RangeError
        A time below nothing, or more flown today than on duty.
    """
    times = (flown_today_s, on_duty_s, *flown_before_s)
    if not all(time >= 0.0 for time in times) or flown_today_s > on_duty_s:
        raise RangeError(
            f"{flown_today_s!r} s flown in {on_duty_s!r} s on duty came; give times of 0 s or more, "
            "and a duty no shorter than the flying in it",
            where="duty",
        )
    day = FLIGHT_DAY_S.value - flown_today_s
    six_days = FLIGHT_SIX_DAYS_S.value - flown_today_s - sum(flown_before_s[:5])
    left = max(0.0, min(day, six_days))
    return DutyLeft(left, max(0.0, DUTY_DAY_S.value - on_duty_s), "six days" if six_days < day else "day")


def sorties_left(left: DutyLeft, sortie: Sortie, refuel_s: float) -> int:
    """Whole fuel cycles that still fit into a pilot's day.

    Parameters
    ----------
    left
        From `duty_left`.
    sortie
        The fuel cycle.
    refuel_s
        The part of it that is spent taking fuel, on duty but not flying [s].

    Returns
    -------
    int
        Fuel cycles; the last one ends on the ground at the base, so it takes no fuel.

    Raises
    ------
    RangeError
        Taking fuel takes longer than the whole fuel cycle.
    """
    if not 0.0 <= refuel_s < sortie.seconds:
        raise RangeError(
            f"{refuel_s!r} s of refuelling in a fuel cycle of {sortie.seconds:.0f} s came; give a part of it",
            where="refuel_s",
        )
    by_flight = left.flight_s / (sortie.seconds - refuel_s)
    by_duty = (left.duty_s + refuel_s) / sortie.seconds
    return math.floor(min(by_flight, by_duty) + 1e-9)
