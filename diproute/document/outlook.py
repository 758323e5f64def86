"""The plan in other weather and other hands: the hours, the uncertainty, several helicopters, the pilot's day."""

from __future__ import annotations

from typing import Literal

from diproute.document.fields import (
    Hundredth,
    Index,
    MaybeCourse,
    MaybeHundredth,
    MaybeShare,
    MaybeTenth,
    Moment,
    Part,
    Share,
    Tenth,
)
from diproute.document.findings import Finding


class SiteHour(Part):
    """One site in one hour; ``why`` says why it does not work."""

    site: str
    litres_per_hour: MaybeTenth = None
    fill: MaybeShare = None
    fuel_kg: MaybeTenth = None
    margin_kg: MaybeTenth = None
    line_m: MaybeTenth = None
    density_altitude_m: MaybeHundredth = None
    arrival_deg: MaybeCourse = None  # course of the hour [deg true]; None: it does not work, or an older plan
    departure_deg: MaybeCourse = None
    why: tuple[Finding, ...] = ()
    cautions: tuple[Finding, ...] = ()


class Hour(Part):
    """One hour. A site that is missing here keeps its own refusal through the day."""

    when: Moment
    temperature_k: Hundredth
    wind_from_deg: MaybeCourse = None
    wind_m_s: MaybeHundredth = None
    gust_m_s: MaybeHundredth = None
    best: str | None = None
    dark: bool = False  # outside the flying window: nothing is offered
    sites: tuple[SiteHour, ...]


class LastShort(Part):
    """The shortened fuel cycle that still fits between the last whole one and the last landing."""

    site: str
    departure: Moment
    cycles: Index
    fuel_kg: Tenth


class Day(Part):
    """The hours of a forecast, the light, and what changes."""

    sunrise: Moment | None = None
    sunset: Moment | None = None
    last_departure: Moment | None = None
    last_site: str | None = None  # the best of that hour, to which the last whole fuel cycle goes
    last_short: LastShort | None = None
    sun_stays: Literal["up", "down"] | None = None  # all day: polar day, polar night
    story: tuple[Finding, ...] = ()
    hours: tuple[Hour, ...]


class SiteDoubt(Part):
    """How far one site's water an hour may stray."""

    site: str
    low_litres_per_hour: MaybeTenth = None
    high_litres_per_hour: MaybeTenth = None
    works_share: Share
    first_share: Share
    hovers_share: Share | None = None  # of the cases in which the plan's own fill and fuel hover


class Doubt(Finding):
    """Whether the ranking holds, over cases of what nobody knows exactly."""

    draws: Index
    seed: Index
    sites: tuple[SiteDoubt, ...]


class FleetPart(Part):
    """One site's part in sharing out several helicopters."""

    site: str
    helicopter: str
    helicopters: Index
    litres_per_hour: Tenth
    wait_s: Tenth


class Fleet(Finding):
    """Where several helicopters together deliver the most."""

    count: Index
    litres_per_hour: Tenth
    parts: tuple[FleetPart, ...]


class Duty(Finding):
    """What still fits into the pilot's day at the best site."""

    flight_left_s: Tenth
    flight_limit: Literal["day", "six days"]  # the one of the flight limits that leaves the least
    duty_left_s: Tenth
    light_left_s: Tenth | None = None  # until the last landing
    ends_with: Literal["flight", "duty", "light"] | None = None  # what leaves the fewest fuel cycles
    fuel_cycles: Index
    litres: Tenth
