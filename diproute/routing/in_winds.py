"""One leg in many winds: a few paths, searched where they are needed, each timed in every wind by the law of flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.records import F64, I64, Wind
from diproute.routing.corners_kernel import Air, Craft
from diproute.routing.flight import Anew, Flight, Search
from diproute.routing.flown import fly_again, nearest_open
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import ANSWERS, WHOLE
from diproute.routing.refine_kernel import Leg, Scene, lay, refine, spare_orbits
from diproute.routing.scene import air_of, end_of, own_work
from diproute.routing.starts import FIRST_M, far_gates, starts
from diproute.routing.winds_kernel import Crafts, Timed, Winds, time_path

Bools = npt.NDArray[np.bool_]
SEARCHES: Final = 28  # of one leg at most; a wind for which no path is found by then counts as closed
WHOLE_SEARCHES: Final = 4  # of them by `fly_again`, where the short one finds nothing
WARM: Final = 1  # paths of neighbours that a search begins from
WARM_M: Final = np.array([50.0])
STEPS_M: Final = np.array([160.0])
ROOM: Final = 0.85  # share of the bank's pull that a path is searched with: its turns have room in other winds
LIKELY: Final = 2  # gates that are tried at each end
# what a path may take: so many times what the plan's would take straight on, and such a share of a whole turn more
GOOD: Final = (1.03, 0.05)  # no better one is looked for
POOR: Final = (1.2, 0.45)  # a better one is looked for once
DOUBTFUL: Final = (1.15, 0.55)  # one that takes longer counts as none
SAME_M_S: Final = 1e-6


@dataclass(frozen=True, slots=True)
class InWinds:
    """What a leg is flown in: winds, each one everywhere, with the craft of each."""

    anews: tuple[Anew, ...]
    alike: tuple[I64, ...]  # the winds of one speed, which share a craft, by direction; the weakest first
    east: F64  # (winds,) motion of the air [m/s]
    north: F64
    turn_s: F64  # (winds,) of a whole turn [s]
    craft: I64  # (winds,) which of the crafts
    crafts: Crafts

    @classmethod
    def of(cls, anews: Sequence[Anew]) -> InWinds:
        """Put together in what a leg is flown, one entry a wind; each wind has one level."""
        winds = [anew.wind for anew in anews]
        speed = np.round([wind.speed_m_s[0] for wind in winds], 6)
        _, craft = np.unique(speed, return_inverse=True)
        by_direction = np.argsort([wind.from_deg[0] for wind in winds], kind="stable")
        groups = tuple(by_direction[craft[by_direction] == k] for k in range(craft.max() + 1))
        east, north = (np.array([getattr(anew.air, name)[0] for anew in anews]) for name in ("east", "north"))
        turn_s = np.array([anew.craft.period for anew in anews])
        crafts = _crafts([anews[group[0]].craft for group in groups])
        return cls(tuple(anews), groups, east, north, turn_s, craft, crafts)

    def near(self, w: int) -> list[int]:
        """Give the winds beside one: of its speed to both sides, and of the next weaker and stronger one."""
        k = next(k for k, group in enumerate(self.alike) if w in group)
        beside = [int(v) for v in self.beside(w) if v != w]
        direction = self.anews[w].wind.from_deg[0]
        for other in (k - 1, k + 1):
            if 0 <= other < len(self.alike):
                away = [abs((self.anews[v].wind.from_deg[0] - direction + 180) % 360 - 180) for v in self.alike[other]]
                beside.append(int(self.alike[other][int(np.argmin(away))]))
        return beside

    def beside(self, w: int) -> I64:
        """Give a wind and its neighbours in direction."""
        group = next(group for group in self.alike if w in group)
        at = int(np.flatnonzero(group == w)[0])
        return np.asarray(group[np.array([at - 1, at, at + 1]) % group.size])


def _crafts(some: Sequence[Craft]) -> Crafts:
    """Put craft together as the kernel takes them."""
    around = np.array([craft.circle_x.size for craft in some])
    circles = np.zeros((2, len(some), around.max()))
    for k, craft in enumerate(some):
        circles[:, k, : around[k]] = craft.circle_x, craft.circle_y
    numbers = np.array([[*craft[:10], craft.hanging] for craft in some])
    return Crafts(numbers, around, circles[0], circles[1])


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
        late = np.where(search.found & ~tried, search.timed.flown_s / search.at_most(POOR), 0.0)
        if (missing & ~tried).any():
            w = _next(missing & ~tried, winds)
        elif late.max() > 1.0:
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
    """Give the middle one of the winds to be searched next: what it gives serves its neighbours.

    Weak winds come first, each with turns of its own; of the strong ones the strongest, whose wide turns serve the
    others, too.
    """
    weak = len(winds.alike) // 2
    order = (*winds.alike[:weak], *winds.alike[weak:][::-1])
    some = next(which[missing[which]] for which in order if missing[which].any())
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

    def straight_s(wind_east: npt.ArrayLike, wind_north: npt.ArrayLike) -> F64:
        we, wn = np.asarray(wind_east, np.float64), np.asarray(wind_north, np.float64)
        left = airspeed**2 - (we * north - wn * east) ** 2
        return np.asarray(away / np.maximum(1.0, we * east + wn * north + np.sqrt(np.maximum(0.0, left))))

    own = air_of(flight.wind)
    changed = straight_s(winds.east, winds.north) - straight_s(own.east[0], own.north[0])
    return np.maximum(1.0, flight.seconds + changed)


class _Search:
    """The paths of one leg so far, and the best of them by wind."""

    def __init__(self, flight: Flight, winds: InWinds, ends: tuple[EndInWinds, EndInWinds], asked: Bools) -> None:
        self.flight, self.winds, self.ends = flight, winds, ends
        self.gates = ends[0].at(0), ends[1].at(0)
        self.speeds = ends[0].speed_m_s, ends[1].speed_m_s
        self.left = asked & np.all([(speed > 0).any(axis=(1, 2)) for speed in self.speeds], axis=0)
        count = len(winds.anews)
        self.timed = Timed(np.full(count, np.inf), np.full(count, np.inf), np.full(count, -1, np.int64))
        self.taken: list[tuple[Leg, int]] = []
        self.straight_s = _straight_on(flight, winds)
        air = Air(0.0, 1.0, np.zeros(1), np.zeros(1))  # written over
        self.scene, work = self._scene(winds.anews[0], self.gates)._replace(air=air), own_work()
        corners = lay(flight.search, flight.corners, self.scene, work)
        self.nodes = np.column_stack([work.x[1 : corners - 1], work.y[1 : corners - 1]])

    @property
    def found(self) -> Bools:
        """The winds in which one of the paths can be flown."""
        return np.isfinite(self.timed.seconds)

    def at_most(self, limit: tuple[float, float]) -> F64:
        """Give the time of a limit in every wind [s]."""
        share, turns = limit
        return share * self.straight_s + turns * self.winds.turn_s

    def near_and_far(self, w: int) -> tuple[Gates, Gates]:
        """Give the gates of both ends in one wind, in the order of `fly_again`."""
        first, last = self.ends[0].at(w), self.ends[1].at(w)
        return (first, last) if self.flight.towards else (last, first)

    def look(self, w: int) -> None:
        """Look for a path in a wind: from those of its neighbours, else anew along the way."""
        before = self.timed.flown_s[w]
        for number in self._neighbours(w):
            leg, corners = self.taken[number]
            gate = nearest_open(leg.gate, (self.ends[0].at(w), self.ends[1].at(w)))
            if gate is None:
                return
            self._settle(Leg(leg.free.copy(), gate, leg.ray.copy()), corners, w, WARM_M)
            if self.timed.flown_s[w] < before:
                return
        for begun in self._begun(w):
            self._settle(begun.leg, begun.corners, w, STEPS_M)
            if self.timed.flown_s[w] < before:
                return

    def _neighbours(self, w: int) -> list[int]:
        """Give the paths of the winds beside one, and of weaker and stronger ones, the quickest first."""
        near = [v for v in self.winds.near(w) if self.timed.path[v] >= 0]
        near.sort(key=lambda v: self.timed.flown_s[v] / self.straight_s[v])
        return list(dict.fromkeys(int(self.timed.path[v]) for v in near))[:WARM]

    def _begun(self, w: int) -> list[Search]:
        """Begin anew along the way, through gates that the wind leaves open, and its neighbours if they leave any."""
        anew = self.winds.anews[w]
        first, last = (self._lasting(e, w) for e in (0, 1))
        pairs = [
            (*out, *into)
            for out in far_gates(first, 0, self.nodes[0], anew.craft)[:LIKELY]
            for into in far_gates(last, 0, self.nodes[-1], anew.craft)[:LIKELY]
        ]
        return starts(self.nodes, pairs, self._scene(anew, (first, last), ROOM), (self.flight.far, 0))[:2]

    def _settle(self, leg: Leg, corners: int, w: int, steps: F64) -> None:
        """Refine a path in a wind with turns that have some room, spare its orbits, and time it in all winds."""
        anew, gates = self.winds.anews[w], (self.ends[0].at(w), self.ends[1].at(w))
        roomy = self._scene(anew, gates, ROOM)
        count, _ = refine(leg, corners, roomy, steps, (FIRST_M, WHOLE, 1), own_work(), np.zeros(ANSWERS))
        spare_orbits(leg, count, self._scene(anew, gates), own_work(), np.zeros(ANSWERS))
        self.add(leg, count)

    def _lasting(self, e: int, w: int) -> Gates:
        """Give the gates of an end that its neighbours in direction leave open, too; if there are none, all of them."""
        here = self.ends[e].at(w)
        lasting = (self.speeds[e][self.winds.beside(w)] > 0).all(axis=0)
        if not lasting.any():
            return here
        return replace(here, speed_m_s=np.where(lasting, here.speed_m_s, 0.0))

    def _scene(self, anew: Anew, gates: tuple[Gates, Gates], room: float = 1.0) -> Scene:
        craft = anew.craft._replace(lateral=anew.craft.lateral * room)
        return Scene(end_of(gates[0], 0), end_of(gates[1], 0), craft, anew.air, anew.land)

    def add(self, leg: Leg, corners: int) -> None:
        """Time one more path in the winds that are asked for."""
        number, gate = len(self.taken), leg.gate
        self.taken.append((leg, corners))
        open_m_s = np.stack([self.speeds[e][:, gate[2 * e], gate[2 * e + 1]] for e in (0, 1)], axis=-1)
        wanted = self.left & (open_m_s > 0).all(axis=1) & (self.timed.flown_s > self.at_most(GOOD))
        if not wanted.any():
            return
        all_winds = self.winds
        asked = Winds(
            np.flatnonzero(wanted), all_winds.east, all_winds.north, open_m_s, self.at_most(DOUBTFUL),
            all_winds.craft,
        )  # fmt: skip
        path, out = (number, leg, corners), np.zeros(ANSWERS)
        time_path(path, asked, all_winds.crafts, self.scene, own_work(), out, self.timed)

    def answer(self, own: Bools) -> LegInWinds:
        """Give the leg by wind."""
        path = np.where(own, 0, self.timed.path)
        of_paths = np.array([self._of(leg) for leg, _ in self.taken])
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
