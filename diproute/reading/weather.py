"""The weather of the plan's time: from values, from a METAR with or without a TAF, or from an hourly table.

What a source does not say is refused, never assumed. What is doubtful (an old report, a variable wind, a hole in
the table) becomes a caution.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from diproute.constants import NM_M, REPORT_AGE_S, ROW_HOLE_S
from diproute.errors import WeatherError
from diproute.physics.wind import wind_at
from diproute.reading.hourly import read_hourly
from diproute.reading.metar import Metar, read_metar
from diproute.reading.report import ReportWind, arc_over
from diproute.reading.taf import Taf, read_taf
from diproute.records import Air, Finding, HourlyWeather, Weather, Wind

_AGE: Final = timedelta(seconds=REPORT_AGE_S.value)
_HOLE: Final = timedelta(seconds=ROW_HOLE_S.value)
_HOUR: Final = timedelta(hours=1)
_KT_M_S: Final = NM_M.value / 3600


def from_values(air: Air, wind: Wind) -> Weather:
    """Give the weather that stands in the incident file."""
    return Weather(air, wind, "incident file")


def from_metar(
    text: str,
    station_elevation_m: float,
    when: datetime,
    lapse_k_per_m: float | None = None,
    taf: str | None = None,
    where: str = "weather",
) -> Weather:
    """Give the weather of a METAR, and with a TAF that of the hours ahead.

    The plan takes the highest gust of any group of the report's trend and of the TAF that touches the two hours from
    `when` on, and a wind from anywhere between the directions of those groups. With a TAF it takes the warmest
    temperature of report and forecast; a report more than two hours from `when` gives way to the forecast's wind.
    Each hour of the TAF is planned with that same warmest temperature, since a TAF gives no other.

    Parameters
    ----------
    text
        The METAR.
    station_elevation_m
        Elevation of the station [m AMSL].
    when
        The plan's time, with its offset.
    lapse_k_per_m
        Lapse rate [K/m], or None for the warmer of the standard and the dry adiabatic answer.
    taf
        The TAF, or None.
    where
        Prefix of the keys ``metar`` and ``taf`` in messages.

    Raises
    ------
    WeatherError
        A report without temperature, QNH or wind, a variable wind too strong to plan with, a TAF for another time.
    """
    report = read_metar(text, when, f"{where}.metar")
    forecast = None if taf is None else read_taf(taf, when, f"{where}.taf")
    cautions = _age_cautions(report, when)
    wind, temperature_k, source = report.wind, report.temperature_k, report.name
    others = [trend.wind for trend in report.trends if trend.touches(when, when + 2 * _HOUR)]
    hourly: tuple[HourlyWeather, ...] = ()
    if forecast is not None:
        if not forecast.start <= when < forecast.end:
            raise WeatherError(
                f"{where}.taf: valid from {forecast.start:%d %H}Z to {forecast.end:%d %H}Z, which does not hold the "
                f"plan's time {when.isoformat(timespec='minutes')}; give the TAF of that time, or leave it out",
                where=f"{where}.taf",
            )
        temperature_k = max(report.temperature_k, forecast.warmest_k or 0.0)
        others += forecast.winds(when, when + 2 * _HOUR)
        source = f"{report.name} and TAF {forecast.station}"
        if abs(when - report.observed) > _AGE:
            wind = forecast.steady(when)
        if temperature_k > report.temperature_k:
            cautions.append(
                Finding.of("warmest-of-the-forecast", forecast_k=temperature_k, reported_k=report.temperature_k)
            )
    if not wind.plannable:
        raise WeatherError(
            f"{where}: a variable wind of {wind.strongest_m_s / _KT_M_S:.0f} kt has no direction to plan with; "
            "leave the report out and give temperature, measured_at, qnh and the wind you expect",
            where=where,
        )
    planned = wind.as_wind(station_elevation_m, others)
    cautions += _wind_cautions(wind, planned)
    air = Air(temperature_k, station_elevation_m, report.qnh_pa, report.dew_point_k, lapse_k_per_m)
    if forecast is not None:
        hourly, left_out = _taf_hours(forecast, air, when)
        cautions += left_out
    return Weather(air, planned, source, hourly, tuple(cautions))


def _age_cautions(report: Metar, when: datetime) -> list[Finding]:
    apart = when - report.observed
    if abs(apart) <= _AGE:
        return []
    return [
        Finding.of(
            "report-of-another-time",
            report=report.name,
            before=apart > timedelta(0),
            apart_s=abs(apart).total_seconds(),
            days=abs(apart).days if abs(apart) >= timedelta(days=2) else None,
        )
    ]


def _wind_cautions(wind: ReportWind, planned: Wind) -> list[Finding]:
    if wind.from_deg is None or (wind.between_deg is not None and planned.between_deg == arc_over([wind])):
        low, high = wind.between_deg or (None, None)
        code = "wind-variable"
        return [Finding.of(code, speed_m_s=wind.speed_m_s, from_deg=wind.from_deg, low_deg=low, high_deg=high)]
    if planned.between_deg is None:
        return []
    first, last = planned.between_deg
    anywhere = last - first == 360.0
    return [Finding.of("wind-of-groups", from_deg=wind.from_deg, anywhere=anywhere, low_deg=first, high_deg=last)]


def _taf_hours(forecast: Taf, air: Air, when: datetime) -> tuple[tuple[HourlyWeather, ...], list[Finding]]:
    if forecast.warmest_k is None:
        return (), [Finding.of("hours-without-temperature")]
    hours, left_out = [], []
    for start in forecast.hours():
        wind = forecast.steady(start)
        local = start.astimezone(when.tzinfo)
        if wind.plannable:
            others = forecast.winds(start, start + _HOUR)
            hours.append(HourlyWeather(local, air, wind.as_wind(air.measured_at_m, others)))
        else:
            left_out.append(Finding.of("hour", at=local.isoformat()))
    if not left_out:
        return tuple(hours), []
    return tuple(hours), [Finding.of("hours-left-out", hours=tuple(left_out))]


def from_hourly(
    path: Path, measured_at_m: float, when: datetime, lapse_k_per_m: float | None = None, where: str = "weather.hourly"
) -> Weather:
    """Give the weather of an hourly table, at the plan's time interpolated between the two rows round it.

    The wind is interpolated as a vector, the gust is the higher of both rows.

    Parameters
    ----------
    path
        The CSV file (docs/formats.md).
    measured_at_m
        Elevation of the station [m AMSL].
    when
        The plan's time, with its offset.
    lapse_k_per_m
        Lapse rate [K/m], or None.
    where
        The key that names the file.

    Raises
    ------
    WeatherError
        What `read_hourly` refuses, and a table that does not hold the plan's time.
    """
    hours = read_hourly(path, measured_at_m, lapse_k_per_m, where)
    if not hours[0].when <= when <= hours[-1].when:
        raise WeatherError(
            f"{where}: {path.name} runs from {hours[0].when.isoformat(timespec='minutes')} to "
            f"{hours[-1].when.isoformat(timespec='minutes')}, which does not hold the plan's time "
            f"{when.isoformat(timespec='minutes')}",
            where=where,
        )
    before = [hour for hour in hours if hour.when <= when][-1]
    after = next(hour for hour in hours if hour.when >= when)
    span = after.when - before.when
    cautions: tuple[Finding, ...] = ()
    if span > _HOLE:
        cautions = (
            Finding.of("hours-missing", file=path.name, start=before.when.isoformat(), end=after.when.isoformat()),
        )
    now = _between(before, after, (when - before.when) / span) if span else before
    return Weather(now.air, now.wind, f"{path.name}, {when:%H:%M}", hours, cautions, path)


def _between(a: HourlyWeather, b: HourlyWeather, share: float) -> HourlyWeather:
    """Interpolate two hours: linear in the air, the wind as a vector."""

    def mean(x: float, y: float) -> float:
        return x + share * (y - x)

    dew = None
    if a.air.dew_point_k is not None and b.air.dew_point_k is not None:
        dew = mean(a.air.dew_point_k, b.air.dew_point_k)
    air = Air(
        mean(a.air.temperature_k, b.air.temperature_k),
        a.air.measured_at_m,
        mean(a.air.qnh_pa, b.air.qnh_pa),
        dew,
        a.air.lapse_k_per_m,
    )
    from_deg, speed = wind_at(
        (0.0, 1.0), (a.wind.from_deg[0], b.wind.from_deg[0]), (a.wind.speed_m_s[0], b.wind.speed_m_s[0]), share
    )
    gusts = [hour.wind.gust_m_s for hour in (a, b) if hour.wind.gust_m_s is not None]
    gust = max(gusts, default=math.nan)
    wind = Wind((air.measured_at_m,), (float(from_deg),), (float(speed),), gust if gusts else None)
    return HourlyWeather(a.when + share * (b.when - a.when), air, wind)
