"""Keys of an incident file set to other values: on the command line as text, or another weather of the plan's time."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from diproute.errors import IncidentError
from diproute.records import Weather, Wind

WEATHER: Final = ("temperature", "qnh", "dew_point", "lapse", "wind")  # set beside a report or a table, too
_PART: Final = re.compile(r"([A-Za-z_]\w*)(?:\[(\d{1,4})\])?\Z")
_OF_THE_WIND: Final = frozenset({"wind-variable", "wind-of-groups"})  # cautions that a wind of one's own makes void
_OF_THE_TEMPERATURE: Final = frozenset({"warmest-of-the-forecast"})


def told_changes(texts: Sequence[str]) -> dict[str, Any]:
    """Read ``KEY=VALUE`` texts.

    A value is what TOML makes of it (``10``, ``true``, ``["0 m", "30 m"]``), else text as it stands (``36degC``).

    Raises
    ------
    IncidentError
        A text without ``=``, or one key twice.
    """
    found: dict[str, Any] = {}
    for text in texts:
        key, sign, value = (part.strip() for part in text.partition("="))
        if not sign or not key or not value:
            raise IncidentError(f'--set: got "{text}", wanted KEY=VALUE, like weather.temperature=36degC', got=text)
        if key in found:
            raise IncidentError(f"--set: {key} is set twice; set it once", where=key, got=text)
        found[key] = _value(value)
    return found


def _value(text: str) -> Any:
    try:
        return tomllib.loads(f"value = {text}")["value"] if "\n" not in text else text
    except tomllib.TOMLDecodeError:
        return text


def with_changes(raw: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Give the keys of an incident file with some of them set: ``limits.tailwind``, ``drop[0].share``.

    Whether a key is known and its value fits is for the schema to say.

    Raises
    ------
    IncidentError
        A key that leads nowhere: through a value, or beyond the end of a list.
    """
    out = copy.deepcopy(dict(raw))
    for key, value in changes.items():
        here: Any = out
        *way, last = (_PART.match(part) for part in key.split("."))
        for part in way:
            here = _step(here, part, key)
            if not isinstance(here, dict):
                raise IncidentError(f"--set: {key}: {part and part[0]} holds a value and no keys", where=key)
        if last is None:
            raise IncidentError(f"--set: {key}: no key is written like that", where=key)
        if last[2] is None:
            here[last[1]] = value
        else:
            row = here.get(last[1])
            _within(row, int(last[2]), key)[int(last[2])] = value
    return out


def _step(here: dict[str, Any], part: re.Match[str] | None, key: str) -> Any:
    if part is None:
        raise IncidentError(f"--set: {key}: no key is written like that", where=key)
    if part[2] is None:
        return here.setdefault(part[1], {})
    return _within(here.get(part[1]), int(part[2]), key)[int(part[2])]


def _within(row: Any, index: int, key: str) -> list[Any]:
    if not isinstance(row, list) or index >= len(row):
        count = len(row) if isinstance(row, list) else 0
        raise IncidentError(f"--set: {key}: the incident file has {count} of these, counted from 0", where=key)
    return row


def change_weather(weather: Weather, changes: Mapping[str, Any], file: str) -> Weather:
    """Give the weather of the plan's time with some of its values changed.

    Parameters
    ----------
    weather
        As read. Hours of a table or a forecast stay as they are.
    changes
        Some of `WEATHER`, written as in an incident file: ``{"temperature": "36 degC", "wind": "240 deg 15 kt"}``.
    file
        What a message begins with.

    Raises
    ------
    IncidentError
        An unknown key, or a value that does not fit.
    """
    from pydantic import ValidationError

    from diproute.reading.incident_schema import ChangedFile
    from diproute.reading.schema import explain

    if not changes:
        return weather
    try:
        told = ChangedFile.model_validate({"weather": dict(changes)}).weather
    except ValidationError as error:
        explain(error, file, IncidentError)
    air, gone = weather.air, frozenset[str]()
    if told.temperature is not None:
        dew_point_k = None if air.dew_point_k is None else min(air.dew_point_k, told.temperature)
        air, gone = replace(air, temperature_k=told.temperature, dew_point_k=dew_point_k), _OF_THE_TEMPERATURE
    given = {"qnh_pa": told.qnh, "dew_point_k": told.dew_point, "lapse_k_per_m": told.lapse}
    air = replace(air, **{name: value for name, value in given.items() if value is not None})
    if air.dew_point_k is not None and air.dew_point_k > air.temperature_k:
        raise IncidentError(f"{file}: weather.dew_point: above the temperature, which air cannot be; check both values")
    wind = weather.wind
    if told.wind is not None:
        wind, gone = wind_of(told.wind, air.measured_at_m), gone | _OF_THE_WIND
    cautions = tuple(found for found in weather.cautions if found.code not in gone)
    names = ", ".join(name.replace("_", " ") for name in changes)
    return replace(weather, air=air, wind=wind, source=f"{weather.source}; {names} changed", cautions=cautions)


def wind_of(told: Any, measured_at_m: float) -> Wind:
    """Give a wind as an incident file tells it: one text for all heights, or a table of levels."""
    if not isinstance(told, list):
        return Wind((measured_at_m,), (told.from_deg,), (told.speed_m_s,), told.gust_m_s)
    winds = [level.told for level in told]
    return Wind(
        tuple(level.altitude for level in told),
        tuple(one.from_deg for one in winds),
        tuple(one.speed_m_s for one in winds),
        max((one.gust_m_s for one in winds if one.gust_m_s is not None), default=None),
    )
