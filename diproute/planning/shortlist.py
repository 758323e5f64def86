"""From thousands of points of open water to the few that are judged in full.

Every point is swept for its line and lifts; a rough cycle from the travel-time fields and the best fill and fuel for
it give a rough water per hour. The best few of each water body are kept, spaced apart; a water body without a
usable point keeps the one that comes nearest, so that its refusal can be shown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.flight.hover_chart import hover_limit
from diproute.flight.optimise import best_of_many
from diproute.flight.sortie import site_terms
from diproute.physics.wind import wind_at
from diproute.planning.air import air_at_heights
from diproute.planning.rough import rough_courses, rough_seconds
from diproute.planning.scene import Places, Scene
from diproute.planning.ways import Ways
from diproute.records import F64, DipPoint, Finding, Weather
from diproute.sites.approach import least_seconds
from diproute.sites.candidates import Spread, dip_points, openness, representatives, shelter, spread
from diproute.sites.clearance import SurveyArrays, survey_arrays

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


def shortlist(scene: Scene, ways: Ways, weather: Weather) -> Shortlist:
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
    values, arrays = rough_values(scene, ways, weather, reached)
    usable: list[tuple[bool, Candidate]] = []
    refused: list[tuple[float, Candidate]] = []
    start = 0
    for points in reached:
        part = slice(start, start + len(points.x_m))
        start = part.stop
        value, here = values[part], _part(arrays, part)
        if points.refused is not None or np.isnan(value).all():
            index, words = _shown(scene, ways, weather, points, here)
            (point,) = dip_points(points, [(index, words)], scene.ground)
            refused.append((float(points.drop_m[index]), Candidate(point, float("nan"), points.refused)))
            continue
        measures = {
            "nearest the drop": -points.drop_m,
            "most open": openness(here, scene.incident.limits),
            "most sheltered": shelter(here, float(_wind_over(weather, points.level_m)[0].mean())),
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


def rough_values(scene: Scene, ways: Ways, weather: Weather, reached: list[Spread]) -> tuple[F64, SurveyArrays]:
    """Estimate the water an hour of every point.

    Returns
    -------
    tuple
        Water an hour [L/h], NaN where a line, a lift, the wind or the hover limit forbids, shape (points,); and the
        sweep it rests on.
    """
    incident = scene.incident
    craft, bucket, limits = incident.helicopter, incident.bucket, incident.limits
    x, y, level = (np.concatenate([getattr(p, name) for p in reached]) for name in ("x_m", "y_m", "level_m"))
    salt = np.concatenate([np.full(len(p.x_m), p.water.salt) for p in reached])
    shore = np.concatenate([np.full(len(p.x_m), p.refused is None) for p in reached])
    arrays = survey_arrays(scene.ground, x, y, level, scene.rules, heights=scene.heights)
    carried = np.array([line.length_m for line in incident.lines])
    index = np.searchsorted(carried, arrays.line_needed_m - 1e-9)
    fits = shore & np.isfinite(arrays.line_needed_m) & (index < len(carried)) & np.isfinite(level)
    index = np.minimum(index, len(carried) - 1)
    settle = np.array([line.settle_s for line in incident.lines])[index]
    out_course, in_course = rough_courses(ways, x, y)
    wind_from, wind_speed = _wind_over(weather, level)
    here_s = least_seconds(
        arrays,
        wind_from,
        wind_speed,
        limits,
        out_course,
        in_course,
        craft.lift_speed_m_s,
        craft.lower_speed_m_s,
        weather.wind.gust_m_s,
    )
    lift_m = np.min(np.nan_to_num(arrays.lift_out_m, nan=np.inf), axis=1)
    loaded_s, empty_s = rough_seconds(ways, x, y, level + limits.least_lift_m)
    hover_s = bucket.fill_s + settle + bucket.drop_s
    cycle_s = hover_s + here_s + loaded_s + empty_s + craft.manoeuvre_s
    cycle_kg = (
        (hover_s + here_s + craft.manoeuvre_s) * craft.burn_hover_kg_s
        + loaded_s * craft.burn_loaded_kg_s
        + empty_s * craft.burn_empty_kg_s
    )
    hanging = carried[index] + bucket.length_m
    top = np.max([_bottom_at(drop, x, y) for drop in scene.drops], axis=0) + hanging
    fits &= np.isfinite(cycle_s) & np.isfinite(lift_m)
    dip = np.where(fits, level + lift_m + hanging, np.nan)
    chart = np.minimum(_limit(scene, weather, dip), _limit(scene, weather, top))
    good = fits & np.isfinite(chart)
    value = np.full(len(x), np.nan)
    fixed = None if incident.fuel is None else incident.fuel * craft.fuel_capacity_kg
    line_kg = np.array([line.mass_kg for line in incident.lines])[index]
    for salty in (False, True):
        these = np.flatnonzero(good & (salt == salty))
        if not len(these):
            continue
        density = (SEA_WATER_KG_L if salty else FRESH_WATER_KG_L).value
        ferry = None
        if ways.from_base is not None and incident.base is not None:
            out = np.nan_to_num(ways.from_base.seconds(x[these], y[these]), nan=0.0)
            ferry = (out, out, incident.base.refuel_s)
        terms = site_terms(
            craft, bucket, line_kg[these], crew_kg=incident.crew_kg, water_kg_l=density, chart_kg=chart[these],
            cycle_s=cycle_s[these], cycle_kg=cycle_kg[these], reserve_s=limits.reserve_s, ferry=ferry,
            hover_margin_kg=limits.hover_margin_kg, fill=incident.fill,
        )  # fmt: skip
        value[these] = best_of_many(terms, fixed).kilograms_per_hour / density
    return value, arrays


def _bottom_at(drop: Places, x_m: F64, y_m: F64) -> F64:
    """Height of the bucket's bottom at the known place of a drop that is nearest to each point [m AMSL]."""
    known = np.isfinite(drop.bottom_m)
    away = np.hypot(x_m[:, None] - drop.x_m[known], y_m[:, None] - drop.y_m[known])
    bottom: F64 = drop.bottom_m[known][np.argmin(away, axis=1)]
    return bottom


def _limit(scene: Scene, weather: Weather, height_m: npt.ArrayLike) -> F64:
    temperature, pressure_altitude, _ = air_at_heights(weather.air, np.asarray(height_m, dtype=float))
    known = np.isfinite(temperature)
    out = np.full(np.shape(temperature), np.nan)
    out[known] = hover_limit(scene.incident.helicopter.hoge, pressure_altitude[known], temperature[known])
    return out


def _wind_over(weather: Weather, height_m: F64) -> tuple[F64, F64]:
    wind = weather.wind
    height = np.nan_to_num(height_m, nan=wind.altitude_m[0])
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, height)
    return np.asarray(from_deg, dtype=float), np.asarray(speed, dtype=float)


def _part(arrays: SurveyArrays, part: slice) -> SurveyArrays:
    return SurveyArrays(arrays.bearing_deg, arrays.line_needed_m[part], arrays.lift_out_m[part], arrays.lift_in_m[part])


def _shown(scene: Scene, ways: Ways, weather: Weather, points: Spread, arrays: SurveyArrays) -> tuple[int, str]:
    """Pick the point that stands for a water without a usable one: the best in a calm, which another hour may bring."""
    wind = replace(weather.wind, speed_m_s=tuple(0.0 for _ in weather.wind.speed_m_s), gust_m_s=None)
    calm, _ = rough_values(scene, ways, replace(weather, wind=wind), [points])
    if np.isfinite(calm).any():
        return int(np.nanargmax(calm)), "the best in a calm"
    return _nearest_to_usable(arrays), "nearest to usable"


def _nearest_to_usable(arrays: SurveyArrays) -> int:
    """Index of the point that asks for the shortest line, of equal ones for the least lift; unknown ones last."""
    line = np.nan_to_num(arrays.line_needed_m, nan=np.inf)
    lift = np.nan_to_num(np.min(np.nan_to_num(arrays.lift_out_m, nan=np.inf), axis=1), nan=np.inf)
    return int(np.lexsort((lift, line))[0])
