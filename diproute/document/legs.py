"""A leg as it is flown: path, waypoints, what lies below it, and where it is steepest and lowest."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal, Self

from pydantic import model_validator

from diproute.document.fields import (
    Course,
    Hundredth,
    Index,
    Latitude,
    Longitude,
    MaybeCourse,
    MaybeHundredth,
    MaybeRow,
    Part,
    Path,
    Row,
    Share,
    Tenth,
)
from diproute.document.findings import Finding


class Waypoint(Part):
    """A turning point of a leg, its ends included."""

    index: Index  # into the leg's path
    along_m: Tenth
    altitude_m: Tenth  # of the aircraft, AMSL, rounded up
    time_s: Tenth
    course_deg: MaybeCourse = None  # true, to the next; None at the end


class Envelope(Part):
    """The leg from the side, in even steps of its length; None where any of a step is not known.

    Ground, top and floor are the highest in each step, rounded up; the aircraft is the lowest, rounded down, and the
    room the least that it has above its floor. A leg that climbs within a step can so seem to come below its floor: the
    path says how it is flown, and the room how far it stays above.
    """

    step_m: Share
    ground_m: MaybeRow
    top_m: MaybeRow
    floor_m: MaybeRow
    room_m: MaybeRow
    aircraft_m: Row

    @model_validator(mode="after")
    def _even(self) -> Self:
        rows = (self.ground_m, self.top_m, self.floor_m, self.room_m, self.aircraft_m)
        if len({len(row) for row in rows}) != 1 or not self.aircraft_m:
            raise ValueError("the rows of an envelope are not of one length")
        return self


class Gate(Part):
    """How one end of a leg is left, or reached."""

    place: Literal["dip", "drop", "base"]
    kind: Literal["departure", "arrival"]
    course_deg: Course  # true, flown on the straight corridor
    lift_m: Tenth  # straight up before moving off, or straight down at the end
    gradient: Share  # of the corridor, climbing away or coming down
    ground_speed_m_s: Hundredth
    straight_m: Tenth  # flown straight before the first arc, or after the last one
    surveyed_m: Tenth  # length of the corridor that the lift was surveyed for
    headwind_m_s: Hundredth
    crosswind_m_s: Hundredth


class Piece(Part):
    """A part of a leg that is flown in one manner, from one point of the path to another."""

    kind: Literal["lift", "corridor", "arc", "straight", "orbits", "lower"]
    first: Index
    last: Index
    gate: bool = False  # belongs to the departure or the arrival
    seconds: Tenth
    radius_m: Tenth | None = None  # of an arc or an orbit
    turn_deg: Tenth | None = None  # to the right positive; whole circles for orbits


class Slope(Part):
    """The steepest stretch of a leg."""

    gradient: Share  # up positive
    from_m: Tenth
    over_m: Tenth


class Low(Part):
    """Where the bucket's bottom comes closest to what is below it, between the climb away and the descent."""

    clearance_m: Tenth  # rounded down
    along_m: Tenth


class WireCrossed(Part):
    """A wire that a leg crosses."""

    name: str
    lat: Latitude
    lon: Longitude
    along_m: Tenth
    top_m: Tenth
    height_assumed: bool
    clearance_m: Tenth
    angle_deg: Tenth


class Leg(Part):
    """One leg. ``path`` holds longitude, latitude and the aircraft's height AMSL; the other rows run beside it.

    The first point is the start with the bucket as it hangs there, the second the top of the lift; the last is the end
    after the lowering. Every point where the manner of flight changes is in the path, and arcs and orbits have a point
    every 25 m at least; between them it is thinned so that the leg as planned strays at most 1 m from it, and so that
    it never comes below the leg's floor.
    """

    id: str
    drop: str | None = None  # None: a ferry
    leg: Literal["loaded", "empty", "ferry"]
    length_m: Tenth
    seconds: Tenth
    highest_m: Tenth
    hanging_m: Tenth  # hook to bucket's bottom
    path: Path
    along_m: Row
    time_s: Row
    waypoints: tuple[Waypoint, ...]
    envelope: Envelope | None = None
    steepest: Slope | None = None  # None: too short to tell, or not known (see `slope_known`)
    slope_known: bool
    turned_up_m: Tenth  # won in orbits
    turned_down_m: Tenth  # lost in orbits
    departure: Gate | None = None
    arrival: Gate | None = None
    pieces: tuple[Piece, ...] = ()
    lowest: Low | None = None  # None: lowest at its ends, or not known (see `under_known`)
    under_known: bool
    wires_crossed: tuple[WireCrossed, ...] = ()
    cautions: tuple[Finding, ...] = ()

    @model_validator(mode="after")
    def _beside(self) -> Self:
        if not len(self.path) == len(self.along_m) == len(self.time_s) > 1:
            raise ValueError("the rows of a leg are not of one length, or of a single point")
        if any(piece.last >= len(self.path) for piece in self.pieces):
            raise ValueError("a piece of a leg is not in the path")
        if any(point.index >= len(self.path) for point in self.waypoints):
            raise ValueError("a waypoint is not in the path")
        if any(after < before for before, after in pairwise(self.along_m)):
            raise ValueError("the path runs backwards")
        return self


class Ferry(Part):
    """The ways from and to the helibase, by the id of their leg in the plan's ``ferries``."""

    from_base: str | None = None
    to_base: str | None = None


class MaybeWind(Part):
    """The wind at a place."""

    from_deg: MaybeCourse = None
    speed_m_s: MaybeHundredth = None
    gust_m_s: MaybeHundredth = None
