"""What points of water are worth: the water an hour that a cycle to each would bring, all points at once.

The legs' times and courses come roughly from the travel-time fields, or from first legs flown; all the rest is worked
as for a site that is judged in full. The numbers choose points and are not reported.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.planning.approaches import approaches_to
from diproute.planning.field_estimates import rough_courses, rough_ferries, rough_seconds
from diproute.planning.prepared import Places, Prepared
from diproute.planning.scenarios import Flights, Spots, best_loads
from diproute.planning.travel_fields import TravelFields, course_of, site_legs, turned_s
from diproute.records import F64, Leg, Weather
from diproute.routing.travel_time import Ask
from diproute.sites.approach import LegEnds
from diproute.sites.candidates import Spread
from diproute.sites.clearance import SurveyArrays, survey_arrays
from diproute.sortie.cycle import farthest_drop_s


@dataclass(frozen=True, slots=True)
class Swept:
    """Points of one water body or several, with what stands round them. Arrays have one entry a point."""

    x_m: F64
    y_m: F64
    level_low_m: F64
    level_high_m: F64
    water_kg_l: F64
    shore: npt.NDArray[np.bool_]  # far enough from it
    around: SurveyArrays

    def some(self, which: npt.NDArray[np.int64] | slice) -> Swept:
        """Give a part of the points."""
        around = self.around
        return Swept(
            self.x_m[which],
            self.y_m[which],
            self.level_low_m[which],
            self.level_high_m[which],
            self.water_kg_l[which],
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
    """Legs between the points and the drops. Arrays have one entry a point; of several drops ``(drops, points)``."""

    loaded_s: F64  # (drops, points)
    empty_s: F64  # (drops, points)
    drop_bottom_m: F64  # (drops, points) of the bucket where a drop is served [m AMSL]
    ends: LegEnds  # at the point, of the legs to and from the main drop
    ferries: tuple[F64, F64] | None  # from the base to the point, and home from the farthest drop; None: no base


def sweep(prepared: Prepared, reached: list[Spread]) -> Swept:
    """Put the points of several water bodies together and sweep what stands round them."""
    x, y, level = (np.concatenate([getattr(p, name) for p in reached]) for name in ("x_m", "y_m", "level_low_m"))
    return Swept(
        x,
        y,
        level,
        np.concatenate([p.level_high_m for p in reached]),
        np.concatenate([np.full(len(p.x_m), p.water.density_kg_l) for p in reached]),
        np.concatenate([np.full(len(p.x_m), p.refused is None) for p in reached]),
        survey_arrays(prepared.ground, x, y, level, prepared.rules, heights=prepared.heights),
    )


def rough_times(fields: TravelFields, points: Swept) -> Times:
    """Estimate the legs from the travel-time fields."""
    prepared = fields.prepared
    bottom_m = points.level_low_m + prepared.incident.limits.least_lift_m
    return Times(
        *rough_seconds(fields, points.x_m, points.y_m, bottom_m),
        np.array([_bottom_at(drop, points.x_m, points.y_m) for drop in prepared.drops]),
        LegEnds(*rough_courses(fields, points.x_m, points.y_m)),
        rough_ferries(fields, points.x_m, points.y_m),
    )


def flown_times(fields: TravelFields, points: Swept) -> Times:
    """Fly first legs, from and to the least lift; NaN where there is no way. The ferries stay estimates."""
    incident, main = fields.prepared.incident, fields.prepared.main_drop
    carried = np.array([line.length_m for line in incident.lines])
    shortest = np.minimum(np.searchsorted(carried, points.around.line_needed_m - 1e-9), len(carried) - 1)
    asks = [
        Ask(float(x), float(y), float(level) + incident.limits.least_lift_m, float(line) + incident.bucket.length_m)
        for x, y, level, line in zip(points.x_m, points.y_m, points.level_low_m, carried[shortest], strict=True)
    ]
    drops = len(fields.prepared.drops)
    by_drop = np.full((3, drops, len(asks)), np.nan)
    ends = np.full((4, len(asks)), np.nan)
    for i, legs in enumerate(site_legs(fields, asks, asks)):
        out = [leg for leg in legs.loaded if isinstance(leg, Leg)]
        back = [leg for leg in legs.empty if isinstance(leg, Leg)]
        if legs.blocked is not None:
            continue
        by_drop[0, :, i] = [leg.seconds for leg in out]
        by_drop[1, :, i] = [leg.seconds for leg in back]
        by_drop[2, :, i] = [leg.altitude_m[-1] - leg.hanging_m for leg in out]
        ends[:, i] = (
            course_of(out[main], "start"),
            course_of(back[main], "end"),
            turned_s(out[main], "start"),
            turned_s(back[main], "end"),
        )
    ferries = rough_ferries(fields, points.x_m, points.y_m)
    return Times(by_drop[0], by_drop[1], by_drop[2], LegEnds(*ends), ferries)


def water_per_hour(prepared: Prepared, weather: Weather, points: Swept, times: Times) -> F64:
    """Estimate the water an hour of points.

    Parameters
    ----------
    prepared, weather
        The ground made ready, and air and wind.
    points
        From `sweep`.
    times
        From `rough_times` or `flown_times`.

    Returns
    -------
    numpy.ndarray
        Water an hour [L/h], NaN where a line, a lift, the wind, the hover limit or a leg forbids, shape (points,).
    """
    spots = Spots(
        np.where(points.shore, points.level_high_m, np.nan),
        points.water_kg_l,
        points.around.line_needed_m,
        times.drop_bottom_m,
    )
    flights = _flights(prepared, weather, points, times)
    return best_loads(prepared.incident, spots, [weather.air], flights).litres_per_hour[:, 0]


def _flights(prepared: Prepared, weather: Weather, points: Swept, times: Times) -> Flights:
    """Put together what a cycle to each point flies, one column of weather."""
    incident = prepared.incident
    pairs = approaches_to(incident, weather.wind, points.around, points.level_high_m, times.ends)
    ferries = times.ferries
    last_s = farthest_drop_s(incident.helicopter, times.loaded_s, prepared.shares)
    return Flights(
        loaded_s=(prepared.shares @ times.loaded_s)[:, None],
        empty_s=(prepared.shares @ times.empty_s)[:, None],
        lift_m=pairs.departure_lift_m[:, None],
        lower_m=pairs.arrival_lift_m[:, None],
        departure_turn_s=pairs.departure_turn_s[:, None],
        arrival_turn_s=pairs.arrival_turn_s[:, None],
        out_s=None if ferries is None else ferries[0][:, None],
        home_s=None if ferries is None else (ferries[1] + last_s)[:, None],
        fixed=np.ones(1),
    )


def _bottom_at(drop: Places, x_m: F64, y_m: F64) -> F64:
    """Height of the bucket's bottom at the known place of a drop that is nearest to each point [m AMSL]."""
    known = np.isfinite(drop.bottom_m)
    away = np.hypot(x_m[:, None] - drop.x_m[known], y_m[:, None] - drop.y_m[known])
    bottom: F64 = drop.bottom_m[known][np.argmin(away, axis=1)]
    return bottom
