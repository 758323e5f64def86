"""The plan in other weather and other hands: hours, what-if grid, uncertainty, several helicopters, the pilot's day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from diproute.records.base import F64, I64, Finding


@dataclass(frozen=True, slots=True)
class SiteHour:
    """One site in one hour."""

    litres_per_hour: float  # NaN: does not work in this hour
    fill: float  # NaN likewise
    fuel_kg: float
    margin_kg: float  # under the limit at the first lift
    line_m: float
    density_altitude_m: float
    why: tuple[Finding, ...]  # it does not work; empty when it does
    cautions: tuple[Finding, ...] = ()  # of the hour: who looks into the sun
    arrival_deg: float = math.nan  # course of the hour [deg true]
    departure_deg: float = math.nan


@dataclass(frozen=True, slots=True)
class Hour:
    """All sites in one hour, in the order of ``Assessed.sites``."""

    when: datetime
    temperature_k: float  # at the station
    wind_from_deg: float
    wind_m_s: float
    sites: tuple[SiteHour, ...]
    best: int | None  # index into `sites`; None: none works, or it is dark
    gust_m_s: float | None = None  # the strongest of any group that touches the hour, whatever its direction
    dark: bool = False  # outside the flying window: nothing is offered


@dataclass(frozen=True, slots=True)
class LastShort:
    """The shortened fuel cycle that still fits between the last whole one and the last landing."""

    site: int  # index into `Assessed.sites`
    departure: datetime  # from the base
    cycles: int
    fuel_kg: float  # at the departure


@dataclass(frozen=True, slots=True)
class Day:
    """The hours of a forecast, the light, and what changes."""

    hours: tuple[Hour, ...]
    sunrise: datetime | None
    sunset: datetime | None
    last_departure: datetime | None  # from the base for a whole fuel cycle, home in the window
    story: tuple[Finding, ...]
    sun_stays: Literal["up", "down"] | None = None  # all day: polar day, polar night
    last_site: int | None = None  # index into `Assessed.sites`: of that fuel cycle, the best of its hour
    last_short: LastShort | None = None


@dataclass(frozen=True, slots=True)
class SiteWhatIf:
    """One site in every weather of a what-if grid, (nodes,) each: temperature by temperature, in each wind by wind."""

    site: int  # index into `Assessed.sites`
    litres_per_hour: F64  # NaN: closed
    fill: F64  # NaN likewise, as all that follow
    line_m: F64
    approach_deg: F64  # true
    departure_deg: F64
    why: I64  # index into `WhatIf.reasons`; -1: it is open


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What the sites bring in other weather than the plan's: every temperature with every wind."""

    wind_from_deg: tuple[float | None, ...]  # true, beside the next; the first is a calm, which has no direction
    wind_m_s: tuple[float, ...]
    temperature_k: tuple[float, ...]  # at the station, rising
    reasons: tuple[Finding, ...]
    sites: tuple[SiteWhatIf, ...]  # those that another weather may change


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How far a site's water an hour may stray, over cases of the things that nobody knows exactly."""

    low: float  # L/h, one case in twenty is lower
    high: float  # L/h, one case in twenty is higher
    works: float  # share of the cases in which the site works at all
    first: float  # share of the cases in which it is the best
    hovers: float  # share of the cases in which the plan's own fill and fuel hover


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """Whether the ranking holds. ``sites`` is in the order of ``Assessed.sites``; None: refused."""

    cases: int
    seed: int
    sites: tuple[Uncertainty | None, ...]


@dataclass(frozen=True, slots=True)
class Shared:
    """One site's part in sharing out several helicopters: those of one kind."""

    site: int  # index into Assessed.sites
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


@dataclass(frozen=True, slots=True)
class DutyPlan:
    """What still fits into the pilot's day at the best site."""

    flight_left_s: float
    duty_left_s: float
    fuel_cycles: int
    litres: float
    flight_limit: Literal["day", "six days"]  # the one of the flight limits that leaves the least
    light_left_s: float | None = None  # until the last landing; None: the light does not end
    ends_with: Literal["flight", "duty", "light"] = "flight"  # what leaves the fewest fuel cycles
