"""From thousands of points of open water to the few that are judged in full.

Every point is swept for its line and lifts; a rough cycle from the travel-time fields and the best fill and fuel for
it give a rough water per hour. The best sixteen of each water body are looked at again with first legs flown, and the
best few are kept, spaced apart. A water body without a usable point keeps the one that comes nearest, so that its
refusal can be shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.planning.prepared import Prepared
from diproute.planning.screening import Swept, flown_times, rough_times, sweep, water_per_hour, wind_over
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


def shortlist(scene: Prepared, ways: TravelFields, weather: Weather) -> Shortlist:
    """Choose the points that are worth judging in full.

    Parameters
    ----------
    scene, ways
        The ground made ready and the fields in this wind.
    weather
        The air and wind of the plan's time.

    Returns
    -------
    Shortlist
        At most ``search.keep`` usable points, the best of every water body first, and at most as many refused ones,
        the nearest first.
    """
    circles = [
        (float(x), float(y), scene.incident.search.radius_m)
        for drop in scene.drops
        for x, y in zip(drop.x_m, drop.y_m, strict=True)
    ]
    reached = [
        points
        for points in (
            spread(water, scene.ground, scene.incident.limits.shore_clearance_m, circles)
            for water in scene.opened.waters
        )
        if len(points.x_m)
    ]
    if not reached:
        return Shortlist((), 0, 0)
    swept = sweep(scene, reached)
    values = _looked_at_twice(scene, ways, weather, swept, [len(points.x_m) for points in reached])
    usable: list[tuple[bool, Candidate]] = []
    refused: list[tuple[float, Candidate]] = []
    start = 0
    for points in reached:
        part = slice(start, start + len(points.x_m))
        start = part.stop
        value, here = values[part], swept.some(part).around
        if points.refused is not None or np.isnan(value).all():
            index, words = _shown(scene, ways, weather, points, here)
            (point,) = dip_points(points, [(index, words)], scene.ground)
            refused.append((float(points.drop_m[index]), Candidate(point, float("nan"), points.refused)))
            continue
        measures = {
            "nearest the drop": -points.drop_m,
            "most open": openness(here, scene.incident.limits),
            "most sheltered": shelter(here, float(wind_over(weather, points.level_m)[0].mean())),
        }
        measures = {words: np.where(np.isnan(value), np.nan, measure) for words, measure in measures.items()}
        picked = representatives(points, value, APART_M, POINTS_A_WATER, also=measures)
        made = dip_points(points, picked, scene.ground)
        usable += [
            (i > 0, Candidate(point, float(value[index]), None))
            for i, (point, (index, _)) in enumerate(zip(made, picked, strict=True))
        ]
    usable.sort(key=lambda entry: (entry[0], -entry[1].value))
    refused.sort(key=lambda entry: entry[0])
    keep = scene.incident.search.keep
    dropped = sum(1 for second, _ in usable[keep:] if not second)
    kept = [c for _, c in usable[:keep]] + [c for _, c in refused[:keep]]
    return Shortlist(tuple(kept), len(values), dropped)


def _looked_at_twice(
    scene: Prepared, ways: TravelFields, weather: Weather, points: Swept, counts: Sequence[int]
) -> F64:
    """Estimate the water an hour of every point, and again with first legs flown for the best of each water.

    Legs that climb out of a hole may leave in any direction at little cost, so that the courses of neighbours differ,
    and with them the turns: no field shows that. The points that are not looked at again are set right by what the
    second look made of the others on average.

    Returns
    -------
    numpy.ndarray
        Water an hour [L/h], NaN where a point cannot be used, shape (points,).
    """
    value = water_per_hour(scene, ways, weather, points, rough_times(ways, points))
    ends = np.cumsum(counts)
    best = []
    for start, end in zip(ends - counts, ends, strict=True):
        usable = start + np.flatnonzero(np.isfinite(value[start:end]))
        best.append(usable[np.argsort(-value[usable], kind="stable")[:LOOKED_AT_TWICE]])
    looked = np.concatenate(best)
    some = points.some(looked)
    again = water_per_hour(scene, ways, weather, some, flown_times(ways, some))
    parts = np.split(again, np.cumsum([len(which) for which in best])[:-1])
    for which, second, start, end in zip(best, parts, ends - counts, ends, strict=True):
        raised = second / value[which]
        if np.isfinite(raised).any():
            value[start:end] *= float(np.nanmedian(raised))
            value[which] = second
    return value


def _shown(
    scene: Prepared, ways: TravelFields, weather: Weather, points: Spread, arrays: SurveyArrays
) -> tuple[int, str]:
    """Pick the point that stands for a water without a usable one: the best in a calm, which another hour may bring."""
    wind = replace(weather.wind, speed_m_s=tuple(0.0 for _ in weather.wind.speed_m_s), gust_m_s=None)
    swept = sweep(scene, [points])
    calm = water_per_hour(scene, ways, replace(weather, wind=wind), swept, rough_times(ways, swept))
    if np.isfinite(calm).any():
        return int(np.nanargmax(calm)), "the best in a calm"
    return _nearest_to_usable(arrays), "nearest to usable"


def _nearest_to_usable(arrays: SurveyArrays) -> int:
    """Index of the point that asks for the shortest line, of equal ones for the least lift; unknown ones last."""
    line = np.nan_to_num(arrays.line_needed_m, nan=np.inf)
    lift = np.nan_to_num(np.min(np.nan_to_num(arrays.lift_out_m, nan=np.inf), axis=1), nan=np.inf)
    return int(np.lexsort((lift, line))[0])
