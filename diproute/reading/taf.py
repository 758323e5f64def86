"""A TAF (WMO FM 51) as winds hour by hour and the warmest temperature forecast."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from diproute.constants import LEAST_TEMPERATURE_K, MOST_TEMPERATURE_K
from diproute.errors import WeatherError
from diproute.reading.report import PARSER_SLIPS, ReportWind, Spell, as_report_wind, check_winds, day_and_time

_HIGHEST: Final = re.compile(r"TX(M?\d{2})/(\d{2})(\d{2})Z")
_HOUR: Final = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Taf:
    """One forecast, decoded."""

    station: str
    start: datetime
    end: datetime
    spells: tuple[Spell, ...]
    warmest_k: float | None  # None: the TAF gives no TX group

    def steady(self, when: datetime) -> ReportWind:
        """Give the wind that prevails at a time inside the validity."""
        return [spell.wind for spell in self.spells if spell.lasting and spell.start <= when][-1]

    def winds(self, start: datetime, end: datetime) -> list[ReportWind]:
        """Give the winds of all groups that touch the time from `start` to `end`."""
        return [spell.wind for spell in self.spells if spell.touches(start, end)]

    def hours(self) -> list[datetime]:
        """Give the whole hours of its validity."""
        return [self.start + i * _HOUR for i in range(int((self.end - self.start) / _HOUR))]


def read_taf(text: str, near: datetime, where: str = "taf") -> Taf:
    """Decode one TAF.

    Parameters
    ----------
    text
        The forecast, with or without the word TAF in front.
    near
        A time inside or near its validity, which names the month and year.
    where
        The key it came from, for the message.

    Raises
    ------
    WeatherError
        No TAF, a cancelled or empty one, a group of wind or time that cannot be read, or an impossible temperature.
    """
    from metar_taf_parser.parser.parser import TAFParser

    groups = text.upper().replace("=", " ").split()
    if groups[:1] != ["TAF"]:
        groups.insert(0, "TAF")
    for word, meaning in (("NIL", "empty"), ("CNL", "cancelled")):
        if word in groups:
            raise WeatherError(f"{where}: the forecast is {meaning} ({word}); leave it out", where=where, got=text)
    if "RMK" in groups:
        groups = groups[: groups.index("RMK")]
    check_winds(groups, where)
    try:
        taf = TAFParser().parse(" ".join(groups))
        period = taf.validity
        start = day_and_time(period.start_day, period.start_hour, 0, near, where)
        end = day_and_time(period.end_day, period.end_hour, 0, start, where)
        spells = _spells(taf, start, end, where)
    except WeatherError:
        raise
    except PARSER_SLIPS as error:
        raise WeatherError(
            f'{where}: cannot read "{text[:60]}" as a TAF; write it like "TAF KXYZ 141720Z 1418/1524 24012KT …"',
            where=where,
            got=text,
        ) from error
    if not start < end <= start + 48 * _HOUR:
        raise WeatherError(
            f"{where}: valid from {start:%d %H}Z to {end:%d %H}Z, which is no forecast period; check it", where=where
        )
    highest = [int(match[1].replace("M", "-")) + 273.15 for group in groups if (match := _HIGHEST.fullmatch(group))]
    for warm_k in highest:
        if not LEAST_TEMPERATURE_K.value <= warm_k <= MOST_TEMPERATURE_K.value:
            raise WeatherError(
                f"{where}: a highest temperature of {warm_k - 273.15:.0f} degC is not possible; check the forecast",
                where=where,
            )
    return Taf(taf.station, start, end, spells, max(highest, default=None))


def _spells(taf: Any, start: datetime, end: datetime, where: str) -> tuple[Spell, ...]:
    if taf.wind is None:
        raise WeatherError(f"{where}: no wind in the forecast's first line; leave the TAF out", where=where)
    found = [Spell(start, end, as_report_wind(taf.wind), True)]
    for trend in taf.trends:
        if trend.wind is None:
            continue
        wind, period, kind = as_report_wind(trend.wind), trend.validity, trend.type.name
        begins = day_and_time(
            period.start_day, period.start_hour, getattr(period, "start_minutes", 0) or 0, start, where
        )
        if kind == "FM":
            found.append(Spell(begins, end, wind, True))
            continue
        ends = day_and_time(period.end_day, period.end_hour, 0, start, where)
        if kind == "BECMG":  # in between either may hold: the new wind lasts from the end on
            found.append(Spell(ends, end, wind, True))
        found.append(Spell(begins, ends, wind, False))
    found.sort(key=lambda spell: spell.start)
    lasting = [spell for spell in found if spell.lasting]
    ends_at = {id(a): b.start for a, b in itertools.pairwise(lasting)}
    return tuple(Spell(s.start, ends_at.get(id(s), s.end), s.wind, s.lasting) for s in found)
