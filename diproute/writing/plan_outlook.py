"""What the plan file says of the whole day, of doubt, of several helicopters and of the pilot's duty."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from diproute.records import Assessed, AssessedSite, Day, DutyPlan, FleetPlan, Hour, Sensitivity
from diproute.writing.rounding import course, hundredth, share, tenth

Entry = dict[str, Any]


def day_entry(plan: Assessed) -> Entry | None:
    """Turn the hours into their dictionary, each site named by its id; None without hourly weather."""
    day: Day | None = plan.day
    if day is None:
        return None
    return {
        "sunrise": _moment(day.sunrise),
        "sunset": _moment(day.sunset),
        "last_departure": _moment(day.last_departure),
        "story": list(day.story),
        "hours": [_hour(hour, plan.sites) for hour in day.hours],
    }


def doubt_entry(plan: Assessed) -> Entry | None:
    """Turn the doubt into its dictionary; refused sites have no entry."""
    doubt: Sensitivity | None = plan.doubt
    if doubt is None:
        return None
    return {
        "draws": doubt.draws,
        "seed": doubt.seed,
        "because": doubt.because,
        "sites": [
            {
                "site": site.id,
                "low_litres_per_hour": tenth(stray.low),
                "high_litres_per_hour": tenth(stray.high),
                "works_share": share(stray.works),
                "first_share": share(stray.first),
            }
            for site, stray in zip(plan.sites, doubt.sites, strict=True)
            if stray is not None
        ],
    }


def fleet_entry(plan: Assessed) -> Entry | None:
    """Turn the sharing out into its dictionary; None for one helicopter."""
    fleet: FleetPlan | None = plan.fleet
    if fleet is None:
        return None
    return {
        "count": fleet.count,
        "litres_per_hour": tenth(fleet.litres_per_hour),
        "because": fleet.because,
        "parts": [
            {
                "site": plan.sites[part.site].id,
                "helicopter": part.helicopter,
                "helicopters": part.helicopters,
                "litres_per_hour": tenth(part.litres_per_hour),
                "wait_s": tenth(part.wait_s),
            }
            for part in fleet.sites
        ],
    }


def duty_entry(plan: Assessed) -> Entry | None:
    """Turn what is left of the pilot's day into its dictionary; None without a usable site."""
    duty: DutyPlan | None = plan.duty
    if duty is None:
        return None
    return {
        "flight_left_s": tenth(duty.flight_left_s),
        "duty_left_s": tenth(duty.duty_left_s),
        "fuel_cycles": duty.fuel_cycles,
        "litres": tenth(duty.litres),
        "because": duty.because,
    }


def _moment(when: datetime | None) -> str | None:
    return None if when is None else when.isoformat()


def _hour(hour: Hour, sites: tuple[AssessedSite, ...]) -> Entry:
    return {
        "when": hour.when.isoformat(),
        "temperature_k": hundredth(hour.temperature_k),
        "wind_from_deg": course(hour.wind_from_deg),
        "wind_m_s": hundredth(hour.wind_m_s),
        "best": None if hour.best is None else sites[hour.best].id,
        "sites": [
            {
                "site": site.id,
                "litres_per_hour": tenth(here.litres_per_hour),
                "fill": share(here.fill),
                "fuel_kg": tenth(here.fuel_kg),
                "margin_kg": tenth(here.margin_kg),
                "line_m": tenth(here.line_m),
                "density_altitude_m": tenth(here.density_altitude_m),
                "because": here.because,
            }
            for site, here in zip(sites, hour.sites, strict=True)
        ],
    }
