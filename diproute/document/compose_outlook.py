"""Hours, uncertainty, several helicopters and the pilot's day, in the document's shape, each with its finding."""

from __future__ import annotations

import math
from typing import Final

from diproute import constants as k
from diproute import records
from diproute.document.findings import findings
from diproute.document.outlook import Day, Doubt, Duty, Fleet, FleetPart, Hour, LastShort, SiteDoubt, SiteHour

LEAST_SHARE: Final = 0.005  # a rival that is first less often than this is not named
LEAST_WAIT_S: Final = 1.0  # a shorter wait is none


def day(assessed: records.Assessed) -> Day | None:
    """Give the hours; None without hourly weather.

    A site that has nothing but its own refusal in every hour is left out of all of them.
    """
    told = assessed.day
    if told is None:
        return None
    flown = [i for i, site in enumerate(assessed.sites) if not _always_refused(site, i, told)]
    return Day(
        sunrise=told.sunrise,
        sunset=told.sunset,
        last_departure=told.last_departure,
        last_site=None if told.last_site is None else assessed.sites[told.last_site].id,
        last_short=None
        if told.last_short is None
        else LastShort(
            site=assessed.sites[told.last_short.site].id,
            departure=told.last_short.departure,
            cycles=told.last_short.cycles,
            fuel_kg=told.last_short.fuel_kg,
        ),
        sun_stays=told.sun_stays,
        story=findings(told.story),
        hours=tuple(_hour(hour, assessed, flown) for hour in told.hours),
    )


def _always_refused(site: records.AssessedSite, i: int, told: records.Day) -> bool:
    hours = [hour.sites[i] for hour in told.hours]
    return site.rank is None and all(
        math.isnan(h.litres_per_hour) and tuple(f for f in h.why if f.code != "dark") == site.refused for h in hours
    )


def _hour(hour: records.Hour, assessed: records.Assessed, flown: list[int]) -> Hour:
    return Hour(
        when=hour.when,
        temperature_k=hour.temperature_k,
        wind_from_deg=hour.wind_from_deg,
        wind_m_s=hour.wind_m_s,
        gust_m_s=hour.gust_m_s,
        dark=hour.dark,
        best=None if hour.best is None else assessed.sites[hour.best].id,
        sites=tuple(_site_hour(assessed.sites[i].id, hour.sites[i]) for i in flown),
    )


def _site_hour(site: str, here: records.SiteHour) -> SiteHour:
    return SiteHour(
        site=site,
        litres_per_hour=here.litres_per_hour,
        fill=here.fill,
        fuel_kg=here.fuel_kg,
        margin_kg=here.margin_kg,
        line_m=here.line_m,
        density_altitude_m=here.density_altitude_m,
        arrival_deg=here.arrival_deg,
        departure_deg=here.departure_deg,
        why=findings(here.why),
        cautions=findings(here.cautions),
    )


def doubt(assessed: records.Assessed) -> Doubt | None:
    """Give the uncertainty; None without a suitable site. Refused sites have no entry."""
    told = assessed.doubt
    if told is None:
        return None
    pairs = [(site, one) for site, one in zip(assessed.sites, told.sites, strict=True) if one is not None]
    leader, leads = next((pair for pair in pairs if pair[0].rank == 1), pairs[0])
    others = [(one.first, site.name) for site, one in pairs if site is not leader and one.first >= LEAST_SHARE]
    rival_first, rival = max(others, default=(None, None))
    return Doubt.of(
        records.Finding.of(
            "uncertainty",
            site=leader.name,
            first=leads.first,
            rival=rival,
            rival_first=rival_first,
            temperature_difference_k=k.UNCERTAIN_TEMPERATURE_K.value,
            wind_m_s=k.UNCERTAIN_WIND_M_S.value,
            wind_deg=k.UNCERTAIN_WIND_DEG.value,
            gust_m_s=k.UNCERTAIN_GUST_M_S.value,
            hovers=leads.hovers,
            times=k.UNCERTAIN_TIMES.value,
            cases=told.cases,
        ),
        draws=told.cases,
        seed=told.seed,
        sites=tuple(
            SiteDoubt(
                site=site.id,
                low_litres_per_hour=one.low,
                high_litres_per_hour=one.high,
                works_share=one.works,
                first_share=one.first,
                hovers_share=one.hovers,
            )
            for site, one in pairs
        ),
    )


def fleet(assessed: records.Assessed) -> Fleet | None:
    """Give where several helicopters go; None for one."""
    told = assessed.fleet
    if told is None:
        return None
    several_kinds = bool(assessed.incident.more)
    parts = tuple(
        records.Finding.of(
            "fleet-part",
            helicopters=part.helicopters,
            helicopter=part.helicopter if several_kinds else None,
            site=assessed.sites[part.site].name,
            litres_per_hour=part.litres_per_hour,
            wait_s=part.wait_s if part.wait_s >= LEAST_WAIT_S else None,
        )
        for part in told.sites
    )
    idle = told.count - sum(part.helicopters for part in told.sites)
    return Fleet.of(
        records.Finding.of(
            "fleet", count=told.count, litres_per_hour=told.litres_per_hour, parts=parts, idle=idle or None
        ),
        count=told.count,
        litres_per_hour=told.litres_per_hour,
        parts=tuple(
            FleetPart(
                site=assessed.sites[part.site].id,
                helicopter=part.helicopter,
                helicopters=part.helicopters,
                litres_per_hour=part.litres_per_hour,
                wait_s=part.wait_s,
            )
            for part in told.sites
        ),
    )


def duty(assessed: records.Assessed) -> Duty | None:
    """Give what is left of the pilot's day; None without a suitable site."""
    told = assessed.duty
    best = next((site for site in assessed.sites if site.rank == 1), None)
    if told is None or best is None:
        return None
    return Duty.of(
        records.Finding.of(
            "duty",
            flight_left_s=told.flight_left_s,
            six_days=told.flight_limit == "six days",
            duty_left_s=told.duty_left_s,
            fuel_cycles=told.fuel_cycles,
            site=best.name,
            litres=told.litres,
            by_light=told.ends_with == "light",
            light_left_s=told.light_left_s,
        ),
        light_left_s=told.light_left_s,
        ends_with=told.ends_with,
        flight_left_s=told.flight_left_s,
        flight_limit=told.flight_limit,
        duty_left_s=told.duty_left_s,
        fuel_cycles=told.fuel_cycles,
        litres=told.litres,
    )
