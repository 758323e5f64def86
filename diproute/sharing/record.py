"""The record of a dip site that agencies pass on, a GeoJSON feature: what was computed there and what people saw.

Whole numbers in tenths of an SI unit (``_dm`` decimetres, ``_ddeg`` tenths of a degree true, ``_dk`` tenths of a
kelvin), text, and coordinates; a fraction stands nowhere else, so that every program prints a record alike. What is not
known is left out. Keys of a later release are kept as they came.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Annotated, Final, Literal, Self

from pydantic import AfterValidator, ConfigDict, Field, model_validator

from diproute.document.fields import Part
from diproute.errors import plain

FORMAT: Final = "diproute-site/1"
HOW: Final = ("desk", "overflown", "dipped", "on foot")  # all but the first are first-hand
_TIME: Final = "%Y-%m-%dT%H:%M:%SZ"
_TEXT: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z")
_MARKUP: Final = re.compile(r"<[A-Za-z/!?]")


def _line(text: str) -> str:
    if plain(text) != text or _MARKUP.search(text):
        raise ValueError("one line of plain text is wanted, without control characters and markup")
    if not text.strip():
        raise ValueError("text is wanted; leave the key out where there is nothing to say")
    return text


def _free(text: str) -> str:
    for line in text.split("\n") if text.strip() else [text]:
        if line.strip() or not text.strip():
            _line(line)
    return text


def _moment(text: str) -> str:
    if not 1900 <= moment(text).year <= 2200:
        raise ValueError("a year from 1900 to 2200 is wanted")
    return text


def moment(text: str) -> datetime:
    """Give the time that a record's text names.

    Raises
    ------
    ValueError
        It names none.
    """
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        when = None
    if when is None or not _TEXT.fullmatch(text):
        raise ValueError('a time in UTC is wanted, like "2026-07-01T12:00:00Z"')
    return when


def moment_text(when: datetime) -> str:
    """Write a time as a record has it, in UTC, to the second."""
    return when.astimezone(UTC).strftime(_TIME)


Line = Annotated[str, Field(max_length=200), AfterValidator(_line)]
Free = Annotated[str, Field(max_length=2000), AfterValidator(_free)]
Moment = Annotated[str, AfterValidator(_moment)]
Id = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Ids = Annotated[tuple[Id, ...], Field(max_length=64)]
Length = Annotated[int, Field(ge=0, le=1_000_000)]  # [dm]
Height = Annotated[int, Field(ge=-100_000, le=1_000_000)]  # [dm] in the layers' own datum
Angle = Annotated[int, Field(ge=0, le=3600)]  # [ddeg true]
Longitude = Annotated[float, Field(ge=-180, le=180)]
Latitude = Annotated[float, Field(ge=-90, le=90)]
Position = tuple[Longitude, Latitude]


class _Closed(Part):
    """A part of GeoJSON itself: nothing but its own keys, so that no other reference system slips in."""

    model_config = ConfigDict(extra="forbid")


class Point(_Closed):
    """Where the site is, WGS 84."""

    type: Literal["Point"] = "Point"
    coordinates: Position


class Course(_Closed):
    """Where a wire runs, WGS 84."""

    type: Literal["LineString"] = "LineString"
    coordinates: Annotated[tuple[Position, ...], Field(min_length=2, max_length=200)]


class Water(Part):
    """The water that the site lies in."""

    name: Line
    kind: Line | None = None
    salt: bool | None = None
    id: Line | None = None  # in the layer that it came from


class Source(Part):
    """A layer that the computing read."""

    role: Line
    file: Line
    sha256: Line
    date: Line | None = None
    vertical_datum: Line | None = None


class Climb(Part):
    """The lift before moving off, by course; null: not known. The three rows run beside each other."""

    courses_ddeg: Annotated[tuple[Angle, ...], Field(max_length=720)]
    approach_dm: Annotated[tuple[Length | None, ...], Field(max_length=720)]
    departure_dm: Annotated[tuple[Length | None, ...], Field(max_length=720)]

    @model_validator(mode="after")
    def _even(self) -> Self:
        if not len(self.courses_ddeg) == len(self.approach_dm) == len(self.departure_dm):
            raise ValueError("the rows are not of one length")
        return self


class Hazard(Part):
    """A thing that asks for line or lift, as seen from the site; its top is so far above the water."""

    what: Line
    distance_dm: Length
    bearing_ddeg: Angle
    height_dm: Height
    assumed: bool = False
    unverified: bool = False


class Air(Part):
    """The air that the density altitude was computed for."""

    when: Moment
    temperature_dk: Annotated[int, Field(ge=1500, le=3500)] | None = None
    pressure_altitude_dm: Height | None = None
    density_altitude_dm: Height | None = None


class Computed(Part):
    """What a plan computed for the site."""

    made_with: Line
    run: Line | None = None  # of the plan
    bucket_hang_dm: Length  # hook to the bucket's bottom: line and lift count from it
    level_low_dm: Height | None = None
    level_high_dm: Height | None = None
    vertical_datum: Line
    depth_dm: Length | None = None  # what the water layer says
    line_needed_dm: Length | None = None
    climb: Climb | None = None
    open_ddeg: Annotated[tuple[tuple[Angle, Angle], ...], Field(max_length=360)] = ()  # sectors, clockwise, outward
    hazards: Annotated[tuple[Hazard, ...], Field(max_length=500)] = ()
    air: Air | None = None
    sources: Annotated[tuple[Source, ...], Field(max_length=200)] = ()


class Wire(Part):
    """A wire that somebody found."""

    what: Line
    height_dm: Length | None = None  # of its highest point above the ground or water below it
    course: Course | None = None


class Seen(Part):
    """What people saw or were told."""

    depth_dm: Length | None = None
    snags: Free | None = None
    wires: Annotated[tuple[Wire, ...], Field(max_length=50)] = ()
    owner: Line | None = None
    permission: Literal["given", "refused", "not needed", "not asked"] | None = None
    invasive_species: Free | None = None
    contact: Free | None = None
    closed: bool | None = None  # nobody may dip here until `until`
    remarks: Free | None = None


class Who(Part):
    """Whose word it is."""

    agency: Line
    by: Line


class Properties(Part):
    """All that a record says."""

    format: Literal["diproute-site/1"] = FORMAT
    invented: bool
    name: Line
    water: Water
    how: Literal["desk", "overflown", "dipped", "on foot"]
    who: Who
    when: Moment
    until: Moment  # it counts up to then
    of: Ids = ()  # records of the same place, as a person said
    supersedes: Ids = ()  # records that this one puts right
    computed: Computed | None = None
    seen: Seen | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if self.until <= self.when:
            raise ValueError("it ends before it begins: until must be later than when")
        if self.how != "desk" and self.seen is None:
            raise ValueError(f"{self.how}, and nothing seen: give seen, or how: desk")
        return self


class SiteRecord(_Closed):
    """One record, a GeoJSON feature."""

    type: Literal["Feature"] = "Feature"
    geometry: Point
    properties: Properties

    @property
    def lon_deg(self) -> float:
        """Its longitude."""
        return self.geometry.coordinates[0]

    @property
    def lat_deg(self) -> float:
        """Its latitude."""
        return self.geometry.coordinates[1]

    @property
    def first_hand(self) -> bool:
        """Somebody was there."""
        return self.properties.how != "desk"
