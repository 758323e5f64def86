"""What points of water are worth: the water an hour that a cycle to each would bring, all points at once.

The legs' times and courses come roughly from the travel-time fields, or from first legs flown; the rest is the sweep
round each point and the best fill and fuel. The numbers choose points and are not reported.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.physics.wind import wind_at
from diproute.planning.air import air_at_heights
from diproute.planning.field_estimates import rough_courses, rough_seconds
from diproute.planning.prepared import Places, Prepared
from diproute.planning.travel_fields import TravelFields, course_of, site_legs, turned_s
from diproute.records import F64, Leg, Weather
from diproute.routing.travel_time import Ask
from diproute.sites.approach import least_seconds
from diproute.sites.candidates import Spread
from diproute.sites.clearance import SurveyArrays, survey_arrays
from diproute.sortie.fill_and_fuel import best_of_many
from diproute.sortie.fuel_cycle import site_terms
from diproute.sortie.hover_chart import hover_limit


@dataclass(frozen=True, slots=True)
class Swept:
    """Points of one water body or several, with what stands round them. Arrays have one entry a point."""

    x_m: F64
    y_m: F64
    level_m: F64
    salt: npt.NDArray[np.bool_]
    shore: npt.NDArray[np.bool_]  # far enough from it
    around: SurveyArrays

    def some(self, which: npt.NDArray[np.int64] | slice) -> Swept:
        """Give a part of the points."""
        around = self.around
        return Swept(
            self.x_m[which],
            self.y_m[which],
            self.level_m[which],
            self.salt[which],
            self.shore[which],
            SurveyArrays(
                around.bearing_deg,
                around.line_needed_m[which],
                around.lift_out_m[which],
                around.lift_in_m[which],
            ),
        )


@dataclass(frozen=True, slots=True)
class Times:
    """Legs between the points and the drops, by share. Arrays have one entry a point."""

    loaded_s: F64
    empty_s: F64
    out_course_deg: F64  # true, on which the loaded leg leaves for the main drop
    in_course_deg: F64  # on which the empty one comes in
    out_turned_s: F64  # climbing in turns over the point, in `loaded_s`
    in_turned_s: F64  # descending in turns over it, in `empty_s`


def sweep(scene: Prepared, reached: list[Spread]) -> Swept:
    """Put the points of several water bodies together and sweep what stands round them."""
    x, y, level = (np.concatenate([getattr(p, name) for p in reached]) for name in ("x_m", "y_m", "level_m"))
    return Swept(
        x,
        y,
        level,
        np.concatenate([np.full(len(p.x_m), p.water.salt) for p in reached]),
        np.concatenate([np.full(len(p.x_m), p.refused is None) for p in reached]),
        survey_arrays(scene.ground, x, y, level, scene.rules, heights=scene.heights),
    )


def rough_times(ways: TravelFields, points: Swept) -> Times:
    """Estimate the legs from the travel-time fields."""
    least = ways.scene.incident.limits.least_lift_m
    none = np.zeros(points.x_m.shape)
    return Times(
        *rough_seconds(ways, points.x_m, points.y_m, points.level_m + least),
        *rough_courses(ways, points.x_m, points.y_m),
        none,
        none,
    )


def flown_times(ways: TravelFields, points: Swept) -> Times:
    """Fly first legs, from and to the least lift; NaN where there is no way."""
    incident = ways.scene.incident
    carried, index = _line_index(ways.scene, points)
    asks = [
        Ask(float(x), float(y), float(level) + incident.limits.least_lift_m, float(line) + incident.bucket.length_m)
        for x, y, level, line in zip(points.x_m, points.y_m, points.level_m, carried[index], strict=True)
    ]
    shares, main = ways.shares, int(np.argmax(ways.shares))
    rows = []
    for legs in site_legs(ways, asks, asks):
        out = [leg for leg in legs.loaded if isinstance(leg, Leg)]
        back = [leg for leg in legs.empty if isinstance(leg, Leg)]
        if legs.blocked is not None:
            rows.append([np.nan] * 6)
            continue
        seconds = [float(shares @ [leg.seconds for leg in some]) for some in (out, back)]
        rows.append([*seconds, course_of(out[main], "start"), course_of(back[main], "end"),
                     turned_s(out[main], "start"), turned_s(back[main], "end")])  # fmt: skip
    return Times(*np.array(rows, dtype=np.float64).reshape(-1, 6).T)


def water_per_hour(scene: Prepared, ways: TravelFields, weather: Weather, points: Swept, times: Times) -> F64:
    """Estimate the water an hour of points.

    Parameters
    ----------
    scene, ways, weather
        The ground made ready, the fields in this wind, and the air.
    points
        From `sweep`.
    times
        From `rough_times` or `flown_times`.

    Returns
    -------
    numpy.ndarray
        Water an hour [L/h], NaN where a line, a lift, the wind, the hover limit or a leg forbids, shape (points,).
    """
    incident = scene.incident
    craft, bucket, limits = incident.helicopter, incident.bucket, incident.limits
    x, y, level, arrays = points.x_m, points.y_m, points.level_m, points.around
    carried, index = _line_index(scene, points)
    fits = (
        points.shore & np.isfinite(level) & (arrays.line_needed_m <= carried[-1] + 1e-9) & np.isfinite(times.loaded_s)
    )
    settle = np.array([line.settle_s for line in incident.lines])[index]
    wind_from, wind_speed = wind_over(weather, level)
    here_s = least_seconds(
        arrays,
        wind_from,
        wind_speed,
        limits,
        np.nan_to_num(times.out_course_deg),
        np.nan_to_num(times.in_course_deg),
        craft.lift_speed_m_s,
        craft.lower_speed_m_s,
        weather.wind.gust_m_s,
        np.nan_to_num(times.out_turned_s),
        np.nan_to_num(times.in_turned_s),
    )
    lift_m = np.min(np.nan_to_num(arrays.lift_out_m, nan=np.inf), axis=1)
    loaded_s, empty_s = times.loaded_s, times.empty_s
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
        these = np.flatnonzero(good & (points.salt == salty))
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
    return value


def _line_index(scene: Prepared, points: Swept) -> tuple[F64, npt.NDArray[np.int64]]:
    """Lengths of the carried lines, and which of them each point needs, the longest where none is enough."""
    carried = np.array([line.length_m for line in scene.incident.lines])
    return carried, np.minimum(np.searchsorted(carried, points.around.line_needed_m - 1e-9), len(carried) - 1)


def _bottom_at(drop: Places, x_m: F64, y_m: F64) -> F64:
    """Height of the bucket's bottom at the known place of a drop that is nearest to each point [m AMSL]."""
    known = np.isfinite(drop.bottom_m)
    away = np.hypot(x_m[:, None] - drop.x_m[known], y_m[:, None] - drop.y_m[known])
    bottom: F64 = drop.bottom_m[known][np.argmin(away, axis=1)]
    return bottom


def _limit(scene: Prepared, weather: Weather, height_m: npt.ArrayLike) -> F64:
    temperature, pressure_altitude, _ = air_at_heights(weather.air, np.asarray(height_m, dtype=float))
    known = np.isfinite(temperature)
    out = np.full(np.shape(temperature), np.nan)
    out[known] = hover_limit(scene.incident.helicopter.hoge, pressure_altitude[known], temperature[known])
    return out


def wind_over(weather: Weather, height_m: F64) -> tuple[F64, F64]:
    """Give the wind at heights [m AMSL]: from [deg true] and speed [m/s]; the lowest level's where not known."""
    wind = weather.wind
    height = np.nan_to_num(height_m, nan=wind.altitude_m[0])
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, height)
    return np.asarray(from_deg, dtype=float), np.asarray(speed, dtype=float)
