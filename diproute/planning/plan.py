"""The whole way from an incident to a plan."""

from __future__ import annotations

from dataclasses import replace

from diproute.errors import LayerError
from diproute.planning.assessment import fly_kept, judge
from diproute.planning.duty import duty_plan
from diproute.planning.fleet import share_out
from diproute.planning.hours import day_of
from diproute.planning.planned import Planned
from diproute.planning.prepared import Prepared, prepare_ground
from diproute.planning.ranking import no_power_in_hand, ordered
from diproute.planning.sensitivity import sensitivity_of, work_cases
from diproute.planning.shortlist import Shortlist, shortlist
from diproute.planning.sun import darkness
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.records import Assessed, Finding, Incident, Weather
from diproute.version import __version__


def make_plan(incident: Incident) -> Planned:
    """Plan an incident: find, judge and rank its dip sites.

    Parameters
    ----------
    incident
        From `diproute.read_incident`.

    Returns
    -------
    Planned
        The plan as a document (the ranked sites, then the refused ones with their reasons) with the ground that it
        was made on. The same input gives the same plan.

    Raises
    ------
    InputError
        A layer that cannot be used, or one that does not reach the search.
    """
    from diproute.document.compose import compose

    prepared = prepare_ground(incident)
    return Planned(compose(assess(prepared, incident.weather)), prepared)


def assess(prepared: Prepared, weather: Weather) -> Assessed:
    """Find, judge and rank the dip sites on ground that is ready, in the weather of one hour.

    Parameters
    ----------
    prepared
        From `prepare_ground`.
    weather
        Air and wind of the hour.

    Returns
    -------
    Assessed
        The records of all stages.

    Raises
    ------
    LayerError
        No open water within the search.
    """
    fields = solve_fields(prepared, weather)
    short = shortlist(fields)
    if not short.kept:
        left_out = len(prepared.opened.left_out)
        left = f"; {left_out} left out" if left_out else ""
        raise LayerError(
            f"layers.water: no open water lies within the search{left}; widen search.radius or add a layer",
            where="layers.water",
        )
    flown = fly_kept(fields, short.kept)
    judged = [judge(fields, one) for one in flown]
    cases = work_cases(fields, judged, flown)
    sites, order = ordered(judged, cases)
    flown = [flown[i] for i in order]
    return Assessed(
        incident=replace(prepared.incident, weather=weather),
        made_with=f"diproute {__version__}",
        ground=prepared.ground,
        waters=prepared.opened.waters,
        left_out=prepared.opened.left_out,
        avoid=prepared.opened.avoid,
        declination_deg=prepared.declination.deg,
        declination_sigma_deg=prepared.declination.sigma_deg,
        sites=sites,
        cautions=tuple(dict.fromkeys(_plan_cautions(fields, short))),
        day=day_of(fields, sites, flown),
        doubt=sensitivity_of(cases, order),
        fleet=share_out(fields, sites),
        duty=duty_plan(prepared.incident, sites),
    )


def _plan_cautions(fields: TravelFields, short: Shortlist) -> list[Finding]:
    prepared, weather = fields.prepared, fields.weather
    grid, magnetic = prepared.ground.grid, prepared.declination
    found = [*weather.cautions, *prepared.opened.cautions]
    if magnetic.zone is not None:
        nt = round(magnetic.horizontal_nt)
        found.append(Finding.of("compass", blackout=magnetic.zone == "blackout", horizontal_nt=nt))
    dark = darkness(grid.lat_deg, grid.lon_deg, prepared.incident.when)
    if dark is not None:
        found.append(dark)
    if short.not_kept:
        found.append(Finding.of("not-assessed", waters=short.not_kept))
    bare = no_power_in_hand(prepared.incident)
    if bare is not None:
        found.append(bare)
    if prepared.base is None:
        found.append(Finding.of("no-base"))
    return found
