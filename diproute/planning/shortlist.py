"""From thousands of points of open water to the few that are judged in full.

Every point is swept for its line and lifts; a rough cycle from the travel-time fields and the best fill and fuel for
it give a rough water per hour. The best sixteen of each water body are looked at again with first legs flown, and the
best few are kept, spaced apart. A water body without a usable point keeps the one that comes nearest, so that its
refusal can be shown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.planning.approaches import wind_over
from diproute.planning.prepared import Prepared
from diproute.planning.screening import Swept, flown_times, rough_times, sweep, water_per_hour
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, DipPoint, Finding, Weather
from diproute.sites.candidates import Spread, dip_points, openness, representatives, shelter, spread
from diproute.sites.clearance import SurveyArrays

LOOKED_AT_TWICE = 16  # points of a water
POINTS_A_WATER = 4
APART_M = 300.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """A point that is judged in full."""

    point: DipPoint
    value: float  # rough water an hour [L/h]; NaN: no usable point in this water
    refused: Finding | None  # already at the shore


@dataclass(frozen=True, slots=True)
class Shortlist:
    """The kept points, and how many were looked at."""

    kept: tuple[Candidate, ...]
    looked_at: int
    not_kept: int  # water bodies with a usable point that did not make the list


def shortlist(prepared: Prepared, fields: TravelFields, weather: Weather) -> Shortlist:
    """Choose the points that are worth judging in full.

    Parameters
    ----------
    prepared, fields
        The ground made ready and the fields in this wind.
    weather
        The air and wind of the plan's time.

    Returns
    -------
    Shortlist
        At most ``search.keep`` usable points, the best of every water body first, and at most as many refused ones,
        the nearest first.
    """
    reached = _reached(prepared)
    if not reached:
        return Shortlist((), 0, 0)
    swept = sweep(prepared, reached)
    values = _looked_at_twice(prepared, fields, weather, swept, [len(points.x_m) for points in reached])
    usable: list[tuple[bool, Candidate]] = []
    refused: list[tuple[float, Candidate]] = []
    start = 0
    for points in reached:
        part = slice(start, start + len(points.x_m))
        start = part.stop
        value, around = values[part], swept.some(part).around
        if points.refused is not None or np.isnan(value).all():
            index, chosen_for = _shown(prepared, fields, weather, points, around)
            (point,) = dip_points(points, [(index, chosen_for)], prepared.ground.grid)
            refused.append((float(points.drop_m[index]), Candidate(point, math.nan, points.refused)))
            continue
        picked = representatives(
            points, value, APART_M, POINTS_A_WATER, also=_measures(prepared, weather, points, value, around)
        )
        made = dip_points(points, picked, prepared.ground.grid)
        usable += [
            (i > 0, Candidate(point, float(value[index]), None))
            for i, (point, (index, _)) in enumerate(zip(made, picked, strict=True))
        ]
    usable.sort(key=lambda entry: (entry[0], -entry[1].value))
    refused.sort(key=lambda entry: entry[0])
    keep = prepared.incident.search.keep
    not_kept = sum(1 for second, _ in usable[keep:] if not second)
    kept = [c for _, c in usable[:keep]] + [c for _, c in refused[:keep]]
    return Shortlist(tuple(kept), len(values), not_kept)


def _reached(prepared: Prepared) -> list[Spread]:
    """Spread points over every water body within the search."""
    circles = [
        (float(x), float(y), prepared.incident.search.radius_m)
        for drop in prepared.drops
        for x, y in zip(drop.x_m, drop.y_m, strict=True)
    ]
    shore_m = prepared.incident.limits.shore_clearance_m
    spreads = (spread(water, prepared.ground, shore_m, circles) for water in prepared.opened.waters)
    return [points for points in spreads if len(points.x_m)]


def _measures(prepared: Prepared, weather: Weather, points: Spread, value: F64, around: SurveyArrays) -> dict[str, F64]:
    """Measure the points of a water for what else one may be chosen, more is better; NaN where it cannot be used."""
    measures = {
        "nearest the drop": -points.drop_m,
        "most open": openness(around, prepared.incident.limits),
        "most sheltered": shelter(around, float(wind_over(weather.wind, points.level_high_m)[0].mean())),
    }
    return {chosen_for: np.where(np.isnan(value), np.nan, measure) for chosen_for, measure in measures.items()}


def _looked_at_twice(
    prepared: Prepared, fields: TravelFields, weather: Weather, points: Swept, counts: Sequence[int]
) -> F64:
    """Estimate the water an hour of every point, and again with first legs flown for the best of each water.

    Legs that climb out of a confined area may leave in any direction at little cost, so that the courses of neighbours
    differ, and with them the turns: no field shows that. The points that are not looked at again are set right by what
    the second look made of the others on average.

    Returns
    -------
    numpy.ndarray
        Water an hour [L/h], NaN where a point cannot be used, shape (points,).
    """
    value = water_per_hour(prepared, weather, points, rough_times(fields, points))
    ends = np.cumsum(counts)
    best = []
    for start, end in zip(ends - counts, ends, strict=True):
        usable = start + np.flatnonzero(np.isfinite(value[start:end]))
        best.append(usable[np.argsort(-value[usable], kind="stable")[:LOOKED_AT_TWICE]])
    looked = np.concatenate(best)
    some = points.some(looked)
    again = water_per_hour(prepared, weather, some, flown_times(fields, some))
    parts = np.split(again, np.cumsum([len(which) for which in best])[:-1])
    for which, second, start, end in zip(best, parts, ends - counts, ends, strict=True):
        raised = second / value[which]
        if np.isfinite(raised).any():
            value[start:end] *= float(np.nanmedian(raised))
            value[which] = second
    return value


def _shown(
    prepared: Prepared, fields: TravelFields, weather: Weather, points: Spread, around: SurveyArrays
) -> tuple[int, str]:
    """Pick the point that stands for a water without a usable one: the best in a calm, which another hour may bring."""
    wind = replace(weather.wind, speed_m_s=tuple(0.0 for _ in weather.wind.speed_m_s), gust_m_s=None)
    swept = sweep(prepared, [points])
    calm = water_per_hour(prepared, replace(weather, wind=wind), swept, rough_times(fields, swept))
    if np.isfinite(calm).any():
        return int(np.nanargmax(calm)), "the best in a calm"
    return _nearest_to_usable(around), "nearest to usable"


def _nearest_to_usable(around: SurveyArrays) -> int:
    """Index of the point that asks for the shortest line, of equal ones for the least lift; unknown ones last."""
    line = np.nan_to_num(around.line_needed_m, nan=np.inf)
    lift = np.nan_to_num(np.min(np.nan_to_num(around.lift_out_m, nan=np.inf), axis=1), nan=np.inf)
    return int(np.lexsort((lift, line))[0])
