"""What points of water are worth: the water an hour that a cycle to each would bring, all points at once.

The legs' times come from the travel-time fields, first as what no flight can beat, then with the gates of each point;
all the rest is worked as for a site that is judged in full. The numbers choose points and are not reported.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.constants import HOVER_TURN_DEG_S
from diproute.planning.circuits import shared_out
from diproute.planning.gateways import courses_over, gates_at, survey_ends
from diproute.planning.prepared import Places, Prepared
from diproute.planning.scenarios import Flights, Spots, best_loads
from diproute.planning.travel_fields import TravelFields
from diproute.records import F64, I64, Wind
from diproute.routing.choice import Choice, choose
from diproute.routing.gates import Gates
from diproute.routing.travel_time import Field
from diproute.sites.candidates import Spread
from diproute.sites.clearance import SurveyArrays, survey_arrays
from diproute.sortie.cycle import farthest_drop_s

Bools = npt.NDArray[np.bool_]
NO_LEG_S: Final = 1e5  # longer than any leg: only the best of each point is asked for
LOOKED_AT: Final = 8  # points of a water whose gates are looked at in one go
LOOKED_AT_MOST: Final = 64  # where none of them can be flown, or the next may still be better
PIECE: Final = 16  # points that a thread chooses for at once
AT_ONCE: Final = 16  # waters whose gates are looked at before it is asked whether the next may still matter


@dataclass(frozen=True, slots=True)
class Swept:
    """Points of one water body or several, with what stands round them. Arrays have one entry a point."""

    x_m: F64
    y_m: F64
    level_low_m: F64
    level_high_m: F64
    water_kg_l: F64
    shore: Bools  # far enough from it
    around: SurveyArrays

    def some(self, which: I64 | slice) -> Swept:
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

    def opened(self, lift_limit_m: float) -> tuple[Bools, Bools]:
        """Tell the directions that the points' own survey leaves open to departures and to arrivals."""
        return self.around.lift_out_m <= lift_limit_m, self.around.lift_in_m <= lift_limit_m


@dataclass(frozen=True, slots=True)
class Asked:
    """Of which waters something is asked."""

    waters: Bools  # (waters,) those that are left out are taken from it
    enough: int | None = None  # so many are wanted, the best; None: all


@dataclass(frozen=True, slots=True)
class _Times:
    """Legs between points and drops. Arrays have one entry a point; of several drops ``(drops, points)``."""

    loaded_s: F64
    empty_s: F64
    lift_m: F64  # (points,)
    lower_m: F64  # (points,)
    dip_turn_s: F64  # (points,)


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


def open_in(prepared: Prepared, points: Swept, wind: Wind) -> Bools:
    """Tell at which points the survey and the wind leave a way in and a way out, shape (points,)."""
    out, into = points.opened(prepared.incident.limits.lift_limit_m)
    both = np.ones(len(points.x_m), np.bool_)
    for is_open, departure in ((out, True), (into, False)):
        courses = courses_over(prepared, points.around.bearing_deg, points.level_low_m, wind, departure=departure)
        both &= (is_open & courses.allowed).any(axis=1)
    return both


def most_water(fields: TravelFields, points: Swept) -> F64:
    """Give what no cycle to a point can beat [L/h], from the fields alone; NaN where it cannot be used, (points,)."""
    prepared, least_m = fields.prepared, fields.prepared.incident.limits.least_lift_m
    at = (points.x_m, points.y_m, points.level_low_m + least_m)
    loaded, empty = (np.array([field.bound(*at) for field in some]) for some in (fields.loaded, fields.empty))
    usable = open_in(prepared, points, fields.weather.wind) & points.shore
    least = np.where(usable, least_m, np.nan)
    nothing = np.zeros(len(points.x_m))
    return _water_per_hour(fields, points, _Times(_finite(loaded), _finite(empty), least, least, nothing))


def water_through_gates(fields: TravelFields, points: Swept) -> F64:
    """Estimate the water an hour of points with their gates chosen [L/h]; NaN where they cannot be flown, (points,)."""
    prepared, wind = fields.prepared, fields.weather.wind
    spots = (points.x_m, points.y_m, points.level_low_m)
    dips = survey_ends(prepared, fields.flyings, "dip", spots, points.opened(prepared.incident.limits.lift_limit_m))
    seconds, lifts, courses = [], [], []
    for some, departure in ((fields.loaded, True), (fields.empty, False)):
        near = gates_at(prepared, fields.flyings, dips, wind, departure=departure)
        choices = [_best_gates(field, near) for field in some]
        main = choices[prepared.main_drop]
        at = np.argmin(main.seconds, axis=1)
        row = np.arange(len(at))
        lift = near.lift_m[row, at, main.kind[row, at]]
        lifts.append(np.where(np.isfinite(main.seconds[row, at]), lift, np.nan))
        courses.append(near.bearing_deg[at] + (0.0 if departure else 180.0))
        seconds.append(_finite(np.array([choice.seconds.min(axis=1) for choice in choices]) - lift / near.vertical_m_s))
    turn = np.abs((courses[0] - courses[1] + 180.0) % 360.0 - 180.0) / HOVER_TURN_DEG_S.value
    return _water_per_hour(fields, points, _Times(seconds[0], seconds[1], lifts[0], lifts[1], turn))


def _best_gates(field: Field, near: Gates) -> Choice:
    """Choose the best gate of every point, on all threads."""
    starts = range(0, len(near.x_m), PIECE)

    def part(k: int) -> Choice:
        some = near.some(slice(starts[k], starts[k] + PIECE))
        return choose(field, some, at_most_s=np.full(len(some.x_m), NO_LEG_S))

    return Choice.joined(shared_out(part, range(len(starts))))


def worth(
    fields: TravelFields, points: Swept, counts: Sequence[int], looked_at: int = LOOKED_AT, asked: Asked | None = None
) -> F64:  # fmt: skip
    """Estimate the water an hour of every point of several waters.

    All points are bounded from the fields first; the gates are looked at for the best of each water, and for more of
    them while none can be flown or the next may still be the best. What a point gets depends on its own water alone:
    those that are not looked at are set right by what the gates made of the others of their water.

    Parameters
    ----------
    fields
        In the weather asked for.
    points
        The points of all waters, one water after another.
    counts
        How many points each water has.
    looked_at
        Points of a water whose gates are looked at in one go.
    asked
        Of which waters; None asks for all. With `Asked.enough` no gate of a water is looked at whose bound lies below
        so many other waters: its points are NaN, and it is taken out of ``asked.waters``.

    Returns
    -------
    numpy.ndarray
        [L/h], NaN where a point cannot be used or was not asked for, shape (points,).
    """
    asked = Asked(np.ones(len(counts), np.bool_)) if asked is None else asked
    most = most_water(fields, points)
    value = np.full(len(most), np.nan)
    looked = np.zeros(len(most), np.bool_)
    ends = np.cumsum(counts)
    order = []
    for start, end in zip(ends - counts, ends, strict=True):
        usable = start + np.flatnonzero(np.isfinite(most[start:end]))
        order.append(usable[np.argsort(-most[usable], kind="stable")])
    bound = np.array([most[which[0]] if len(which) else np.nan for which in order])
    waters = np.flatnonzero(asked.waters & np.isfinite(bound))
    waters = waters[np.argsort(-bound[waters], kind="stable")]
    while len(waters):
        best = np.array([np.nanmax(value[which], initial=0.0) for which in order])  # 0: not looked at, or none
        if asked.enough is not None and bound[waters[0]] < np.partition(best, -asked.enough)[-asked.enough]:
            asked.waters[waters] = False
            break
        some = waters if asked.enough is None else waters[: max(AT_ONCE, asked.enough - np.count_nonzero(best))]
        waters = waters[len(some) :]
        for seen in range(0, LOOKED_AT_MOST, looked_at):
            wanted = [
                order[w][seen : seen + looked_at] for w in some if _look_on(most[order[w]], value[order[w]], seen)
            ]
            if not wanted:
                break
            now = np.concatenate(wanted)
            looked[now] = True
            value[now] = water_through_gates(fields, points.some(now))
    for which in order:
        share = (value[which] / most[which])[looked[which]]
        if np.isfinite(share).any():
            unseen = which[~looked[which]]
            value[unseen] = most[unseen] * float(np.nanmedian(share))
    return value


def _look_on(most: F64, value: F64, seen: int) -> bool:
    """Whether the next points of a water are to be looked at; both arrays in falling order of the bound."""
    if seen >= len(most):
        return False
    share = value / most
    return not np.isfinite(share).any() or bool(most[seen] * np.nanmax(share) > np.nanmax(value))


def _water_per_hour(fields: TravelFields, points: Swept, times: _Times) -> F64:
    """Work the best loads of points whose legs take so long [L/h]."""
    prepared = fields.prepared
    incident, shares = prepared.incident, prepared.shares
    spots = Spots(
        np.where(points.shore, points.level_high_m, np.nan),
        points.water_kg_l,
        np.maximum(points.around.line_needed_m, prepared.drop_line_m),
        np.array([_bottom_at(drop, points.x_m, points.y_m) for drop in prepared.drops]),
    )
    last_s = farthest_drop_s(incident.helicopter, times.loaded_s, shares)
    ferries = _ferries(fields, points)
    nothing = np.zeros((len(points.x_m), 1))
    flights = Flights(
        loaded_s=(shares @ times.loaded_s)[:, None],
        empty_s=(shares @ times.empty_s)[:, None],
        lift_m=times.lift_m[:, None],
        lower_m=times.lower_m[:, None],
        drop_lower_m=nothing,  # the fields' times hold it already
        drop_lift_m=nothing,
        dip_turn_s=times.dip_turn_s[:, None],
        drop_turn_s=nothing,
        out_s=None if ferries is None else ferries[0][:, None],
        home_s=None if ferries is None else (ferries[1] + last_s)[:, None],
        fixed=np.ones(1),
    )
    return best_loads(incident, spots, [fields.weather.air], flights).litres_per_hour[:, 0]


def _ferries(fields: TravelFields, points: Swept) -> tuple[F64, float] | None:
    """Bound the ways from the base to points, and home from the drop that lies farthest from it [s]; None: no base."""
    if fields.from_base is None or fields.to_base is None:
        return None
    out = _finite(fields.from_base.bound(points.x_m, points.y_m, points.level_low_m))
    home = [fields.to_base.bound(ends.out.x_m, ends.out.y_m, ends.out.z_m).max() for ends in fields.drops]
    return out, float(_finite(np.array(home)).max())


def _finite(seconds: F64) -> F64:
    return np.where(np.isfinite(seconds), seconds, np.nan)


def _bottom_at(drop: Places, x_m: F64, y_m: F64) -> F64:
    """Height of the bucket's bottom at the known place of a drop that is nearest to each point [m AMSL]."""
    known = np.isfinite(drop.bottom_m)
    away = np.hypot(x_m[:, None] - drop.x_m[known], y_m[:, None] - drop.y_m[known])
    bottom: F64 = drop.bottom_m[known][np.argmin(away, axis=1)]
    return bottom
