"""Several helicopters: which sites they work so that together they deliver the most."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diproute.constants import DIP_SPACING_S
from diproute.flight.cycle import hole_seconds
from diproute.flight.flow import assign
from diproute.records import FleetPlan, Incident, Shared, SitePlan
from diproute.units import show, show_time

MOST_SITES = 40


def share_out(incident: Incident, sites: Sequence[SitePlan]) -> FleetPlan | None:
    """Send the incident's helicopters where together they deliver the most.

    One at a time is in the hole of a water's point, the next one a spacing later; points of the same water body closer
    together than the hover circle are not offered twice, since every kept point stands well apart.

    Parameters
    ----------
    incident
        With more than one helicopter.
    sites
        Of the plan, in its order.

    Returns
    -------
    FleetPlan or None
        None for one helicopter, or when no site is usable.
    """
    usable = [i for i, site in enumerate(sites) if site.rank is not None][:MOST_SITES]
    if incident.count < 2 or not usable:
        return None
    rows = [(sites[i].sortie, sites[i].cycle) for i in usable]
    flown = [(sortie, trip) for sortie, trip in rows if sortie is not None and trip is not None]
    litres = np.array([[sortie.litres / sortie.cycles for sortie, _ in flown]])
    loads = np.array([[3600.0 * sortie.cycles / sortie.seconds for sortie, _ in flown]])
    cycle_s = np.array([[trip.seconds for _, trip in flown]])
    hole_s = np.array([[hole_seconds(trip) for _, trip in flown]])
    sent = assign([incident.count], litres, loads, cycle_s, hole_s, DIP_SPACING_S.value)
    parts = tuple(
        Shared(i, int(sent.helicopters[0, c]), float(sent.litres_per_hour[0, c]), float(sent.wait_s[0, c]))
        for c, i in enumerate(usable)
        if sent.helicopters[0, c]
    )
    alone = flown[0][0].litres_per_hour
    total = sent.total_litres_per_hour
    words = ", ".join(
        f"{p.helicopters} at {sites[p.site].name}"
        + (f" (waiting {show_time(p.wait_s)} a cycle)" if p.wait_s >= 1 else "")
        for p in parts
    )
    return FleetPlan(
        incident.count,
        parts,
        total,
        f"{incident.count} helicopters deliver {show(total, 'volume', incident.display)} an hour, one alone "
        f"{show(alone, 'volume', incident.display)}: {words}",
    )
