"""Several helicopters, of one kind or different ones: which sites they work so that together they deliver the most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.constants import DIP_SPACING_S
from diproute.planning.assessment import fly_sites, judge
from diproute.planning.prepared import Prepared, prepared_for
from diproute.planning.shortlist import Candidate
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.records import F64, AssessedSite, Craft, FleetPlan, Shared
from diproute.sortie.cycle import dip_seconds
from diproute.sortie.queueing import assign

MOST_SITES = 20


@dataclass(frozen=True, slots=True)
class _Kind:
    name: str
    count: int
    sites: tuple[AssessedSite | None, ...]  # of the offered ones, as this kind works them; None: it cannot


def share_out(fields: TravelFields, sites: Sequence[AssessedSite]) -> FleetPlan | None:
    """Send the incident's helicopters where together they deliver the most.

    One helicopter at a time uses a dip, the next one a spacing later. Of each water body only the best point is
    offered: a second one close by would put two helicopters into one approach.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    sites
        Of the plan, in its order.

    Returns
    -------
    FleetPlan or None
        None for one helicopter, or when no kind can work any site.
    """
    prepared = fields.prepared
    incident = prepared.incident
    if incident.count + sum(craft.count for craft in incident.more) < 2:
        return None
    offered = _one_a_water(sites)
    own = tuple(None if sites[i].rank is None else sites[i] for i in offered)
    kinds = [_Kind(incident.helicopter.name, incident.count, own)]
    points = [Candidate(sites[i].point, math.nan, None) for i in offered]
    for craft in incident.more:
        other = solve_fields(_prepared_for(prepared, craft), fields.weather)
        judged = [judge(other, one) for one in fly_sites(other, points)]
        theirs = tuple(None if site.refused or site.sortie is None else site for site in judged)
        kinds.append(_Kind(craft.helicopter.name, craft.count, theirs))
    if not any(site for kind in kinds for site in kind.sites):
        return None
    count = [kind.count for kind in kinds]
    sent = assign(count, *_worked(kinds, len(offered)), DIP_SPACING_S.value)
    parts = tuple(
        Shared(
            offered[s],
            kind.name,
            int(sent.helicopters[k, s]),
            float(sent.litres_per_hour[k, s]),
            float(sent.wait_s[k, s]),
        )
        for s in range(len(offered))
        for k, kind in enumerate(kinds)
        if sent.helicopters[k, s]
    )
    return FleetPlan(sum(count), parts, sent.total_litres_per_hour)


def _worked(kinds: Sequence[_Kind], sites: int) -> tuple[F64, F64, F64, F64]:
    """Load [L], loads an hour, cycle and time in the dip [s] of each kind at each site, ``(kinds, sites)``.

    The load is NaN where a kind cannot work a site; the other three then stand for nothing.
    """
    litres = np.full((len(kinds), sites), np.nan)
    loads_h, cycle_s, dip_s = np.zeros(litres.shape), np.ones(litres.shape), np.zeros(litres.shape)
    for k, kind in enumerate(kinds):
        for s, site in enumerate(kind.sites):
            if site is not None and site.sortie is not None and site.cycle is not None:
                litres[k, s] = site.sortie.litres / site.sortie.cycles
                loads_h[k, s] = 3600.0 * site.sortie.cycles / site.sortie.seconds
                cycle_s[k, s], dip_s[k, s] = site.cycle.seconds, dip_seconds(site.cycle)
    return litres, loads_h, cycle_s, dip_s


def _one_a_water(sites: Sequence[AssessedSite]) -> list[int]:
    """Index the best point of each water body that has a route, best first."""
    best: dict[str, int] = {}
    for i, site in enumerate(sites):
        if site.route is not None:
            best.setdefault(site.point.water.id, i)
    return list(best.values())[:MOST_SITES]


def _prepared_for(prepared: Prepared, craft: Craft) -> Prepared:
    """Make the same ground ready for another helicopter and bucket."""
    incident = replace(
        prepared.incident,
        helicopter=craft.helicopter,
        crew_kg=craft.crew_kg,
        fuel=craft.fuel,
        bucket=craft.bucket,
        fill=craft.fill,
        count=craft.count,
        more=(),
    )
    return prepared_for(prepared, incident)
