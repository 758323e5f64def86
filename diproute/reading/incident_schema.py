"""The incident file as pydantic models: one field a key, named as in the file (docs/formats.md)."""

from __future__ import annotations

import itertools
import math
from datetime import datetime
from typing import Annotated, Any, Final, Literal, NamedTuple, Self

from pydantic import Discriminator, Field, Tag, model_validator

from diproute.constants import LEAST_QNH_PA, LEAST_TEMPERATURE_K, MOST_QNH_PA, MOST_TEMPERATURE_K
from diproute.errors import QuantityError
from diproute.reading.schema import HERE, Moment, Place, Quantity, Reader, Table, WrongKeyError
from diproute.reading.wind_text import WindReader, WindText

Height = Annotated[float, Quantity("length", "-500 m", "9000 m")]
Temperature = Annotated[
    float,
    Quantity(
        "temperature", f"{LEAST_TEMPERATURE_K.value - 273.15:g} degC", f"{MOST_TEMPERATURE_K.value - 273.15:g} degC"
    ),
]
Pressure = Annotated[
    float, Quantity("pressure", f"{LEAST_QNH_PA.value / 100:g} hPa", f"{MOST_QNH_PA.value / 100:g} hPa")
]
Direction = Annotated[float, Quantity("direction", "0 deg", "360 deg")]
WindSpeed = Annotated[float, Quantity("speed", "0 kt", "150 kt")]
Time = Annotated[float, Quantity("time", "0 s", "24 h")]
Length = Annotated[float, Quantity("length", "0 m", "5000 m")]
Slope = Annotated[float, Quantity("ratio", "0 %", "100 %")]
Weight = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Files = Annotated[list[str], Field(min_length=1)]
AboveZero = Annotated[float, Quantity("length", "0 m", "5000 m", above=True)]


class LayersTable(Table):
    """``[layers]``: the files."""

    elevation: Files
    elevation_is: Literal["ground", "surface"]
    water: Files
    canopy: str | None = None
    obstacles: list[str] = Field(default_factory=list)
    avoid: list[str] = Field(default_factory=list)
    elevation_unit: Literal["m", "ft"] | None = None
    elevation_error: Annotated[float | None, Quantity("length", "0 m", "500 m")] = None
    canopy_error: Annotated[float | None, Quantity("length", "0 m", "100 m")] = None


class DropTable(Table):
    """``[[drop]]``: where the water is wanted."""

    name: Annotated[str | None, Field(min_length=1)] = None
    at: Annotated[tuple[float, float] | None, Place()] = None
    along: str | None = None
    share: Annotated[float, Field(ge=0, allow_inf_nan=False)] = 1.0

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.at is not None and self.along is not None:
            raise WrongKeyError("along", 'got both "at" and "along"; a drop is a point or a line: keep one of them')
        if self.at is None and self.along is None:
            raise WrongKeyError("at", f'missing; {Place.example}, or give along = "flank.geojson"')
        return self


class BaseTable(Table):
    """``[base]``: where the fuel is."""

    at: Annotated[tuple[float, float], Place()]
    refuel: Time | None = None


_LEVEL: Final = {
    "from": 'write it like "240 deg", or give wind = "240 deg 12 kt"',
    "speed": 'write it like "12 kt"',
}


class WindLevel(Table):
    """One level of a wind table: ``from`` and ``speed``, or ``wind`` in one text."""

    altitude: Height
    from_: Direction | None = Field(default=None, alias="from")
    speed: WindSpeed | None = None
    gust: WindSpeed | None = None
    wind: Annotated[WindText | None, WindReader()] = None

    @model_validator(mode="after")
    def _one_wind(self) -> Self:
        if self.wind is not None:
            for key, value in (("from", self.from_), ("speed", self.speed), ("gust", self.gust)):
                if value is not None:
                    raise WrongKeyError(key, 'cannot stand beside "wind", which brings its own; remove one of them')
            return self
        for key, value in (("from", self.from_), ("speed", self.speed)):
            if value is None:
                raise WrongKeyError(key, f"missing; {_LEVEL[key]}")
        if self.gust is not None and self.speed is not None and self.gust < self.speed:
            raise WrongKeyError("gust", "the gust is below the steady wind of its level; check both")
        return self

    @property
    def told(self) -> WindText:
        """The wind of the level, whichever way it is given."""
        if self.wind is not None:
            return self.wind
        assert self.from_ is not None
        assert self.speed is not None
        return WindText(self.from_, self.speed, self.gust)


def _wind_branch(value: Any) -> str:
    return "~levels" if isinstance(value, list) else "~text"


Wind = Annotated[
    Annotated[WindText, WindReader(), Tag("~text")] | Annotated[list[WindLevel], Field(min_length=1), Tag("~levels")],
    Discriminator(_wind_branch),
]


_HEIGHT = 'write it like "1200 m"'
_NEEDED: dict[str, dict[str, str]] = {  # by the way in which the weather is given: key -> what to write
    "hourly": {"hourly": "", "measured_at": _HEIGHT},
    "metar": {"metar": "", "station_elevation": _HEIGHT},
    "values": {
        "temperature": 'write it like "31 degC", or give a metar or an hourly table',
        "measured_at": f"the elevation of the thermometer; {_HEIGHT}",
        "qnh": 'write it like "1009 hPa"',
        "wind": WindReader.example,
    },
}
_OPTIONAL = {
    "hourly": ("lapse", "station_at"),
    "metar": ("lapse", "taf", "station_at"),
    "values": ("lapse", "dew_point", "station_at"),
}


def _check_levels(wind: WindText | list[WindLevel] | None) -> None:
    if isinstance(wind, list) and any(b.altitude <= a.altitude for a, b in itertools.pairwise(wind)):
        raise WrongKeyError("wind", "its altitudes must rise from level to level; sort them, lowest first")


class ChangedWeather(Table):
    """What may be changed of a weather that was read, however it was given."""

    temperature: Temperature | None = None
    qnh: Pressure | None = None
    dew_point: Annotated[float | None, Quantity("temperature", "-90 degC", "40 degC")] = None
    lapse: Annotated[float | None, Quantity("lapse", "-10 K/km", "15 K/km")] = None
    wind: Wind | None = None

    @model_validator(mode="after")
    def _levels_rise(self) -> Self:
        _check_levels(self.wind)
        return self


class ChangedFile(Table):
    """The table that a changed weather stands in, so that messages name its keys as in the file."""

    weather: ChangedWeather


class WeatherTable(Table):
    """``[weather]``: values, a report, or an hourly table."""

    temperature: Temperature | None = None
    measured_at: Height | None = None
    qnh: Pressure | None = None
    wind: Wind | None = None
    dew_point: Annotated[float | None, Quantity("temperature", "-90 degC", "40 degC")] = None
    lapse: Annotated[float | None, Quantity("lapse", "-10 K/km", "15 K/km")] = None
    metar: str | None = None
    station_elevation: Height | None = None
    taf: str | None = None
    hourly: str | None = None
    station_at: Annotated[tuple[float, float] | None, Place()] = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        way = "hourly" if self.hourly is not None else "metar" if self.metar is not None else "values"
        allowed = [*_NEEDED[way], *_OPTIONAL[way]]
        for name in type(self).model_fields:
            if name in self.model_fields_set and name not in allowed:
                if way == "values":
                    raise WrongKeyError(name, "belongs beside a metar; give the metar, or remove it")
                raise WrongKeyError(name, f'cannot stand beside "{way}", which brings its own; remove one of them')
        for name, example in _NEEDED[way].items():
            if getattr(self, name) is None:
                raise WrongKeyError(name, f"missing; {example}")
        if self.temperature is not None and self.dew_point is not None and self.dew_point > self.temperature:
            raise WrongKeyError("dew_point", "above the temperature, which air cannot be; check both values")
        _check_levels(self.wind)
        return self


class _FileOrName(Table):
    file: str | None = None
    name: str | None = None

    @model_validator(mode="after")
    def _one_of_them(self) -> Self:
        if self.file is not None and self.name is not None:
            raise WrongKeyError("name", 'got both "file" and "name"; keep one of them')
        if self.file is None and self.name is None:
            raise WrongKeyError("file", 'missing; write file = "….toml", or name = "demo-…" for a built-in one')
        return self


class HelicopterTable(_FileOrName):
    """``[helicopter]``: which one, and how it is manned and fuelled."""

    crew: Annotated[float, Quantity("mass", "40 kg", "1000 kg")]
    fuel: Annotated[float | None, Quantity("ratio", "1 %", "100 %", word="plan")] = None
    count: Annotated[int, Field(ge=1, le=20)] = 1
    options: list[str] = Field(default_factory=list)


class BucketTable(_FileOrName):
    """``[bucket]``: which one, and its setting."""

    fill: Annotated[float | None, Quantity("ratio", "1 %", "100 %", word="plan")] = None
    gear: Annotated[float, Quantity("mass", "0 kg", "2000 kg")] = 0.0


class LinesTable(Table):
    """``[lines]``: what is carried."""

    carried: Annotated[list[Annotated[float, Quantity("length", "0 m", "150 m")]], Field(min_length=1)]
    mass_per_metre: Annotated[float | None, Quantity("line_mass", "0 kg/m", "10 kg/m")] = None
    settle: Annotated[float | None, Quantity("settle", "0 s/m", "5 s/m")] = None

    @model_validator(mode="after")
    def _once_each(self) -> Self:
        for i, length in enumerate(self.carried):
            if any(abs(length - other) < 0.01 for other in self.carried[:i]):
                raise WrongKeyError(f"carried[{i}]", "this length is listed twice; list each line once")
        return self


class MoreTable(Table):
    """``[[more]]``: more helicopters of another kind."""

    helicopter: HelicopterTable
    bucket: BucketTable


class DutyTable(Table):
    """``[duty]``: what the pilot has flown and worked so far."""

    flown_today: Time = 0.0
    on_duty: Time = 0.0
    flown_before: list[Time] = Field(default_factory=list)

    @model_validator(mode="after")
    def _on_duty_while_flying(self) -> Self:
        if self.flown_today > self.on_duty:
            raise WrongKeyError("on_duty", "less than flown_today; a pilot is on duty while flying: check both")
        return self


class WeightsTable(Table):
    """``[limits] weights``: how much each criterion of the score counts."""

    distance: Weight | None = None
    altitude: Weight | None = None
    obstacles: Weight | None = None
    approach: Weight | None = None

    @model_validator(mode="after")
    def _something_counts(self) -> Self:
        if all(getattr(self, name) == 0 for name in type(self).model_fields):
            raise WrongKeyError("", "all four weights are 0; give at least one of them more than 0")
        return self


class MarginAsked(NamedTuple):
    """Power in hand: a mass [kg], or a share of the payload."""

    kg: float | None
    share: float | None


class Margin(Reader):
    """Power in hand, as a mass or as a share of the payload."""

    example = 'write it like "10 %" of the payload, or "50 kg"'
    _mass = Quantity("mass", "0 kg", "5000 kg")
    _share = Quantity("ratio", "0 %", "90 %")

    def read(self, value: object) -> MarginAsked:
        """Read one margin."""
        if isinstance(value, str) and value.strip().endswith("%"):
            return MarginAsked(None, self._share.read(value))
        try:
            return MarginAsked(self._mass.read(value), None)
        except QuantityError as error:
            raise QuantityError(f'{error} or "10 %" of the payload', where=HERE, got=value) from error


class LimitsTable(Table):
    """``[limits]``: what the crew will and will not do. A key that is not given keeps its default."""

    reserve: Time | None = None
    tailwind: WindSpeed | None = None
    crosswind: WindSpeed | None = None
    shore_clearance: Length | None = None
    hover_circle: AboveZero | None = None
    rotor_margin: Length | None = None
    side_slope: Slope | None = None
    side_length: Length | None = None
    load_margin: Length | None = None
    wire_margin: Length | None = None
    departure_gradient: Slope | None = None
    arrival_gradient: Slope | None = None
    corridor_start: AboveZero | None = None
    corridor_spread: Slope | None = None
    corridor_length: AboveZero | None = None
    least_lift: Length | None = None
    lift_limit: Length | None = None
    cruise_clearance: Length | None = None
    lateral_clearance: Length | None = None
    keep_apart: Length | None = None
    drop_height: Length | None = None
    hover_margin: Annotated[MarginAsked | None, Margin()] = None
    wind: WindSpeed | None = None
    gust_spread: WindSpeed | None = None
    vertical_descent: Annotated[float | None, Quantity("speed", "50 ft/min", "1000 ft/min")] = None
    turn_clearance: Length | None = None
    people_distance: Length | None = None
    drop_lift_limit: Length | None = None
    surface: Literal["8:1", "icao-a", "icao-b", "icao-c"] | None = None
    weights: WeightsTable | None = None


class SearchTable(Table):
    """``[search]``: how far, how many."""

    radius: Annotated[float | None, Quantity("length", "0 km", "100 km", above=True)] = None
    keep: Annotated[int | None, Field(ge=1, le=5000)] = None


class IncidentFile(Table):
    """The whole file."""

    title: Annotated[str, Field(min_length=1)]
    display: Literal["us", "metric"] = "us"
    when: Annotated[datetime, Moment()]
    invented: bool = False
    layers: LayersTable
    drop: Annotated[list[DropTable], Field(min_length=1)]
    base: BaseTable | None = None
    weather: WeatherTable
    helicopter: HelicopterTable
    bucket: BucketTable
    lines: LinesTable
    limits: LimitsTable = LimitsTable()
    search: SearchTable = SearchTable()
    more: list[MoreTable] = Field(default_factory=list)
    duty: DutyTable = DutyTable()

    @model_validator(mode="after")
    def _drops_hold_together(self) -> Self:
        names = [drop.name or f"Drop {i + 1}" for i, drop in enumerate(self.drop)]
        for i, name in enumerate(names):
            if name in names[:i]:
                raise WrongKeyError(f"drop[{i}].name", f'"{name}" is used twice; give each drop its own name')
        if math.fsum(drop.share for drop in self.drop) <= 0:
            raise WrongKeyError("drop[0].share", "the shares of all drops are 0; give at least one of them more than 0")
        return self
