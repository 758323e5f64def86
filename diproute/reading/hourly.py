"""An hourly table (CSV) of the weather at one station; its header carries the units."""

from __future__ import annotations

import csv
from datetime import datetime
from pathlib import Path
from typing import Final, get_args

from diproute.constants import LEAST_QNH_PA, LEAST_TEMPERATURE_K, MOST_QNH_PA, MOST_TEMPERATURE_K, MOST_WIND_M_S
from diproute.errors import QuantityError, WeatherError
from diproute.records import Air, HourlyWeather, Wind
from diproute.units import UNITS, Kind, parse

# column -> what it measures, whether it must be there, lowest, highest [SI]
_COLUMNS: Final[dict[str, tuple[Kind, bool, float, float]]] = {
    "temperature": ("temperature", True, LEAST_TEMPERATURE_K.value, MOST_TEMPERATURE_K.value),
    "qnh": ("pressure", True, LEAST_QNH_PA.value, MOST_QNH_PA.value),
    "wind_from": ("direction", True, 0.0, 360.0),
    "wind": ("speed", True, 0.0, MOST_WIND_M_S.value),
    "gust": ("speed", False, 0.0, MOST_WIND_M_S.value),
    "dew_point": ("temperature", False, 183.15, 313.15),
}
assert all(kind in get_args(Kind) for kind, *_ in _COLUMNS.values())


def _headings(name: str) -> dict[str, str]:
    """Every way to write a column's heading, with the unit it stands for: ``wind_m_s`` and ``wind_m/s``."""
    units = UNITS[_COLUMNS[name][0]]
    return {f"{name}_{text}": unit for unit in units for text in (unit, unit.replace("/", "_"))}


_KNOWN: Final = {heading: (name, unit) for name in _COLUMNS for heading, unit in _headings(name).items()}


def read_hourly(path: Path, measured_at_m: float, lapse_k_per_m: float | None, where: str) -> tuple[HourlyWeather, ...]:
    """Read an hourly table.

    Parameters
    ----------
    path
        A CSV file with a heading line: ``time`` (with its offset from UTC), ``temperature_degC``, ``qnh_hPa``,
        ``wind_from_deg``, ``wind_kt``, and if known ``gust_kt`` and ``dew_point_degC``; any unit of `units.UNITS`.
    measured_at_m
        Elevation of the station [m AMSL].
    lapse_k_per_m
        Lapse rate that goes into each hour's air [K/m], or None.
    where
        The key that names the file, for the message.

    Returns
    -------
    tuple of HourlyWeather
        One a row, times rising.

    Raises
    ------
    WeatherError
        No such file, an unknown or missing column, a blank or impossible value, times that do not rise: with the
        line and the column.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            lines = [(i, row) for i, row in enumerate(csv.reader(file, strict=True), 1) if any(c.strip() for c in row)]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise WeatherError(f"{where}: cannot read {path}: {reason}", where=where, got=str(path)) from error
    if len(lines) < 2:
        raise WeatherError(
            f"{where}: {path.name} has no hours; give a heading line and one line for each hour", where=where
        )
    headings = _check_headings([cell.strip() for cell in lines[0][1]], path.name, where)
    hours: list[HourlyWeather] = []
    for number, row in lines[1:]:
        place = f"{where}: {path.name}, line {number}"
        if len(row) != len(headings):
            raise WeatherError(f"{place}: {len(row)} cells under {len(headings)} headings", where=where)
        hour = _hour(
            dict(zip(headings, (cell.strip() for cell in row), strict=True)), measured_at_m, lapse_k_per_m, place
        )
        if hours and hour.when <= hours[-1].when:
            raise WeatherError(
                f"{place}: its time is not after the line before; sort the hours, each once", where=where
            )
        hours.append(hour)
    return tuple(hours)


def _check_headings(headings: list[str], name: str, where: str) -> list[str]:
    columns = []
    for heading in headings:
        if heading != "time" and heading not in _KNOWN:
            base = next((c for c in sorted(_COLUMNS, key=len, reverse=True) if heading.startswith(c)), None)
            known = (
                ", ".join(_headings(base))
                if base
                else "time, temperature_degC, qnh_hPa, wind_from_deg, wind_kt, gust_kt, dew_point_degC"
            )
            raise WeatherError(
                f'{where}: unknown column "{heading}" in {name}; known: {known}', where=where, got=heading
            )
        columns.append(heading if heading == "time" else _KNOWN[heading][0])
    for column in ["time", *(c for c, rule in _COLUMNS.items() if rule[1])]:
        if columns.count(column) != 1 and (column == "time" or column in _COLUMNS):
            problem = "no column" if column not in columns else "more than one column"
            example = "time" if column == "time" else next(iter(_headings(column)))
            raise WeatherError(f'{where}: {problem} for {column} in {name}; give one, like "{example}"', where=where)
    if len(set(columns)) != len(columns):
        raise WeatherError(f"{where}: a column of {name} is there twice", where=where)
    return headings


def _hour(cells: dict[str, str], measured_at_m: float, lapse_k_per_m: float | None, place: str) -> HourlyWeather:
    values: dict[str, float | None] = dict.fromkeys(_COLUMNS)
    try:
        when = datetime.fromisoformat(cells["time"])
    except ValueError as error:
        raise WeatherError(
            f'{place}: cannot read "{cells["time"]}" as a time; write it like "2026-08-14T15:00-10:00"'
        ) from error
    if when.utcoffset() is None:
        raise WeatherError(
            f'{place}: the time "{cells["time"]}" lacks its offset from UTC; write it like "2026-08-14T15:00-10:00"'
        )
    for heading, text in cells.items():
        if heading == "time":
            continue
        name, unit = _KNOWN[heading]
        kind, needed, low, high = _COLUMNS[name]
        if not text:
            if needed:
                raise WeatherError(f"{place}: {heading} is blank; give the value, or leave the hour out")
            continue
        try:
            value = parse(f"{text} {unit}", kind, heading)
        except QuantityError as error:
            raise WeatherError(f'{place}: cannot read "{text}" under {heading}; give a plain number') from error
        if not low <= value <= high:
            raise WeatherError(
                f"{place}: {text} under {heading} is not possible; check the number and the heading's unit"
            )
        values[name] = value
    temperature, qnh, from_deg, speed = (values[n] for n in ("temperature", "qnh", "wind_from", "wind"))
    assert temperature is not None
    assert qnh is not None
    assert from_deg is not None
    assert speed is not None
    dew_point, gust = values["dew_point"], values["gust"]
    if dew_point is not None and dew_point > temperature:
        raise WeatherError(f"{place}: the dew point is above the temperature; check both")
    if gust is not None and gust < speed:
        raise WeatherError(f"{place}: the gust is below the steady wind; check both")
    air = Air(temperature, measured_at_m, qnh, dew_point, lapse_k_per_m)
    return HourlyWeather(when, air, Wind((measured_at_m,), (from_deg,), (speed,), gust))
