"""Several helicopters, of one kind or different ones: which sites they work so that together they deliver the most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.constants import DIP_SPACING_S
from diproute.planning.assessment import fly_sites, judge
from diproute.planning.prepared import Prepared, prepared_for
from diproute.planning.shortlist import Candidate
from diproute.planning.travel_fields import solve_fields
from diproute.records import AssessedSite, Craft, FleetPlan, Shared, Weather
from diproute.sortie.cycle import hole_seconds
from diproute.sortie.queueing import assign
from diproute.units import show, show_time

MOST_SITES = 20


@dataclass(frozen=True, slots=True)
class _Kind:
    name: str
    count: int
    sites: tuple[AssessedSite | None, ...]  # of the offered ones, as this kind works them; None: it cannot


def share_out(scene: Prepared, weather: Weather, sites: Sequence[AssessedSite]) -> FleetPlan | None:
    """Send the incident's helicopters where together they deliver the most.

    One helicopter at a time is in the hole of a dip point, the next one a spacing later. Of each water body only the
    best point is offered: a second one close by would put two helicopters into one approach.

    Parameters
    ----------
    scene, weather
        The plan's own.
    sites
        Of the plan, in its order.

    Returns
    -------
    FleetPlan or None
        None for one helicopter, or when no kind can work any site.
    """
    incident = scene.incident
    if incident.count + sum(craft.count for craft in incident.more) < 2:
        return None
    offered = _one_a_water(sites)
    points = [Candidate(sites[i].point, float("nan"), None) for i in offered]
    own = tuple(None if sites[i].rank is None else sites[i] for i in offered)
    kinds = [_Kind(incident.helicopter.name, incident.count, own)]
    for craft in incident.more:
        other = _scene_for(scene, craft)
        flown = fly_sites(other, solve_fields(other, weather.wind), weather, points)
        judged = [judge(other, weather, one) for one in flown]
        theirs = tuple(None if site.refused or site.sortie is None else site for site in judged)
        kinds.append(_Kind(craft.helicopter.name, craft.count, theirs))
    if not any(site for kind in kinds for site in kind.sites):
        return None
    table = np.full((4, len(kinds), len(offered)), np.nan)
    for k, kind in enumerate(kinds):
        for s, site in enumerate(kind.sites):
            if site is not None and site.sortie is not None and site.cycle is not None:
                load_l = site.sortie.litres / site.sortie.cycles
                loads_h = 3600.0 * site.sortie.cycles / site.sortie.seconds
                table[:, k, s] = (load_l, loads_h, site.cycle.seconds, hole_seconds(site.cycle))
    usable = np.isfinite(table[0])
    litres, loads, cycle_s, hole_s = table
    sent = assign(
        [kind.count for kind in kinds],
        litres,
        np.where(usable, loads, 0.0),
        np.where(usable, cycle_s, 1.0),
        np.where(usable, hole_s, 0.0),
        DIP_SPACING_S.value,
    )
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
    return _told(scene, sites, kinds, parts, sent.total_litres_per_hour)


def _told(
    scene: Prepared, sites: Sequence[AssessedSite], kinds: Sequence[_Kind], parts: tuple[Shared, ...], total: float
) -> FleetPlan:
    display = scene.incident.display
    words = []
    for part in parts:
        kind = f" {part.helicopter}" if len(kinds) > 1 else ""
        wait = f", each waiting {show_time(part.wait_s)} a cycle" if part.wait_s >= 1 else ""
        rate = show(part.litres_per_hour, "volume", display)
        words.append(f"{part.helicopters}{kind} at {sites[part.site].name} ({rate}/h{wait})")
    count, sent = sum(kind.count for kind in kinds), sum(part.helicopters for part in parts)
    idle = "" if sent == count else f"; {count - sent} would add nothing and stay out"
    return FleetPlan(
        count,
        parts,
        total,
        f"{count} helicopters deliver {show(total, 'volume', display)} an hour: {', '.join(words)}{idle}",
    )


def _one_a_water(sites: Sequence[AssessedSite]) -> list[int]:
    """Index the best point of each water body that has a route, best first."""
    best: dict[str, int] = {}
    for i, site in enumerate(sites):
        if site.route is not None:
            best.setdefault(site.point.water.id, i)
    return list(best.values())[:MOST_SITES]


def _scene_for(scene: Prepared, craft: Craft) -> Prepared:
    """Make the same ground ready for another helicopter and bucket."""
    incident = replace(
        scene.incident,
        helicopter=craft.helicopter,
        crew_kg=craft.crew_kg,
        fuel=craft.fuel,
        bucket=craft.bucket,
        fill=craft.fill,
        count=craft.count,
        more=(),
    )
    return prepared_for(scene, incident)
