"""A METAR (WMO FM 15) as the air and wind of a plan; what it does not report is an error, never a guess."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from diproute.constants import (
    INHG_PA,
    LEAST_QNH_PA,
    LEAST_TEMPERATURE_K,
    MOST_QNH_PA,
    MOST_TEMPERATURE_K,
    QNH_DISAGREE_PA,
    TREND_S,
)
from diproute.errors import WeatherError
from diproute.reading.report import PARSER_SLIPS, ReportWind, Spell, as_report_wind, check_winds, day_and_time

_TRENDS: Final = ("TEMPO", "BECMG", "INTER")
_END_OF_BODY: Final = ("RMK", "NOSIG", *_TRENDS)
_TEMPERATURE: Final = re.compile(r"(M?\d{2})/(M?\d{2}|//|XX)?")
_TENTHS: Final = re.compile(r"T([01])(\d{3})(?:([01])(\d{3}))?")
_QNH: Final = re.compile(r"Q(\d{4})|A(\d{4})")
_TREND: Final = timedelta(seconds=TREND_S.value)
_HOW: Final = "leave the report out and give temperature, measured_at, qnh and wind instead"


@dataclass(frozen=True, slots=True)
class Metar:
    """One report, decoded."""

    station: str
    observed: datetime
    temperature_k: float
    dew_point_k: float | None
    qnh_pa: float
    wind: ReportWind
    trends: tuple[Spell, ...] = ()  # what its forecast of two hours adds: either wind may blow

    @property
    def name(self) -> str:
        """``"METAR KXYZ 141453Z"``."""
        return f"METAR {self.station} {self.observed:%d%H%M}Z"


def read_metar(text: str, near: datetime, where: str = "metar") -> Metar:
    """Decode one METAR or SPECI.

    Parameters
    ----------
    text
        The report, with or without the word METAR in front.
    near
        A time near to the observation, which names its month and year.
    where
        The key it came from, for the message.

    Returns
    -------
    Metar
        Temperature and dew point from the tenths of a ``T`` group in the remarks when there is one, QNH from the
        ``Q`` or ``A`` group (the lower of both), wind from true. A wind that its trend expects, for a time or from a
        time on, counts for the whole two hours of the trend.

    Raises
    ------
    WeatherError
        No METAR, or one without its temperature, QNH or wind, or with groups that contradict each other.
    """
    groups = text.upper().replace("=", " ").split()
    while groups and groups[0] in ("METAR", "SPECI", "COR"):
        groups.pop(0)
    if len(groups) < 2 or not re.fullmatch(r"[A-Z][A-Z0-9]{3}", groups[0]) or not re.fullmatch(r"\d{6}Z", groups[1]):
        raise WeatherError(
            f'{where}: cannot read "{text[:60]}" as a METAR; write it like "METAR KXYZ 141453Z 24012KT …"',
            where=where,
            got=text,
        )
    if "NIL" in groups:
        raise WeatherError(f"{where}: the report is empty (NIL); {_HOW}", where=where, got=text)
    end = next((i for i, group in enumerate(groups) if group in _END_OF_BODY), len(groups))
    body = groups[2:end]
    remarks = groups[groups.index("RMK") + 1 :] if "RMK" in groups else []
    time = groups[1]
    observed = day_and_time(int(time[:2]), int(time[2:4]), int(time[4:6]), near, where)
    temperature, dew_point = _temperatures(body, remarks, where)
    wind = _wind(groups[:2], body, where)
    if wind is None:
        raise WeatherError(f"{where}: no wind group in the report; {_HOW}", where=where)
    expected = [_wind(groups[:2], part, where) for part in _trends(groups[end:])]
    trends = tuple(Spell(observed, observed + _TREND, one, False) for one in expected if one is not None)
    return Metar(groups[0], observed, temperature, dew_point, _qnh(body, where), wind, trends)


def _trends(groups: Sequence[str]) -> list[list[str]]:
    """Part what comes after the body by its trends, each without its first word."""
    parts: list[list[str]] = []
    for group in groups:
        if group == "RMK":
            break
        if group in _TRENDS:
            parts.append([])
        elif parts:
            parts[-1].append(group)
    return parts


def _wind(head: Sequence[str], body: Sequence[str], where: str) -> ReportWind | None:
    from metar_taf_parser.parser.parser import MetarParser

    winds = check_winds(body, where)
    if not winds:
        return None
    if len(winds) > 1:
        raise WeatherError(f"{where}: two wind groups, {' and '.join(winds)}; give one report", where=where)
    # the library sees only what it decodes here, so that odd weather groups cannot upset it
    wanted = [group for group in body if group in winds or re.fullmatch(r"\d{3}V\d{3}", group)]
    try:
        decoded = MetarParser().parse(" ".join([*head, *wanted])).wind
        return as_report_wind(decoded)
    except PARSER_SLIPS as error:
        raise WeatherError(f"{where}: cannot decode the wind group {winds[0]}; {_HOW}", where=where) from error


def _temperatures(body: Sequence[str], remarks: Sequence[str], where: str) -> tuple[float, float | None]:
    """Temperature and dew point [K]: whole degrees from the body, tenths from the remarks when they agree."""
    whole = next((match for group in body if (match := _TEMPERATURE.fullmatch(group))), None)
    tenths = next((match for group in remarks if (match := _TENTHS.fullmatch(group))), None)
    if whole is None and tenths is None:
        raise WeatherError(f"{where}: no temperature in the report; {_HOW}", where=where)
    from_body = None if whole is None else (_whole(whole[1]), _whole(whole[2]))
    fine = None if tenths is None else (_tenth(tenths[1], tenths[2]), _tenth(tenths[3], tenths[4]))
    temperature, dew_point = fine or from_body or (None, None)
    if fine is not None and from_body is not None:
        for name, a, b in zip(("temperature", "dew point"), fine, from_body, strict=True):
            if a is not None and b is not None and abs(a - b) > 1.0:
                raise WeatherError(
                    f"{where}: the {name} is {b:g} degC in the report and {a:g} degC in its remarks; check it",
                    where=where,
                )
        dew_point = fine[1] if fine[1] is not None else from_body[1]
    if temperature is None:
        raise WeatherError(f"{where}: no temperature in the report; {_HOW}", where=where)
    if not LEAST_TEMPERATURE_K.value <= temperature + 273.15 <= MOST_TEMPERATURE_K.value:
        raise WeatherError(
            f"{where}: a temperature of {temperature:g} degC is not possible; check the report", where=where
        )
    if dew_point is not None and dew_point > temperature:
        raise WeatherError(
            f"{where}: the dew point {dew_point:g} degC is above the temperature {temperature:g} degC; check the "
            "report",
            where=where,
        )
    return temperature + 273.15, None if dew_point is None else dew_point + 273.15


def _whole(text: str | None) -> float | None:
    if not text or not text[-1].isdigit():
        return None
    return float(text.replace("M", "-")) + 0.0  # M00 is 0


def _tenth(sign: str | None, digits: str | None) -> float | None:
    return None if digits is None else (-1 if sign == "1" else 1) * int(digits) / 10 + 0.0


def _qnh(body: Sequence[str], where: str) -> float:
    found = []
    for group in body:
        match = _QNH.fullmatch(group)
        if match is not None:
            found.append(int(match[1]) * 100.0 if match[1] else int(match[2]) / 100 * INHG_PA.value)
    if not found:
        raise WeatherError(f"{where}: no QNH in the report (a group like Q1013 or A2992); {_HOW}", where=where)
    if max(found) - min(found) > QNH_DISAGREE_PA.value:
        raise WeatherError(f"{where}: two altimeter settings that disagree; check the report", where=where)
    if not LEAST_QNH_PA.value <= min(found) <= max(found) <= MOST_QNH_PA.value:
        raise WeatherError(f"{where}: a QNH of {found[0] / 100:.0f} hPa is not possible; check the report", where=where)
    return min(found)
