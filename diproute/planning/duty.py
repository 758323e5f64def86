"""What still fits into the pilot's day."""

from __future__ import annotations

from collections.abc import Sequence

from diproute.records import AssessedSite, DutyPlan, Incident
from diproute.sortie.duty import duty_left, sorties_left


def duty_plan(incident: Incident, sites: Sequence[AssessedSite]) -> DutyPlan | None:
    """Count the whole fuel cycles at the best site that fit into flight and duty time.

    Parameters
    ----------
    incident
        Gives what was flown and worked so far.
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
    return DutyPlan(left.flight_s, left.duty_s, count, count * best.sortie.litres, left.flight_limit)
