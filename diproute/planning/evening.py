"""The end of the day: the last departure for a whole fuel cycle, and the last shortened one before the light goes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from diproute.planning.scenarios import Flights, Scenarios
from diproute.records import Hour, Incident, LastShort


def last_whole(
    incident: Incident, hours: Sequence[Hour], rows: dict[int, int], scenarios: Scenarios, last: datetime
) -> tuple[datetime, int] | None:
    """Find the latest departure from which a whole fuel cycle ends by the last landing.

    The cycle is that of the best site of the hour in which it begins.

    Parameters
    ----------
    incident
        For the time on the ground that a fuel cycle ends with.
    hours
        Of the day, in their order.
    rows
        From a site's index to its row among the scenarios.
    scenarios
        All rows in all hours.
    last
        On the ground by then.

    Returns
    -------
    tuple or None
        The departure and the site; None where no hour has one.
    """
    ground_s = 0.0 if incident.base is None else incident.base.refuel_s
    for h in range(len(hours) - 1, -1, -1):
        best = hours[h].best
        if best is None or best not in rows:
            continue
        airborne = timedelta(seconds=math.ceil(float(scenarios.seconds[rows[best], h]) - ground_s))
        departure = last - airborne
        if h + 1 < len(hours):
            departure = min(departure, hours[h + 1].when)
        if departure >= hours[h].when:
            return departure, best
    return None


def last_short(
    incident: Incident, hours: Sequence[Hour], rows: dict[int, int], worked: tuple[Scenarios, Flights], last: datetime,
    whole: tuple[datetime, int],
) -> LastShort | None:  # fmt: skip
    """Find the fuel cycle that still fits between the last whole one and the last landing.

    Its fuel is what its ways and cycles burn at the largest rate of the helicopter's file, with the reserve: on the
    safe side, and never more than the hour's own best fuel, so that the load still hovers.

    Parameters
    ----------
    incident, hours, rows, last
        As for `last_whole`.
    worked
        The scenarios and the flights that they come from.
    whole
        From `last_whole`.

    Returns
    -------
    LastShort or None
        None without a base, or where not one load fits.
    """
    scenarios, flights = worked
    if incident.base is None or flights.out_s is None or flights.home_s is None:
        return None
    before = max(h for h, hour in enumerate(hours) if hour.when <= whole[0] and hour.best == whole[1])
    airborne_s = float(scenarios.seconds[rows[whole[1]], before])  # with the refuelling after it
    back = whole[0] + timedelta(seconds=math.ceil(airborne_s))
    h = max(h for h, hour in enumerate(hours) if hour.when <= back)
    best = hours[h].best
    if best is None or best not in rows or back >= last:
        return None
    row, craft = rows[best], incident.helicopter
    ways_s = float(flights.out_s[row, h] + flights.home_s[row, h])
    cycle_s, most_kg = float(scenarios.cycle_s[row, h]), float(scenarios.fuel_kg[row, h])
    rate = max(craft.burn_hover_kg_s, craft.burn_loaded_kg_s, craft.burn_empty_kg_s)
    kept_kg = incident.limits.reserve_s * craft.burn_empty_kg_s
    by_light = ((last - back).total_seconds() - ways_s) / cycle_s
    by_fuel = ((most_kg - kept_kg) / rate - ways_s) / cycle_s
    cycles = int(np.floor(min(by_light, by_fuel) + 1e-9))
    if not cycles >= 1:
        return None
    flown_s = ways_s + cycles * cycle_s
    return LastShort(best, back, cycles, kept_kg + rate * flown_s)
