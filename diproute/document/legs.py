"""A leg as it is flown: path, waypoints, what lies below it, and where it is steepest and lowest."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal, Self

from pydantic import model_validator

from diproute.document.fields import (
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

    All turning points are in the path; between them it is thinned so that the leg as planned strays at most 1 m from
    it, and so that it never comes below the leg's floor.
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
    turned_up_m: Tenth  # won in turns over one place
    turned_down_m: Tenth
    lowest: Low | None = None  # None: lowest at its ends, or not known (see `under_known`)
    under_known: bool
    wires_crossed: tuple[WireCrossed, ...] = ()
    cautions: tuple[Finding, ...] = ()

    @model_validator(mode="after")
    def _beside(self) -> Self:
        if not len(self.path) == len(self.along_m) == len(self.time_s) > 1:
            raise ValueError("the rows of a leg are not of one length, or of a single point")
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
