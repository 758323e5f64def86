"""One leg in many winds: a few paths, searched where they are needed, each timed in every wind by the law of flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.records import F64, I64, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.corners_kernel import Air
from diproute.routing.flight import Anew, Flight
from diproute.routing.flown import fly_again
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import ANSWERS, FLYABLE, WHOLE
from diproute.routing.refine_kernel import Leg, Scene, lay, spare_orbits
from diproute.routing.scene import air_of, end_of, own_work
from diproute.routing.speed_model import Flying
from diproute.routing.starts import FIRST_M, far_gates, settled, starts
from diproute.routing.winds_kernel import Timed, Winds, time_path

Bools = npt.NDArray[np.bool_]
SEARCHES: Final = 24  # of one leg at most; a wind for which no path is found by then counts as closed
WHOLE_SEARCHES: Final = 8  # of them by `fly_again`, where the short one finds nothing
STEPS_M: Final = np.array([200.0, 80.0])
ROOM: Final = 0.85  # share of the bank's pull that a path is searched with: its turns have room in other winds
LIKELY: Final = 2  # gates that are tried at each end
POOR: Final = 1.1  # a path that takes so many times what the plan's would take straight on is looked for once more
DOUBTFUL: Final = 1.5  # and one that takes so many times as long is none
SAME_M_S: Final = 1e-6


@dataclass(frozen=True, slots=True)
class InWinds:
    """What a leg is flown in: winds, each one everywhere, with the craft of each."""

    anews: tuple[Anew, ...]
    alike: tuple[I64, ...]  # the winds of one speed, which share a craft, by direction; in the order of the search

    @classmethod
    def of(cls, airspace: Airspace, flying: Flying, winds: Sequence[Wind]) -> InWinds:
        """Make the craft ready for every wind.

        Weak winds are searched first, each with turns of its own; of the strong ones the strongest, whose wide turns
        serve the others.
        """
        speed = np.round([wind.speed_m_s[0] for wind in winds], 6)
        direction = np.array([wind.from_deg[0] for wind in winds])
        speeds = np.unique(speed)
        weak = len(speeds) // 2
        order = [*speeds[:weak], *speeds[weak:][::-1]]
        by_direction = np.argsort(direction, kind="stable")
        groups = tuple(by_direction[speed[by_direction] == one] for one in order)
        return cls(tuple(Anew.of(airspace, flying, wind) for wind in winds), groups)

    def beside(self, w: int) -> I64:
        """Give a wind and its neighbours in direction."""
        group = next(group for group in self.alike if w in group)
        at = int(np.flatnonzero(group == w)[0])
        return group[np.array([at - 1, at, at + 1]) % group.size]


@dataclass(frozen=True, slots=True)
class EndInWinds:
    """One end of a leg: the gates of ends of its kind by wind, and which of them it is."""

    gates: Sequence[Gates]
    i: int

    @property
    def speed_m_s(self) -> F64:
        """Ground speed on its corridors, (winds, directions, kinds); 0: not open."""
        return np.array([one.speed_m_s[self.i] for one in self.gates])

    def at(self, w: int) -> Gates:
        """Give its gates in one wind."""
        return self.gates[w].some(np.array([self.i]))


@dataclass(frozen=True, slots=True)
class LegInWinds:
    """A leg by wind, (winds,) each; NaN where no path was found that can be flown."""

    transit_s: F64  # between the lift and the lower
    lift_m: F64
    lower_m: F64
    departure_deg: F64
    arrival_deg: F64
    seconds: F64  # lift and lower included

    @property
    def flown(self) -> Bools:
        """The winds in which it can be flown."""
        return np.isfinite(self.seconds)

    def or_else(self, other: LegInWinds) -> LegInWinds:
        """Take another answer where there is none."""
        names = self.__dataclass_fields__
        return LegInWinds(*(np.where(self.flown, getattr(self, name), getattr(other, name)) for name in names))


def fly_in_winds(flight: Flight, winds: InWinds, ends: tuple[EndInWinds, EndInWinds], asked: Bools) -> LegInWinds:
    """Fly a leg in many winds.

    The path of the flight is timed in every wind in which its gates are open. Where it cannot be flown, or is a poor
    one, its way is searched for a path through the gates that are open then, and what is found is timed in all the
    other winds, too; each wind takes the quickest. Every path keeps to the floors, radii, climbs and orbits of the wind
    that it is timed in, so that a leg without an answer may still be flyable, and one with an answer is.

    Parameters
    ----------
    flight
        As flown in one wind.
    winds
        The winds.
    ends
        Departure and arrival.
    asked
        The winds that are asked for, (winds,).

    Returns
    -------
    LegInWinds
        In the wind and with the rates of the flight, the flight itself.
    """
    own = asked & np.array([_same(flight.wind, anew.wind) and flight.flying == anew.flying for anew in winds.anews])
    search = _Search(flight, winds, ends, asked & ~own)
    search.add(flight.search, flight.corners)
    tried = np.zeros(len(own), np.bool_)
    whole = 0
    for _ in range(SEARCHES):
        missing = search.left & ~search.found
        late = np.where(search.found, search.timed.flown_s / search.straight_s, 0.0)
        late[tried] = 0.0
        if (missing & ~tried).any():
            w = _next(missing & ~tried, winds)
        elif late.max() > POOR:
            w = int(np.argmax(late))
        else:
            break
        tried[w] = True
        search.look(w)
        if not search.found[w] and whole < WHOLE_SEARCHES:
            whole += 1
            another = fly_again(flight, winds.anews[w], *search.near_and_far(w))
            if isinstance(another, Flight):
                search.add(another.search, another.corners)
    return search.answer(own)


def _next(missing: Bools, winds: InWinds) -> int:
    """Give the middle one of the winds to be searched next: what it gives serves its neighbours."""
    some = next(which[missing[which]] for which in winds.alike if missing[which].any())
    return int(some[len(some) // 2])


def _same(one: Wind, other: Wind) -> bool:
    """Whether two winds are one steady wind everywhere."""
    if len(one.speed_m_s) > 1 or one.gust_m_s is not None or one.between_deg is not None:
        return False
    speed, still = other.speed_m_s[0], max(one.speed_m_s[0], other.speed_m_s[0]) < SAME_M_S
    turned = abs((one.from_deg[0] - other.from_deg[0] + 180.0) % 360.0 - 180.0)
    return still or (abs(one.speed_m_s[0] - speed) < SAME_M_S and turned < SAME_M_S)


def _straight_on(flight: Flight, winds: InWinds) -> F64:
    """Time of a flight changed by what each wind makes of the straight line between its ends [s]."""
    east, north = float(flight.x_m[-1] - flight.x_m[0]), float(flight.y_m[-1] - flight.y_m[0])
    away = max(float(np.hypot(east, north)), 1.0)
    east, north, airspeed = east / away, north / away, flight.flying.airspeed_m_s

    def straight(air: Air) -> float:
        along, across = (
            air.east[0] * east + air.north[0] * north,
            air.east[0] * north - air.north[0] * east,
        )
        return away / max(1.0, along + np.sqrt(max(0.0, airspeed**2 - across**2)))

    own = straight(air_of(flight.wind))
    return np.array([max(1.0, flight.seconds + straight(anew.air) - own) for anew in winds.anews])


class _Search:
    """The paths of one leg so far, and the best of them by wind."""

    def __init__(self, flight: Flight, winds: InWinds, ends: tuple[EndInWinds, EndInWinds], asked: Bools) -> None:
        self.flight, self.winds, self.ends = flight, winds, ends
        self.gates = ends[0].at(0), ends[1].at(0)
        self.speeds = ends[0].speed_m_s, ends[1].speed_m_s
        self.left = asked & np.all([(speed > 0).any(axis=(1, 2)) for speed in self.speeds], axis=0)
        count = len(winds.anews)
        self.timed = Timed(np.full(count, np.inf), np.full(count, np.inf), np.full(count, -1, np.int64))
        self.taken: list[Leg] = []
        self.straight_s = _straight_on(flight, winds)
        scene, work = self._scene(winds.anews[0], self.gates), own_work()
        corners = lay(flight.search, flight.corners, scene, work)
        self.nodes = np.column_stack([work.x[1 : corners - 1], work.y[1 : corners - 1]])

    @property
    def found(self) -> Bools:
        """The winds in which one of the paths can be flown."""
        return np.isfinite(self.timed.seconds)

    def near_and_far(self, w: int) -> tuple[Gates, Gates]:
        """Give the gates of both ends in one wind, in the order of `fly_again`."""
        first, last = self.ends[0].at(w), self.ends[1].at(w)
        return (first, last) if self.flight.towards else (last, first)

    def look(self, w: int) -> None:
        """Look along the way for a path through gates that are open in a wind, and in its neighbours if any are."""
        anew = self.winds.anews[w]
        first, last = (self._lasting(e, w) for e in (0, 1))
        roomy = anew.craft._replace(lateral=anew.craft.lateral * ROOM)
        scene = Scene(end_of(first, 0), end_of(last, 0), roomy, anew.air, anew.land)
        pairs = [
            (*out, *into)
            for out in far_gates(first, 0, self.nodes[0], anew.craft)[:LIKELY]
            for into in far_gates(last, 0, self.nodes[-1], anew.craft)[:LIKELY]
        ]
        for begun in starts(self.nodes, pairs, scene, (self.flight.far, 0))[:2]:
            one = settled(begun, STEPS_M, (FIRST_M, WHOLE, 1))
            out = np.zeros(ANSWERS)
            spare_orbits(one.leg, one.corners, self._scene(anew, (first, last)), own_work(), out)
            if out[FLYABLE] > 0:
                self.add(one.leg, one.corners)
                break

    def _lasting(self, e: int, w: int) -> Gates:
        """Give the gates of an end that its neighbours in direction leave open, too; if there are none, all of them."""
        here = self.ends[e].at(w)
        lasting = (self.speeds[e][self.winds.beside(w)] > 0).all(axis=0)
        if not lasting.any():
            return here
        return replace(here, speed_m_s=np.where(lasting, here.speed_m_s, 0.0))

    def _scene(self, anew: Anew, gates: tuple[Gates, Gates]) -> Scene:
        return Scene(end_of(gates[0], 0), end_of(gates[1], 0), anew.craft, anew.air, anew.land)

    def add(self, leg: Leg, corners: int) -> None:
        """Time one more path in the winds that are asked for."""
        number, gate = len(self.taken), leg.gate
        self.taken.append(leg)
        open_m_s = np.stack([self.speeds[e][:, gate[2 * e], gate[2 * e + 1]] for e in (0, 1)], axis=-1)
        flown = self.left & (open_m_s > 0).all(axis=1)
        for which in self.winds.alike:
            some = which[flown[which]]
            if not some.size:
                continue
            anew, airs = self.winds.anews[some[0]], [self.winds.anews[w].air for w in some]
            east, north = (np.array([getattr(air, name)[0] for air in airs]) for name in ("east", "north"))
            scene = self._scene(anew, self.gates)._replace(air=Air(0.0, 1.0, np.zeros(1), np.zeros(1)))
            path = number, leg, corners
            asked = Winds(some, east, north, open_m_s[some], DOUBTFUL * self.straight_s[some])
            time_path(path, asked, scene, own_work(), np.zeros(ANSWERS), self.timed)

    def answer(self, own: Bools) -> LegInWinds:
        """Give the leg by wind."""
        path = np.where(own, 0, self.timed.path)
        of_paths = np.array([self._of(leg) for leg in self.taken])
        lift, lower, departure, arrival, moving = np.where(path >= 0, of_paths[path].T, np.nan)
        seconds = np.where(own, self.flight.seconds, np.where(path >= 0, self.timed.flown_s, np.nan))
        transit = np.where(own, self.flight.transit_s, seconds - moving)
        return LegInWinds(transit, lift, lower, departure, arrival, seconds)

    def _of(self, leg: Leg) -> tuple[float, float, float, float, float]:
        """Lift, lower, courses of departure and arrival of a path, and the time that lift and lower take."""
        (first, last), g = self.gates, leg.gate
        lift_m = float(first.lift_m[0, g[0], g[1]] + leg.ray[2])
        lower_m = float(last.lift_m[0, g[2], g[3]] + leg.ray[3])
        out, into = float(first.bearing_deg[g[0]]), float((last.bearing_deg[g[2]] + 180.0) % 360.0)
        return lift_m, lower_m, out, into, lift_m / first.vertical_m_s + lower_m / last.vertical_m_s
