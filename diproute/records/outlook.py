"""The plan in other weather and other hands: the day, the doubt, several helicopters, the pilot's day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class SiteHour:
    """One site in one hour."""

    litres_per_hour: float  # NaN: does not work in this hour
    fill: float  # NaN likewise
    fuel_kg: float
    margin_kg: float  # under the limit at the first lift
    line_m: float
    density_altitude_m: float
    because: str  # why it does not work; empty when it does


@dataclass(frozen=True, slots=True)
class Hour:
    """All sites in one hour, in the order of ``Plan.sites``."""

    when: datetime
    temperature_k: float  # at the station
    wind_from_deg: float
    wind_m_s: float
    sites: tuple[SiteHour, ...]
    best: int | None  # index into `sites`; None: none works


@dataclass(frozen=True, slots=True)
class Day:
    """The hours of a forecast, the light, and what changes, in sentences."""

    hours: tuple[Hour, ...]
    sunrise: datetime | None
    sunset: datetime | None
    last_departure: datetime | None  # from the base for a whole fuel cycle at the best site, home in the window
    story: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stray:
    """How far a site's water an hour may stray, over draws of the things that nobody knows exactly."""

    low: float  # L/h, one draw in twenty is lower
    high: float  # L/h, one draw in twenty is higher
    works: float  # share of the draws in which the site works at all
    first: float  # share of the draws in which it is the best


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """Whether the ranking holds. ``sites`` is in the order of ``Plan.sites``; None: refused."""

    draws: int
    seed: int
    sites: tuple[Stray | None, ...]
    because: str  # what was drawn, and whether the first place holds


@dataclass(frozen=True, slots=True)
class Shared:
    """One site's part in sharing out several helicopters: those of one kind."""

    site: int  # index into Plan.sites
    helicopter: str
    helicopters: int
    litres_per_hour: float
    wait_s: float  # of each helicopter for the hole, in every cycle


@dataclass(frozen=True, slots=True)
class FleetPlan:
    """Where several helicopters together deliver the most."""

    count: int
    sites: tuple[Shared, ...]
    litres_per_hour: float
    because: str


@dataclass(frozen=True, slots=True)
class DutyPlan:
    """What still fits into the pilot's day at the best site."""

    flight_left_s: float
    duty_left_s: float
    fuel_cycles: int
    litres: float
    because: str
