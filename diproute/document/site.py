"""One dip site with everything found out about it."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from diproute.document.fields import (
    Course,
    Hundredth,
    Index,
    Latitude,
    Longitude,
    MaybeHundredth,
    MaybeRow,
    MaybeShare,
    MaybeTenth,
    Part,
    Row,
    Share,
    Tenth,
)
from diproute.document.findings import Finding
from diproute.document.geometry import Geometry
from diproute.document.legs import Ferry, Leg, MaybeWind


class Thing(Part):
    """What asks for a line or a lift, as seen from the dip point."""

    what: str
    distance_m: Tenth
    bearing_deg: Course
    height_m: Tenth  # its top above the water
    obstacle: Index | None = None  # index into the plan's obstacles
    assumed_m: MaybeTenth = None  # its height above ground, where that is assumed
    unverified: bool = False


class LineNeed(Part):
    """The line that is needed and the one that is taken."""

    needed_m: MaybeTenth = None  # rounded up
    carried_m: MaybeTenth = None
    governed_by: Thing | None = None


class LineChoice(Finding):
    """What one carried line would mean here."""

    length_m: Tenth
    chosen: bool
    litres_per_hour: MaybeTenth = None
    cycle_s: MaybeTenth = None
    margin_kg: MaybeTenth = None


class Direction(Part):
    """One course: the lift of an arrival and of a departure flown on it.

    An arrival flown on a course comes in over the corridor of the opposite bearing. ``open`` and ``known`` speak of
    the corridor that runs outward on the course: arrival and departure over it, wind aside.
    """

    course_deg: Course
    arrival_lift_m: MaybeTenth = None
    departure_lift_m: MaybeTenth = None
    open: bool
    known: bool
    surface_8_to_1_m: MaybeTenth = None
    arrival_thing: Index | None = None  # what asks for the lift: index into the site's things
    departure_thing: Index | None = None


class Sector(Part):
    """An open sector, clockwise, as seen from the water [deg true]."""

    from_deg: Tenth
    to_deg: Tenth


class Way(Part):
    """The chosen arrival or departure."""

    course_deg: Course
    course_magnetic_deg: Course
    lift_m: Tenth
    headwind_m_s: Hundredth
    crosswind_m_s: Hundredth
    surface_8_to_1_m: MaybeTenth = None
    surface_at_m: MaybeTenth = None
    gradient: MaybeShare = None  # of the corridor, as flown
    straight_m: MaybeTenth = None  # flown straight on this course
    governed_by: Thing | None = None


class LoadLine(Part):
    """One line of the load calculation."""

    name: str
    mass_kg: MaybeTenth = None
    note: Finding | None = None


class Load(Part):
    """What can be carried, and what decides it: ``governed_by``, ``place`` and the names of the lines are keys."""

    water_l: MaybeTenth = None
    water_kg: MaybeTenth = None
    fill: Share
    fuel_kg: Tenth
    governed_by: str
    place: str
    hoge_limit_kg: MaybeTenth = None
    margin_kg: MaybeTenth = None
    lines: tuple[LoadLine, ...] = ()


class GoNoGo(Part):
    """The greatest bucket setting that hovers, by temperature over the dip and fuel; 0: none, None: not known.

    ``row`` and ``column`` are the plan's own; its first load hovers up to ``holds_to_k`` over the dip, which is the
    density altitude ``holds_to_m``. ``edge``: there the hover chart ends.
    """

    temperature_k: tuple[Hundredth, ...]
    fuel_kg: tuple[Tenth, ...]
    fill: tuple[tuple[MaybeShare, ...], ...]
    row: Index
    column: Index
    holds_to_k: MaybeHundredth = None
    holds_to_m: MaybeTenth = None
    edge: bool = False

    @model_validator(mode="after")
    def _even(self) -> Self:
        whole = len(self.fill) == len(self.temperature_k) and all(len(r) == len(self.fuel_kg) for r in self.fill)
        if not whole or self.row >= len(self.temperature_k) or self.column >= len(self.fuel_kg):
            raise ValueError("the rows of a go/no-go table are not of one length")
        return self


class CyclePart(Part):
    """One part of the cycle; its name is a key."""

    name: str
    seconds: Tenth
    burn_kg: Hundredth


class Cycle(Part):
    """One round trip, its parts in flying order."""

    seconds: Tenth
    burn_kg: Tenth
    parts: tuple[CyclePart, ...]


class Sortie(Part):
    """A fuel cycle."""

    cycles: Index
    seconds: Tenth
    litres: Tenth
    litres_per_hour: Tenth
    first_drop_seconds: Tenth
    reserve_kg: Tenth
    loads_l: tuple[Tenth, ...]
    margins_kg: tuple[Tenth, ...]
    note: Finding | None = None

    @model_validator(mode="after")
    def _beside(self) -> Self:
        if self.margins_kg and len(self.margins_kg) != len(self.loads_l):
            raise ValueError("loads and margins are not as many")
        return self


class Criterion(Finding):
    """One part of the score."""

    name: Literal["distance", "altitude", "obstacles", "approach"]
    points: Tenth
    weight: Share


class Score(Part):
    """The weighted mean and what it is made of."""

    total: Tenth
    criteria: tuple[Criterion, ...] = ()


class FillCurve(Part):
    """Water an hour against fuel at one bucket setting; rows run beside each other."""

    fill: Share
    fuel_kg: Row
    litres_per_hour: MaybeRow  # None: not allowed
    margin_kg: MaybeRow
    cycles: tuple[Index, ...]  # 0: the first lift is too heavy

    @model_validator(mode="after")
    def _even(self) -> Self:
        if not len(self.fuel_kg) == len(self.litres_per_hour) == len(self.margin_kg) == len(self.cycles) > 0:
            raise ValueError("the rows of a curve are not of one length")
        return self


class Site(Part):
    """A dip site, suitable (with a rank) or refused (with its reasons)."""

    id: str
    name: str
    water: str
    water_id: str
    water_kind: str
    salt: bool
    chosen_for: str
    lat: Latitude
    lon: Longitude
    rank: Index | None = None
    rank_band: Index | None = None  # sites of one band cannot be told apart
    elevation_m: MaybeTenth = None  # of the water: the high end, from which the air is taken
    level_low_m: MaybeTenth = None  # its low end, from which line and lift count, and the ways begin
    level_spread_m: MaybeTenth = None
    shore_clearance_m: MaybeTenth = None
    depth_m: MaybeTenth = None
    temperature_k: MaybeHundredth = None
    pressure_altitude_m: MaybeHundredth = None
    density_altitude_m: MaybeHundredth = None
    wind: MaybeWind
    line: LineNeed
    lines: tuple[LineChoice, ...] = ()
    things: tuple[Thing, ...] = ()
    directions: tuple[Direction, ...] = ()
    open_share: MaybeShare = None
    sectors: tuple[Sector, ...] = ()
    arrival: Way | None = None
    departure: Way | None = None
    load: Load | None = None
    go_no_go: GoNoGo | None = None
    routes: tuple[Leg, ...] = ()
    ferry: Ferry | None = None
    cycle: Cycle | None = None
    sortie: Sortie | None = None
    score: Score
    curve: tuple[FillCurve, ...] = ()
    blocked: Geometry | None = None
    refused: tuple[Finding, ...] = ()
    cautions: tuple[Finding, ...] = ()

    @model_validator(mode="after")
    def _points_into_things(self) -> Self:
        named = [index for one in self.directions for index in (one.arrival_thing, one.departure_thing)]
        if any(index is not None and index >= len(self.things) for index in named):
            raise ValueError("a direction names a thing that is not there")
        return self

    @property
    def suitable(self) -> bool:
        """It passes every limit."""
        return self.rank is not None
