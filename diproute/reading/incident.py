"""The incident file, and every file that it names, as one `records.Incident`."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from diproute import constants as k
from diproute.errors import IncidentError, WeatherError
from diproute.reading import weather
from diproute.reading.changes import WEATHER, change_weather, wind_of, with_changes
from diproute.reading.fleet import read_bucket, read_helicopter
from diproute.reading.limits import MOST_SITE_HOURS
from diproute.reading.toml_file import read_toml
from diproute.records import (
    Air,
    Base,
    Bucket,
    Craft,
    Drop,
    Duty,
    Helicopter,
    Incident,
    Layers,
    Limits,
    Line,
    Search,
    Weather,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from diproute.reading import incident_schema as schema

UNITS: Final = ("", "_m", "_s", "_m_s", "_kg")  # how a key of [limits] ends as a field of `records.Limits`


def read_incident(path: Path | str, changes: Mapping[str, Any] | None = None) -> Incident:
    """Read an incident file with its helicopter, bucket and weather.

    Parameters
    ----------
    path
        The TOML file (docs/formats.md). Paths inside it are taken from its own folder.
    changes
        Keys of the file that are to hold other values, written as in the file: ``{"bucket.fill": "80 %"}``. Those of
        `diproute.reading.changes.WEATHER` may be set beside a report or an hourly table, too, and change the weather of
        the plan's time alone.

    Returns
    -------
    Incident
        SI, every named file there, lines shortest first, the drops' shares summing to 1.

    Raises
    ------
    IncidentError
        A file that is missing or cannot be read, a wrong, missing or unknown key, an impossible value.
    WeatherError
        A report or an hourly table that lacks something or cannot be read.
    """
    from pydantic import ValidationError

    from diproute.reading.incident_schema import IncidentFile
    from diproute.reading.schema import explain

    path = Path(path)
    changes = {} if changes is None else changes
    of_the_weather = {key: value for key, value in changes.items() if key in {f"weather.{name}" for name in WEATHER}}
    others = {key: value for key, value in changes.items() if key not in of_the_weather}
    raw = with_changes(read_toml(path, "incident file"), others)
    try:
        told = IncidentFile.model_validate(raw)
    except ValidationError as error:
        explain(error, path.name, IncidentError)
    files = _Files(path)
    helicopter = _helicopter(told.helicopter, files, "helicopter")
    bucket = _bucket(told.bucket, files, "bucket")
    limits = _limits(told.limits, helicopter, path.name)
    forecast = change_weather(
        _weather(told.weather, told.when, files),
        {key.removeprefix("weather."): value for key, value in of_the_weather.items()},
        path.name,
    )
    keep = int(_given(told.search.keep, k.SEARCH_KEEP.value))
    _check_site_hours(keep, len(forecast.hourly), path.name)
    return Incident(
        title=told.title,
        display=told.display,
        when=told.when,
        layers=_layers(told.layers, files),
        drops=_drops(told.drop, files),
        base=None if told.base is None else Base(*told.base.at, _given(told.base.refuel, k.REFUEL_S.value)),
        weather=replace(forecast, station=told.weather.station_at),
        helicopter=helicopter,
        crew_kg=told.helicopter.crew,
        fuel=told.helicopter.fuel,
        count=told.helicopter.count,
        bucket=bucket,
        fill=_fill(told.bucket.fill, bucket, path.name, "bucket"),
        lines=_lines(told.lines),
        limits=limits,
        search=Search(_given(told.search.radius, k.SEARCH_RADIUS_M.value), keep),
        invented=told.invented,
        more=tuple(_craft(more, files, f"more[{i}].") for i, more in enumerate(told.more)),
        duty=Duty(told.duty.flown_today, told.duty.on_duty, tuple(told.duty.flown_before)),
    )


def _check_site_hours(keep: int, hours: int, file: str) -> None:
    if keep * hours > MOST_SITE_HOURS:
        raise IncidentError(
            f"{file}: search.keep: {keep} sites in {hours} hours of weather are more than memory holds; keep at most "
            f"{max(MOST_SITE_HOURS // hours, 1)}, or shorten the weather to the hours that matter",
            where="search.keep",
            got=keep,
        )


def _craft(told: schema.MoreTable, files: _Files, prefix: str) -> Craft:
    bucket = _bucket(told.bucket, files, f"{prefix}bucket")
    return Craft(
        helicopter=_helicopter(told.helicopter, files, f"{prefix}helicopter"),
        crew_kg=told.helicopter.crew,
        fuel=told.helicopter.fuel,
        count=told.helicopter.count,
        bucket=bucket,
        fill=_fill(told.bucket.fill, bucket, files.incident, f"{prefix}bucket"),
    )


def _given(value: float | None, default: float) -> float:
    return default if value is None else value


class _Files:
    """Finds the files that an incident file names, each with its key."""

    def __init__(self, incident: Path) -> None:
        self.incident, self.folder = incident.name, incident.parent

    def file(self, text: str, key: str) -> Path:
        """Give the path of one file, which must be there."""
        found = self._there(text)
        if found is None:
            raise self._missing(text, key)
        return found

    def layer(self, text: str, key: str) -> tuple[Path, str | None]:
        """Give ``"file.gpkg:layer"`` as path and layer name, a plain file with None."""
        whole = self._there(text)
        if whole is not None:
            return whole, None
        name, colon, layer = text.rpartition(":")
        container = self._there(name) if colon and layer else None
        if container is None:
            raise self._missing(name if colon and layer and "/" not in layer else text, key)
        return container, layer

    def _there(self, text: str) -> Path | None:
        try:
            path = self.folder / Path(text).expanduser()
            return path if text and (path.is_file() or (path.is_dir() and path.suffix == ".gdb")) else None
        except (OSError, RuntimeError, ValueError):  # too long a name, ~nobody, a NUL in it
            return None

    def _missing(self, text: str, key: str) -> IncidentError:
        path = self.folder / text
        try:
            folder = bool(text) and path.is_dir()
        except (OSError, ValueError):
            folder = False
        what = "this is a directory, wanted a file" if folder else "no such file"
        return IncidentError(
            f'{self.incident}: {key}: {what}: "{path}"; paths are taken from the incident file\'s folder',
            where=key,
            got=text,
        )


def _layers(told: schema.LayersTable, files: _Files) -> Layers:
    def many(texts: list[str], key: str) -> tuple[tuple[Path, str | None], ...]:
        return tuple(files.layer(text, f"layers.{key}[{i}]") for i, text in enumerate(texts))

    return Layers(
        elevation=tuple(files.file(text, f"layers.elevation[{i}]") for i, text in enumerate(told.elevation)),
        elevation_is=told.elevation_is,
        water=many(told.water, "water"),
        canopy=None if told.canopy is None else files.layer(told.canopy, "layers.canopy"),
        obstacles=many(told.obstacles, "obstacles"),
        avoid=many(told.avoid, "avoid"),
        elevation_unit=told.elevation_unit,
        elevation_error_m=told.elevation_error,
        canopy_error_m=told.canopy_error,
        folder=files.folder,
    )


def _drops(told: list[schema.DropTable], files: _Files) -> tuple[Drop, ...]:
    total = math.fsum(drop.share for drop in told)
    return tuple(
        Drop(
            name=drop.name or f"Drop {i + 1}",
            lat_deg=drop.at[0] if drop.at else None,
            lon_deg=drop.at[1] if drop.at else None,
            share=drop.share / total,
            along=None if drop.along is None else files.file(drop.along, f"drop[{i}].along"),
        )
        for i, drop in enumerate(told)
    )


def _weather(told: schema.WeatherTable, when: datetime, files: _Files) -> Weather:
    try:
        if told.hourly is not None:
            assert told.measured_at is not None
            path = files.file(told.hourly, "weather.hourly")
            return weather.from_hourly(path, told.measured_at, when, told.lapse)
        if told.metar is not None:
            assert told.station_elevation is not None
            return weather.from_metar(told.metar, told.station_elevation, when, told.lapse, told.taf)
    except WeatherError as error:
        raise WeatherError(f"{files.incident}: {error}", where=error.where, got=error.got) from None
    assert told.temperature is not None
    assert told.measured_at is not None
    assert told.qnh is not None
    air = Air(told.temperature, told.measured_at, told.qnh, told.dew_point, told.lapse)
    assert told.wind is not None
    return weather.from_values(air, wind_of(told.wind, air.measured_at_m))


def _helicopter(told: schema.HelicopterTable, files: _Files, table: str) -> Helicopter:
    try:
        return read_helicopter(
            files.file(told.file, f"{table}.file") if told.file is not None else str(told.name), told.options
        )
    except IncidentError as error:
        raise _named(error, files, table) from None


def _bucket(told: schema.BucketTable, files: _Files, table: str) -> Bucket:
    try:
        return read_bucket(
            files.file(told.file, f"{table}.file") if told.file is not None else str(told.name), told.gear
        )
    except IncidentError as error:
        raise _named(error, files, table) from None


def _named(error: IncidentError, files: _Files, table: str) -> IncidentError:
    """Put the incident file's key before a message about a built-in name; a file's own message names the file."""
    if error.where in ("helicopter.name", "bucket.name"):
        return IncidentError(f"{files.incident}: {table}.name: {error}", where=f"{table}.name", got=error.got)
    return error


def _fill(fill: float | None, bucket: Bucket, file: str, table: str) -> float | None:
    if fill is None:
        return None
    for setting in bucket.fills:
        if abs(setting - fill) < 1e-6:
            return setting
    known = ", ".join(f"{setting * 100:g} %" for setting in bucket.fills)
    raise IncidentError(
        f'{file}: {table}.fill: got "{fill * 100:g} %", which {bucket.name} has no setting for; it has {known}, '
        'or write "plan"',
        where=f"{table}.fill",
        got=fill,
    )


def _lines(told: schema.LinesTable) -> tuple[Line, ...]:
    mass_kg_m = _given(told.mass_per_metre, k.LINE_MASS_KG_M.value)
    settle_s_m = _given(told.settle, k.LINE_SETTLE_S_M.value)
    return tuple(Line(length, length * mass_kg_m, length * settle_s_m) for length in sorted(told.carried))


def _limits(told: schema.LimitsTable, helicopter: Helicopter, file: str) -> Limits:
    from diproute.reading.incident_schema import MarginAsked

    names = {field.name for field in fields(Limits)}
    given: dict[str, float] = {}
    surface = Limits().surface
    for key in type(told).model_fields:
        value = getattr(told, key)
        if isinstance(value, str):
            surface = value
        elif isinstance(value, MarginAsked):
            if value.kg is not None:
                given["hover_margin_kg"] = value.kg
            if value.share is not None:
                given["hover_margin_share"] = value.share
        elif isinstance(value, float):
            given[next(key + unit for unit in UNITS if key + unit in names)] = value
    limits = replace(Limits(surface=surface), **given)  # type: ignore[arg-type]  # floats only: weights follow
    if told.weights is not None:
        w = (told.weights.distance, told.weights.altitude, told.weights.obstacles, told.weights.approach)
        d, a, o, p = (_given(value, k.SCORE_WEIGHT.value) for value in w)
        limits = replace(limits, weights=(d, a, o, p))
    if limits.hover_circle_m is not None and limits.hover_circle_m < helicopter.rotor_diameter_m:
        raise IncidentError(
            f"{file}: limits.hover_circle: {limits.hover_circle_m:g} m is smaller than the rotor of "
            f"{helicopter.name} "
            f"({helicopter.rotor_diameter_m:g} m); give a diameter that holds it",
            where="limits.hover_circle",
        )
    if limits.least_lift_m > limits.lift_limit_m:
        raise IncidentError(
            f"{file}: limits.least_lift: above limits.lift_limit, so that every direction would be closed; check both",
            where="limits.least_lift",
        )
    return limits
