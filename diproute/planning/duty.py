"""What still fits into the pilot's day."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from diproute.planning.sun import daylight
from diproute.records import AssessedSite, DutyPlan, Incident
from diproute.sortie.duty import duty_left, sorties_left


def duty_plan(incident: Incident, sites: Sequence[AssessedSite]) -> DutyPlan | None:
    """Count the whole fuel cycles at the best site that fit into flight and duty time, and end by the last landing.

    Parameters
    ----------
    incident
        Gives what was flown and worked so far, and the time from which on is counted.
    sites
        Of the plan, in its order.

    Returns
    -------
    DutyPlan or None
        None when no site is usable.
    """
    best = next((site for site in sites if site.rank == 1), None)
    if best is None or best.sortie is None:
        return None
    told = incident.duty
    left = duty_left(told.flown_today_s, told.on_duty_s, told.flown_before_s)
    refuel_s = 0.0 if incident.base is None else incident.base.refuel_s
    count = sorties_left(left, best.sortie, refuel_s)
    light = daylight(best.point.lat_deg, best.point.lon_deg, incident.when)
    light_s = None
    by_light = count
    if light.last is not None and light.first is not None:
        begin = max(incident.when, light.first)
        light_s = max(0.0, (light.last - begin).total_seconds())
        by_light = int((light_s + refuel_s) // best.sortie.seconds)  # the last one ends with the landing
    elif light.stays == "down":
        light_s, by_light = 0.0, 0
    by_flight = sorties_left(replace(left, duty_s=math.inf), best.sortie, refuel_s)
    ends_with: Literal["flight", "duty", "light"] = "flight" if count == by_flight else "duty"
    if by_light < count:
        count, ends_with = by_light, "light"
    return DutyPlan(
        left.flight_s, left.duty_s, count, count * best.sortie.litres, left.flight_limit, light_s, ends_with
    )
