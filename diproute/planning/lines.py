"""The carried lines compared at one site: what each costs, which one is recommended, and why none will do."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diproute.records import Clearance, Cycle, Finding, Incident, Line, LineChoice
from diproute.sortie.fuel_cycle import Answer
from diproute.units import show, show_time, show_up


@dataclass(frozen=True, slots=True)
class Compared:
    """The recommended line with its cycle and fuel cycle, and what every carried line would mean."""

    line: Line
    flown: tuple[Cycle, Answer]
    choices: tuple[LineChoice, ...]


def line_refusal(incident: Incident, clearance: Clearance) -> Finding | None:
    """Refuse a site that asks for more line than is carried, or whose hover circle is not known."""
    needed, display = clearance.line_needed_m, incident.display
    longest = incident.lines[-1].length_m
    if math.isnan(needed):
        return Finding(
            "obstacles-unknown", "what stands in the hover circle is not known: the layers have no data there"
        )
    if needed <= longest + 1e-9:
        return None
    asks = clearance.line_governing
    thing = (
        f": {asks.what}, {show(asks.height_m, 'line', display)} above the water, "
        f"{show(asks.distance_m, 'line', display)} away"
        if asks
        else ""
    )
    return Finding(
        "line-too-short",
        f"a line of {show_up(needed, 'line', display)} would be needed, the longest carried is "
        f"{show(longest, 'line', display)}{thing}",
    )


def compare_lines(
    enough: Sequence[Line], fly: Callable[[Line], tuple[Cycle, Answer]], incident: Incident, clearance: Clearance
) -> Compared:
    """Fly every line that is long enough and recommend the one with the most water an hour, of equal ones the shortest.

    Parameters
    ----------
    enough
        Carried lines that reach, shortest first, at least one.
    fly
        Gives a line's cycle and fuel cycle at the site.
    incident
        For the lines that are too short, and the units.
    clearance
        For the length that is needed.
    """
    flown = [(line, *fly(line)) for line in enough]
    best = max(range(len(flown)), key=lambda i: (_per_hour(flown[i][2]), -i))
    line, trip, answer = flown[best]
    needed, display = clearance.line_needed_m, incident.display
    choices = [
        LineChoice(
            short.length_m,
            False,
            math.nan,
            math.nan,
            math.nan,
            f"too short: {show_up(needed, 'line', display)} is needed",
        )
        for short in incident.lines
        if short.length_m < enough[0].length_m
    ]
    for i, (other, cycle, result) in enumerate(flown):
        rate = _per_hour(result)
        if result.sortie is None:
            because = result.refused[0].because
        elif i == best:
            because = f"recommended: the most water an hour of the lines that reach {show_up(needed, 'line', display)}"
        else:
            because = (
                f"{show(_per_hour(answer) - rate, 'volume', display)} an hour less, the cycle "
                f"{show_time(abs(cycle.seconds - trip.seconds))} "
                f"{'longer' if cycle.seconds >= trip.seconds else 'shorter'}"
            )
        choices.append(
            LineChoice(
                other.length_m,
                i == best and result.sortie is not None,
                rate if result.sortie else math.nan,
                cycle.seconds,
                result.load.margin_kg,
                because,
            )
        )
    return Compared(line, (trip, answer), tuple(choices))


def _per_hour(answer: Answer) -> float:
    return -1.0 if answer.sortie is None else answer.sortie.litres_per_hour
