"""What METAR and TAF share: dates out of day-and-hour groups, and wind groups read strictly.

metar-taf-parser decodes the reports. It passes over a group that it does not know, reads ``KMH`` as knots, ``240105KT``
as 5 kt, and rounds an ``A`` altimeter group to whole hectopascals, so the groups that a plan lives on are checked here
first: a wind that cannot be read is an error, never a missing wind.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from diproute.constants import NM_M, VARIABLE_WIND_M_S
from diproute.errors import WeatherError
from diproute.records import Wind

PARSER_SLIPS: Final = (ValueError, IndexError, KeyError, TypeError, AttributeError)
_LOOKS_LIKE_WIND: Final = re.compile(r"(?!WS)\S*\d\S*(?:KT|MPS|KMH)|(?:VRB|/{3})\S*(?:KT|MPS|KMH)|P\d\S*(?:KT|MPS)")
_WIND: Final = re.compile(r"(?:\d{3}|VRB)\d{2}(?:G\d{2})?(?:KT|MPS)")
_BEYOND: Final = re.compile(r"(?:\d{3}|VRB)?P\d{2,3}(?:GP?\d{2,3})?(?:KT|MPS)|\S+GP\d{2,3}(?:KT|MPS)")
_UNIT_M_S: Final = {"KT": NM_M.value / 3600, "MPS": 1.0}


@dataclass(frozen=True, slots=True)
class ReportWind:
    """A wind as reported. ``from_deg`` None: variable."""

    from_deg: float | None
    speed_m_s: float
    gust_m_s: float | None = None
    between_deg: tuple[int, int] | None = None  # from and to, clockwise

    @property
    def strongest_m_s(self) -> float:
        """The gust, or the steady wind when none is reported [m/s]."""
        return max(self.speed_m_s, self.gust_m_s or 0.0)

    @property
    def light(self) -> bool:
        """Too light for its direction to matter."""
        return self.strongest_m_s <= VARIABLE_WIND_M_S.value

    @property
    def plannable(self) -> bool:
        """False: it blows from no known direction, and hard enough to matter."""
        return self.from_deg is not None or self.light

    @property
    def directions_deg(self) -> tuple[float, ...]:
        """Where it may blow from, at least every 10 degrees of what it varies over."""
        if self.from_deg is None:
            return tuple(range(0, 360, 10))
        if self.between_deg is None:
            return (self.from_deg,)
        low, high = self.between_deg
        return (self.from_deg, *((low + step) % 360 for step in range(0, (high - low) % 360, 10)), high)

    def as_wind(self, altitude_m: float, others: Sequence[ReportWind] = ()) -> Wind:
        """Give the record, with the strongest gust of this and of the other groups of its time.

        It may blow from anywhere between the directions of all of them, those too light to matter left aside. A light
        variable wind helps nobody: it is given as calm with the reported speed as its gust.
        """
        steady = self.speed_m_s if self.from_deg is not None else 0.0
        strongest = max(wind.strongest_m_s for wind in (self, *others))
        between = None if self.from_deg is None else arc_over([self, *(o for o in others if not o.light)])
        gust = strongest if strongest > steady else None
        return Wind((altitude_m,), ((self.from_deg or 0.0),), (steady,), gust, between)


@dataclass(frozen=True, slots=True)
class Spell:
    """A wind and the time for which it is forecast. ``lasting``: it holds until the next lasting one."""

    start: datetime
    end: datetime
    wind: ReportWind
    lasting: bool

    def touches(self, start: datetime, end: datetime) -> bool:
        """Tell whether it may blow between two times."""
        return self.start < end and self.end > start


def arc_over(winds: Sequence[ReportWind]) -> tuple[float, float] | None:
    """Give the least arc that holds every direction of several winds, clockwise [deg].

    Where it is half the circle or more, or a wind has no direction, it is the whole circle, (0, 360). None: one
    direction alone.
    """
    directions = sorted({direction % 360.0 for wind in winds for direction in wind.directions_deg})
    if len(directions) < 2:
        return None
    gaps = [(after - before) % 360.0 for before, after in itertools.pairwise([*directions, directions[0]])]
    widest = max(range(len(gaps)), key=lambda i: gaps[i])
    if gaps[widest] <= 180.0:
        return 0.0, 360.0
    return directions[(widest + 1) % len(directions)], directions[widest]


def check_winds(groups: Sequence[str], where: str) -> list[str]:
    """Give the wind groups among `groups`, or refuse the first that cannot be read or has no value.

    Raises
    ------
    WeatherError
        A wind in km/h, a garbled one, a missing one (``/////KT``), one beyond the report's range (``P49MPS``), or a
        gust below its mean.
    """
    winds = []
    for group in groups:
        if not _LOOKS_LIKE_WIND.fullmatch(group):
            continue
        if _BEYOND.fullmatch(group):
            raise WeatherError(
                f'{where}: the wind group "{group}" is only a lower bound, too strong for any bucket work; wait, '
                "or give the values instead of the report",
                where=where,
                got=group,
            )
        if "/" in group:
            raise WeatherError(
                f'{where}: the wind is missing ("{group}"); leave the report out and give temperature, '
                "measured_at, qnh and wind instead",
                where=where,
                got=group,
            )
        if not _WIND.fullmatch(group):
            raise WeatherError(
                f'{where}: cannot read the wind group "{group}"; wanted one like 24012KT, 24012G20KT, VRB02KT or '
                "12006MPS",
                where=where,
                got=group,
            )
        if group[:3] != "VRB" and int(group[:3]) > 360:
            raise WeatherError(
                f'{where}: the wind group "{group}" comes from more than 360 degrees; check it', where=where, got=group
            )
        gust = re.search(r"(\d{2})G(\d{2})", group)
        if gust is not None and int(gust[2]) < int(gust[1]):
            raise WeatherError(
                f'{where}: the wind group "{group}" has a gust below its mean wind; check it', where=where, got=group
            )
        winds.append(group)
    return winds


def as_report_wind(wind: Any) -> ReportWind:
    """Turn metar-taf-parser's wind, whose group `check_winds` has let pass, into ours."""
    unit = _UNIT_M_S[wind.unit]
    between = None if wind.min_variation is None else (int(wind.min_variation), int(wind.max_variation))
    gust = None if wind.gust is None else wind.gust * unit
    direction = None if wind.degrees is None else float(wind.degrees)
    return ReportWind(direction, wind.speed * unit, gust, between)


def day_and_time(day: int, hour: int, minute: int, near: datetime, where: str) -> datetime:
    """Date a day-and-time group (UTC): of all months, the one nearest to `near`. Hour 24 is the next day's 0.

    Raises
    ------
    WeatherError
        No such day, hour or minute.
    """
    near = near.astimezone(UTC)
    found = []
    for back in (-1, 0, 1):
        month = near.year * 12 + near.month - 1 + back
        try:
            start = datetime(month // 12, month % 12 + 1, day, tzinfo=UTC)
        except ValueError:
            continue
        found.append(start + timedelta(hours=hour, minutes=minute))
    if not found or hour > 24 or minute > 59:
        raise WeatherError(
            f"{where}: there is no day {day:02d} at {hour:02d}:{minute:02d}; check the report's time", where=where
        )
    return min(found, key=lambda moment: abs(moment - near))
