"""A leg as flown: what a search comes to, sampled closely, with its orbits and heights, checked from both ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from diproute.records import F64, I64, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.corners_kernel import WIDEST, Air, Craft, Land, sample
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import (
    ANSWERS,
    AT_DOWN,
    AT_UP,
    BAD,
    BAD_AT,
    BAD_WHY,
    COUNT,
    DOWN,
    FIRST,
    FLYABLE,
    LAST,
    LOW,
    ORBITS_DOWN,
    ORBITS_UP,
    UP,
    WHOLE,
    circle_floor,
    closed_between,
    heights,
    lowest,
    orbit_place,
    spend,
)
from diproute.routing.refine_kernel import CLOSE_M, NO_CIRCLE, NO_ROOM, Leg, Scene, spare_orbits
from diproute.routing.scene import air_of, craft_of, land_of, own_work
from diproute.routing.speed_model import Flying

LOW_M: Final = 1.0  # by which heights of both ends must be met


@dataclass(frozen=True, slots=True)
class Orbits:
    """Whole turns at one place."""

    sample: int  # of the flight, where they begin and end
    descending: bool  # their height is lost on the way to the sample; climbing, it is won on the way after it
    turns: int
    side: float  # 1: to the right
    x_m: float  # centre
    y_m: float
    radius_m: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Flight:
    """A leg as flown, in the order of flight. Arrays have one entry a sample; heights are the bucket's bottom's."""

    seconds: float  # lift and lower included
    lift_m: float
    lower_m: float
    lift_s: float
    lower_s: float
    far: int  # index of the end of the field that it serves
    towards: bool
    gates: tuple[Gates, Gates]  # of departure and arrival, one end each
    search: Leg  # as it was found, to begin again from
    corners: int  # free ones of it
    x_m: F64  # from the top of the lift to the top of the lower
    y_m: F64
    bottom_m: F64
    took_s: F64  # since the sample before, slower flight included, orbits not
    kind: I64  # STRAIGHT, ARC, OUT or IN, of the way since the sample before
    corner: I64
    need_m: F64  # the floor that counts at each sample
    radius_m: F64  # by corner of the polyline
    turn_rad: F64  # by corner, to the right positive
    orbits: tuple[Orbits, ...]
    straight_m: tuple[float, float]  # flown on the first corridor and on the last one
    wind: Wind
    flying: Flying

    @property
    def transit_s(self) -> float:
        """Time between the lift and the lower [s]."""
        return self.seconds - self.lift_s - self.lower_s

    def course_deg(self, end: int) -> float:
        """Give the true course of the departure (0) or the arrival (1)."""
        outward = float(self.gates[end].bearing_deg[int(self.search.gate[2 * end])])
        return outward if end == 0 else (outward + 180.0) % 360.0

    @property
    def departure_deg(self) -> float:
        """True course of the departure."""
        return self.course_deg(0)

    @property
    def arrival_deg(self) -> float:
        """True course of the arrival."""
        return self.course_deg(1)


@dataclass(frozen=True, slots=True)
class Anew:
    """In what legs are flown: made once for many of them."""

    flying: Flying
    wind: Wind
    craft: Craft
    air: Air
    land: Land

    @classmethod
    def of(cls, airspace: Airspace, flying: Flying, wind: Wind) -> Anew:
        """Make ground, craft and air ready for the search."""
        air = air_of(wind)
        return cls(flying, wind, craft_of(flying, air, airspace.rules.hanging_m), air, land_of(airspace))


@dataclass(frozen=True, slots=True)
class Failed:
    """Why a path cannot be flown, and where; the sample's own place."""

    why: int
    x_m: float
    y_m: float
    early: bool  # nearer the departure
    along_m: float
    short_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Search:
    """One polyline on its way to a flight."""

    seconds: float
    leg: Leg
    corners: int
    scene: Scene
    far: int
    direction: int  # of the near end

    def copy(self) -> Search:
        """Give one that can be changed alone."""
        leg = self.leg
        return replace(self, leg=Leg(leg.free.copy(), leg.gate.copy(), leg.ray.copy()))


def finish(one: Search, gates: tuple[Gates, Gates], anew: Anew, *, towards: bool) -> Flight | Failed:
    """Sample a search closely, place its orbits, give it the lowest profile, and check it from both ends."""
    leg, scene, work, out = one.leg, one.scene, own_work(), np.zeros(ANSWERS)
    craft, land, wind = scene.craft, scene.land, anew.wind
    seconds = spare_orbits(leg, one.corners, scene, work, out)
    if not np.isfinite(seconds) or out[FLYABLE] < 1:
        return _failure(work, out, leg, scene)
    samples: _Samples | None = None
    for turn in range(1 if len(wind.altitude_m) == 1 else 3):
        if turn > 0 and samples is not None:  # the wind is that of the heights as flown
            count = int(out[COUNT])
            work.need[:count] = samples.bottom_m
            k = sample(work, one.corners + 4, craft, scene.air, land, CLOSE_M, True)
            heights(work, k, one.corners + 4, _line(leg, scene), craft, land, (WHOLE, np.inf, np.inf), out)
            closed_between(work, k, land, out)
            if out[BAD] > 0:
                return _failure(work, out, leg, scene)
        ended = _profile(work, out, scene)
        if isinstance(ended, Failed):
            return ended
        samples = ended
    assert samples is not None
    start, end, gate, ray = scene.start, scene.end, leg.gate, leg.ray
    lift_m = float(start.lift[gate[0], gate[1]] + ray[2])
    lower_m = float(end.lift[gate[2], gate[3]] + ray[3])
    n, first, last = one.corners + 4, int(out[FIRST]), int(out[LAST])
    straight = (_run(samples, 0, first), _run(samples, last, samples.x_m.size - 1))
    took = samples.took_s.copy()
    corridor = (start.speed[gate[0], gate[1]], end.speed[gate[2], gate[3]])
    step = np.concatenate([[0.0], np.hypot(np.diff(samples.x_m), np.diff(samples.y_m))])
    took[: first + 1], took[last + 1 :] = step[: first + 1] / corridor[0], step[last + 1 :] / corridor[1]
    lift_s, lower_s = lift_m / start.vertical, lower_m / end.vertical
    total = lift_s + float(took.sum()) + sum(orbits.seconds for orbits in samples.orbits) + lower_s
    return Flight(
        seconds=total, lift_m=lift_m, lower_m=lower_m, lift_s=lift_s, lower_s=lower_s, far=one.far, towards=towards,
        gates=gates, search=leg, corners=one.corners, x_m=samples.x_m, y_m=samples.y_m, bottom_m=samples.bottom_m,
        took_s=took, kind=samples.kind, corner=samples.corner, need_m=samples.need_m, radius_m=work.radius[:n].copy(),
        turn_rad=(work.side[:n] * np.minimum(work.angle[:n], WIDEST)).copy(), orbits=samples.orbits,
        straight_m=straight, wind=anew.wind, flying=anew.flying,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Samples:
    """The samples of a path with their heights."""

    x_m: F64
    y_m: F64
    bottom_m: F64
    took_s: F64
    kind: I64
    corner: I64
    need_m: F64
    orbits: tuple[Orbits, ...]


def _line(leg: Leg, scene: Scene) -> tuple[float, ...]:
    """Both corridors' lines as `heights` takes them."""
    g, start, end = leg.gate, scene.start, scene.end
    return (
        start.z + start.lift[g[0], g[1]] + leg.ray[2], start.gradient[g[1]], start.surveyed[g[1]], start.vertical,
        end.z + end.lift[g[2], g[3]] + leg.ray[3], end.gradient[g[3]], end.surveyed[g[3]], end.vertical, 0.0,
    )  # fmt: skip


def _run(samples: _Samples, first: int, last: int) -> float:
    """Length over the ground between two samples [m]."""
    x, y = samples.x_m[first : last + 1], samples.y_m[first : last + 1]
    return float(np.hypot(np.diff(x), np.diff(y)).sum())


def _profile(work: Any, out: F64, scene: Scene) -> _Samples | Failed:
    """Spend what is waited in orbits and slower flight, and give the lowest profile that the rates allow."""
    craft, k = scene.craft, int(out[COUNT])
    i0, i1 = int(out[FIRST]), int(out[LAST])
    x, y, high, back = (a[:k].copy() for a in (work.px, work.py, work.high, work.back))
    circling, bottom, orbits = np.zeros((2, k)), np.zeros(k), list[Orbits]()
    for backwards, waited, turns in ((0, out[UP], int(out[ORBITS_UP])), (1, out[DOWN], int(out[ORBITS_DOWN]))):
        rate, spare = (craft.down if backwards else craft.up), float(waited)
        if turns:
            seconds = turns * craft.period
            spare = max(0.0, spare - seconds)
            at, side, ox, oy, _ = orbit_place(
                work, (backwards, spare, seconds * craft.in_arcs * rate), craft, scene.land, out
            )
            if at < 0 or (orbits and orbits[0].sample == at):
                i = int(out[AT_DOWN if backwards else AT_UP])
                return Failed(NO_CIRCLE, float(x[i]), float(y[i]), not backwards, _along(x, y, i))
            orbits.append(
                Orbits(int(at), bool(backwards), turns, float(side), float(ox), float(oy), craft.radius, seconds)
            )
            circling[backwards, at if backwards else at + 1] += seconds
            work.need[at] = max(work.need[at], circle_floor(craft, scene.land, ox, oy))
        left = spend(work, craft, out, backwards, spare)
        if left > 0.05:
            i = int(out[AT_DOWN if backwards else AT_UP])
            return Failed(LOW, float(x[i]), float(y[i]), not backwards, _along(x, y, i), left * rate)
    lowest(work, craft, out, *circling, bottom)
    for i, line, early in ((i0, high, True), (i1, back, False)):
        if bottom[i] > line[i] + LOW_M:
            return Failed(LOW, float(x[i]), float(y[i]), early, _along(x, y, i), float(bottom[i] - line[i]))
    bottom[: i0 + 1], bottom[i1:] = high[: i0 + 1], back[i1:]
    kind, corner = work.kind[:k].astype(np.int64), work.corner[:k].astype(np.int64)
    return _Samples(x, y, bottom, work.took[:k].copy(), kind, corner, work.need[:k].copy(), tuple(orbits))


def _along(x: F64, y: F64, i: int) -> float:
    return float(np.hypot(np.diff(x[: i + 1]), np.diff(y[: i + 1])).sum())


def _failure(work: Any, out: F64, leg: Leg, scene: Scene) -> Failed:
    """Say why a path cannot be flown and where: at the sample that the heights found, else at the turns."""
    why, at, count = int(out[BAD_WHY]), int(out[BAD_AT]), int(out[COUNT])
    if why == NO_ROOM or at < 0 or count == 0:
        g = leg.gate
        x = scene.start.x + leg.ray[0] * np.sin(scene.start.bearing[g[0]])
        y = scene.start.y + leg.ray[0] * np.cos(scene.start.bearing[g[0]])
        return Failed(NO_ROOM, float(x), float(y), True, float(leg.ray[0]))
    x, y = work.px[:count], work.py[:count]
    return Failed(why, float(x[at]), float(y[at]), 2 * at < count, _along(x, y, at))
