"""A leg as it is flown: path, waypoints, what lies below it, and where it is steepest and lowest."""

from __future__ import annotations

from typing import Literal

from diproute.document.fields import Coordinate, MaybeCourse, MaybeTenth, Part, Share, Tenth
from diproute.document.findings import Finding


class Waypoint(Part):
    """A turning point of a leg, its ends included."""

    index: int  # into the leg's path
    along_m: Tenth
    altitude_m: Tenth  # of the aircraft, AMSL
    time_s: Tenth
    course_deg: MaybeCourse = None  # true, to the next; None at the end


class Envelope(Part):
    """The leg from the side, in even steps of its length; None where any of a step is not known.

    Ground, top and floor are the highest in each step, the aircraft the lowest.
    """

    step_m: float
    ground_m: tuple[float | None, ...]
    top_m: tuple[float | None, ...]
    floor_m: tuple[float | None, ...]
    aircraft_m: tuple[float, ...]


class Slope(Part):
    """The steepest stretch of a leg."""

    gradient: Share  # up positive
    from_m: Tenth
    over_m: Tenth


class Low(Part):
    """Where the bucket's bottom comes closest to what is below it, between the climb away and the descent."""

    clearance_m: Tenth
    along_m: Tenth


class WireCrossed(Part):
    """A wire that a leg crosses."""

    name: str
    lat: Coordinate
    lon: Coordinate
    along_m: Tenth
    top_m: Tenth
    height_assumed: bool
    clearance_m: Tenth
    angle_deg: Tenth


class Leg(Part):
    """One leg. ``path`` holds longitude, latitude and the aircraft's height AMSL; the other rows run beside it."""

    id: str
    drop: str | None = None  # None: a ferry
    leg: Literal["loaded", "empty", "ferry"]
    length_m: Tenth
    seconds: Tenth
    highest_m: Tenth
    hanging_m: Tenth  # hook to bucket's bottom
    path: tuple[tuple[float, float, float], ...]
    along_m: tuple[float, ...]
    time_s: tuple[float, ...]
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


class Ferry(Part):
    """The ways from and to the helibase, by the id of their leg in the plan's ``ferries``."""

    from_base: str | None = None
    to_base: str | None = None


class MaybeWind(Part):
    """The wind at a place."""

    from_deg: MaybeCourse = None
    speed_m_s: MaybeTenth = None
    gust_m_s: MaybeTenth = None
