"""The carried lines compared at one site: what each costs, which one is recommended, and why none will do."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diproute.records import Clearance, Cycle, Finding, Incident, Line, LineChoice
from diproute.sortie.fuel_cycle import Answer


@dataclass(frozen=True, slots=True)
class Compared:
    """The recommended line with its cycle and fuel cycle, and what every carried line would mean."""

    line: Line
    cycle: Cycle
    answer: Answer
    choices: tuple[LineChoice, ...]


def line_refusal(incident: Incident, clearance: Clearance, drop_line_m: float) -> Finding | None:
    """Refuse a site that asks for more line than is carried, or whose hover circle is not known.

    Parameters
    ----------
    incident
        Gives the carried lines.
    clearance
        What stands round the dip.
    drop_line_m
        What the drops ask for [m]; NaN: not known.
    """
    needed_m, longest_m = clearance.line_needed_m, incident.lines[-1].length_m
    if math.isnan(drop_line_m) or drop_line_m > longest_m + 1e-9:
        return Finding.of("drop-line", needed_m=None if math.isnan(drop_line_m) else drop_line_m, longest_m=longest_m)
    if math.isnan(needed_m):
        return Finding.of("obstacles-unknown")
    if needed_m <= longest_m + 1e-9:
        return None
    asks = clearance.line_governing
    told = None
    if asks is not None:
        told = Finding.of(
            "line-asks",
            what=asks.what,
            height_m=asks.height_m,
            distance_m=asks.distance_m,
            assumed_m=asks.assumed_m,
            unverified=asks.unverified,
        )
    return Finding.of("line-too-short", needed_m=needed_m, longest_m=longest_m, asks=told)


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
        For the lines that are too short.
    clearance
        For the length that is needed.
    """
    flown = [(line, *fly(line)) for line in enough]
    best = max(range(len(flown)), key=lambda i: (_per_hour(flown[i][2]), -i))
    line, trip, answer = flown[best]
    needed_m, nan = clearance.line_needed_m, math.nan
    choices = [
        LineChoice(short.length_m, False, nan, nan, nan, Finding.of("line-short", needed_m=needed_m))
        for short in incident.lines
        if short.length_m < enough[0].length_m
    ]
    for i, (other, cycle, result) in enumerate(flown):
        if result.sortie is None:
            why = result.refused[0]
        elif i == best:
            why = Finding.of("line-recommended", needed_m=needed_m)
        else:
            why = _less(_per_hour(answer) - _per_hour(result), cycle.seconds - trip.seconds)
        choices.append(
            LineChoice(
                other.length_m,
                i == best and result.sortie is not None,
                _per_hour(result) if result.sortie else nan,
                cycle.seconds,
                result.load.margin_kg,
                why,
            )
        )
    return Compared(line, trip, answer, tuple(choices))


def _less(less_l: float, longer_s: float) -> Finding:
    """Say what a line brings less than the recommended one."""
    return Finding.of(
        "line-less",
        less_l=less_l,
        longer_s=longer_s if longer_s >= 0 else None,
        shorter_s=None if longer_s >= 0 else -longer_s,
    )


def _per_hour(answer: Answer) -> float:
    return -1.0 if answer.sortie is None else answer.sortie.litres_per_hour
