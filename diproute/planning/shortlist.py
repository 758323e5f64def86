"""From thousands of points of open water to the few that are judged in full.

Every point is swept for its line and lifts; the fields bound what its cycle can bring, and the gates of the best points
of each water body are looked at. That is done in the weather of the plan's time and in a few others of its day, so
that a point that is only good in the afternoon is not missed. The best few points of each water are kept, spaced
apart, with some neighbours to try should a leg prove not flyable. A water body without a usable point keeps the one
that comes nearest, so that its refusal can be shown. What a water gets does not depend on the others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.planning.gateways import wind_over
from diproute.planning.prepared import Prepared
from diproute.planning.screening import LOOKED_AT, Asked, Swept, most_water, open_in, sweep, worth
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.records import F64, DipPoint, Finding, HourlyWeather, Weather
from diproute.sites.candidates import Spread, dip_points, openness, representatives, shelter, spread
from diproute.sites.clearance import SurveyArrays

POINTS_A_WATER: Final = 4
APART_M: Final = 300.0
OTHER_WEATHERS: Final = 2  # of the day, in which points are chosen too
WEATHERS_APART_M_S: Final = 2.0  # winds closer than this choose the same points
FEW: Final = 4  # points of a water whose gates are looked at in the other weathers
KELVIN_M_S: Final = 0.5  # so much wind counts like one kelvin when weathers are told apart
GAIN: Final = 1.005  # a point must be so much better in another weather to be kept for it
SPARES: Final = 8  # neighbours to try where a leg proves not flyable
SPARES_APART_M: Final = (15.0, 400.0)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A point that is judged in full."""

    point: DipPoint
    value: float  # rough water an hour [L/h]; NaN: no usable point in this water
    refused: Finding | None  # already at the shore
    spares: tuple[DipPoint, ...] = ()  # neighbours of the same water, the best first


@dataclass(frozen=True, slots=True)
class Shortlist:
    """The kept points, and how many were looked at."""

    kept: tuple[Candidate, ...]
    looked_at: int
    not_kept: int  # water bodies that did not make the list, with a usable point or with none looked for


def shortlist(fields: TravelFields) -> Shortlist:
    """Choose the points that are worth judging in full.

    Parameters
    ----------
    fields
        In the weather of the plan's time.

    Returns
    -------
    Shortlist
        At most ``search.keep`` usable points, the best of every water body first, and at most as many refused ones,
        the nearest first.
    """
    prepared = fields.prepared
    reached = _reached(prepared)
    if not reached:
        return Shortlist((), 0, 0)
    swept = sweep(prepared, reached)
    counts = [len(points.x_m) for points in reached]
    others = [solve_fields(prepared, weather, rungs=False) for weather in other_weathers(fields.weather)]
    keep = prepared.incident.search.keep
    asked = Asked(np.ones(len(counts), np.bool_), keep if keep < len(counts) else None)
    values = [worth(fields, swept, counts, LOOKED_AT, asked)]
    later = Asked(asked.waters & _may_be_kept(values[0], counts, keep))
    values += [worth(some, swept, counts, FEW, later) for some in others]
    winds = [hour.wind for hour in fields.weather.hourly]
    opens = np.array([open_in(prepared, swept, wind) for wind in winds]).reshape(len(winds), len(swept.x_m))
    usable: list[tuple[bool, Candidate]] = []
    refused: list[tuple[float, Candidate]] = []
    start = not_kept = 0
    for points, may_be_kept in zip(reached, asked.waters, strict=True):
        part = slice(start, start + len(points.x_m))
        start = part.stop
        if not may_be_kept:
            not_kept += 1
            continue
        here = _Water(fields, points, swept.some(part), [value[part] for value in values], opens[:, part])
        if here.usable:
            usable += [(i > 0, candidate) for i, candidate in enumerate(here.candidates())]
        else:
            refused.append(here.shown())
    usable.sort(key=lambda entry: (entry[0], -entry[1].value))
    refused.sort(key=lambda entry: entry[0])
    not_kept += sum(1 for second, _ in usable[keep:] if not second)
    kept = [c for _, c in usable[:keep]] + [c for _, c in refused[:keep]]
    return Shortlist(tuple(kept), len(values[0]), not_kept)


def _may_be_kept(value: F64, counts: Sequence[int], keep: int) -> npt.NDArray[np.bool_]:
    """Tell the waters that may make the list, the best of the plan's weather, and those that have nothing in it."""
    best = np.array([np.nanmax(part, initial=0.0) for part in np.split(value, np.cumsum(counts)[:-1])])
    if keep >= len(best):
        return np.ones(len(best), np.bool_)
    least: float = np.partition(best, -keep)[-keep]
    return np.asarray((best >= least) | (best == 0.0))


def other_weathers(weather: Weather) -> list[Weather]:
    """Pick a few hours of the day whose weather is least like that of the plan's time and of one another.

    Parameters
    ----------
    weather
        Of the plan's time, with the hours of its day.
    """
    hours, picked = list(weather.hourly), [_vector(weather)]
    out: list[Weather] = []
    vectors = np.array([_vector(hour) for hour in hours]).reshape(-1, 4)
    while hours and len(out) < OTHER_WEATHERS:
        away = np.linalg.norm(vectors[:, None] - np.array(picked), axis=2).min(axis=1)
        far = int(np.argmax(away))
        if away[far] < WEATHERS_APART_M_S:
            break
        picked.append(vectors[far])
        out.append(replace(weather, air=hours[far].air, wind=hours[far].wind))
    return out


def _vector(weather: Weather | HourlyWeather) -> F64:
    """Wind east and north, gusts and temperature, in metres a second."""
    wind = weather.wind
    from_deg, speed = wind.from_deg[0], wind.speed_m_s[0]
    east, north = speed * math.sin(math.radians(from_deg)), speed * math.cos(math.radians(from_deg))
    return np.array([east, north, wind.gust_m_s or speed, KELVIN_M_S * weather.air.temperature_k])


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


@dataclass(frozen=True, slots=True)
class _Water:
    """One water body with all that is known of its points."""

    fields: TravelFields
    points: Spread
    swept: Swept
    values: Sequence[F64]  # water an hour in the plan's weather, and in each of the others
    opens: npt.NDArray[np.bool_]  # (hours, points) the wind leaves a way in and out

    @property
    def usable(self) -> bool:
        """Some point can be worked in the plan's weather or in another one of the day."""
        return self.points.refused is None and any(np.isfinite(value).any() for value in self.values)

    def candidates(self) -> list[Candidate]:
        """Give the points to judge, the best first."""
        picked = self._picked()
        grid = self.fields.prepared.ground.grid
        made = dip_points(self.points, picked, grid)
        taken = [i for i, _ in picked]
        return [
            Candidate(point, float(np.nan_to_num(self.values[0][i], nan=0.0)), None, self._spares(i, taken))
            for point, (i, _) in zip(made, picked, strict=True)
        ]

    def _picked(self) -> list[tuple[int, str]]:
        value = self.values[0]
        picked: list[tuple[int, str]] = []
        if np.isfinite(value).any():
            picked += representatives(self.points, value, APART_M, POINTS_A_WATER, also=self._measures(value))
        for other in self.values[1:]:
            kept = other[[i for i, _ in picked]]
            left = np.where(self._apart(picked), other, np.nan)
            if np.isfinite(left).any():
                best = int(np.nanargmax(left))
                if not np.isfinite(kept).any() or left[best] > GAIN * np.nanmax(kept):
                    picked.append((best, "most water in another hour"))
        flyable = np.isfinite(np.array(self.values)).any(axis=0)
        for opens in self.opens:
            if not opens[[i for i, _ in picked]].any() and (opens & flyable).any():
                rated = np.where(opens & flyable, np.nanmax(np.array(self.values), axis=0, initial=0.0), -1.0)
                picked.append((int(np.argmax(rated)), "open in another hour"))
        return picked

    def _apart(self, picked: Sequence[tuple[int, str]]) -> npt.NDArray[np.bool_]:
        """Tell which points lie far enough from those that are picked."""
        points = self.points
        apart = np.ones(len(points.x_m), np.bool_)
        for i, _ in picked:
            apart &= np.hypot(points.x_m - points.x_m[i], points.y_m - points.y_m[i]) >= APART_M
        return apart

    def _spares(self, i: int, taken: Sequence[int]) -> tuple[DipPoint, ...]:
        value, points = self.values[0], self.points
        away = np.hypot(points.x_m - points.x_m[i], points.y_m - points.y_m[i])
        near = np.isfinite(value) & (away >= SPARES_APART_M[0]) & (away <= SPARES_APART_M[1])
        near[list(taken)] = False
        which = np.flatnonzero(near)
        which = which[np.argsort(-value[which], kind="stable")[:SPARES]]
        return dip_points(points, [(int(k), "most water an hour") for k in which], self.fields.prepared.ground.grid)

    def _measures(self, value: F64) -> dict[str, F64]:
        """Measure the points for what else one may be chosen, more is better; NaN where it cannot be used."""
        limits, wind, around = self.fields.prepared.incident.limits, self.fields.weather.wind, self.swept.around
        measures = {
            "nearest the drop": -self.points.drop_m,
            "most open": openness(around, limits),
            "most sheltered": shelter(around, float(wind_over(wind, self.points.level_high_m)[0].mean())),
        }
        return {chosen_for: np.where(np.isnan(value), np.nan, measure) for chosen_for, measure in measures.items()}

    def shown(self) -> tuple[float, Candidate]:
        """Give the point that stands for a water without a usable one, and how far off it is.

        The best in a calm, which another hour may bring; else the one that comes nearest to usable.
        """
        wind = self.fields.weather.wind
        calm = replace(wind, speed_m_s=tuple(0.0 for _ in wind.speed_m_s), gust_m_s=None, between_deg=None)
        weather = replace(self.fields.weather, wind=calm)
        most = most_water(replace(self.fields, weather=weather), self.swept)
        picked = (int(np.nanargmax(most)), "the best in a calm") if np.isfinite(most).any() else (
            _nearest_to_usable(self.swept.around), "nearest to usable")  # fmt: skip
        (point,) = dip_points(self.points, [picked], self.fields.prepared.ground.grid)
        return float(self.points.drop_m[picked[0]]), Candidate(point, math.nan, self.points.refused)


def _nearest_to_usable(around: SurveyArrays) -> int:
    """Index of the point that asks for the shortest line, of equal ones for the least lift; unknown ones last."""
    line = np.nan_to_num(around.line_needed_m, nan=np.inf)
    lift = np.nan_to_num(np.min(np.nan_to_num(around.lift_out_m, nan=np.inf), axis=1), nan=np.inf)
    return int(np.lexsort((lift, line))[0])
