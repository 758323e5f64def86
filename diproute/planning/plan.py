"""The whole way from an incident to a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from diproute import progress
from diproute.constants import VORTEX_RING_M_S
from diproute.errors import LayerError
from diproute.planning.assessment import fly_kept, judge
from diproute.planning.duty import duty_plan
from diproute.planning.fleet import share_out
from diproute.planning.hours import day_of
from diproute.planning.later import fly_later
from diproute.planning.planned import Planned
from diproute.planning.prepared import Prepared, prepare_ground, prepared_again
from diproute.planning.ranking import no_power_in_hand, ordered
from diproute.planning.sensitivity import sensitivity_of, work_cases
from diproute.planning.shortlist import Shortlist, shortlist
from diproute.planning.sun import darkness
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.planning.what_if import what_if
from diproute.records import Assessed, Finding, Incident, Weather
from diproute.routing.first_run import await_compiled, begin_compiling
from diproute.sites.drop import climb_out
from diproute.sites.people import people_near
from diproute.version import __version__


def make_plan(incident: Incident, *, grid: bool = False) -> Planned:
    """Plan an incident: find, judge and rank its dip sites.

    Parameters
    ----------
    incident
        From `diproute.read_incident`.
    grid
        True works the what-if grid too, which takes about as long as the plan again: what it is in other winds and
        temperatures (docs/what-if.md). The command line asks for it.

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
    progress.at("reading the layers")
    begin_compiling()
    return plan_on(prepare_ground(incident), grid=grid)


def plan_on(prepared: Prepared, *cautions: Finding, grid: bool = False) -> Planned:
    """Plan on ground that is ready.

    Parameters
    ----------
    prepared
        From `prepare_ground` or `prepared_again`.
    cautions
        To stand before the plan's own.
    grid
        As for `make_plan`.
    """
    from diproute.document.compose import compose

    assessed = assess(prepared, prepared.incident.weather, grid=grid)
    progress.at("putting the plan together")
    return Planned(compose(replace(assessed, cautions=(*cautions, *assessed.cautions))), prepared)


def plan_again(planned: Planned, incident: Incident, changes: Mapping[str, Any], *, grid: bool = False) -> Planned:
    """Plan a changed incident, on the same ground as far as that can be.

    Parameters
    ----------
    planned
        The plan of the incident as it stands.
    incident
        The changed one.
    changes
        What was changed, by key: a caution of the plan says it.
    grid
        As for `make_plan`.
    """
    told = tuple(Finding.of("key-set", key=key, value=_told(value)) for key, value in changes.items())
    return plan_on(prepared_again(planned.prepared, incident), Finding.of("keys-set", changes=told), grid=grid)


def _told(value: Any) -> str:
    return value if isinstance(value, str) else repr(value)


def assess(prepared: Prepared, weather: Weather, *, grid: bool = False) -> Assessed:
    """Find, judge and rank the dip sites on ground that is ready, in the weather of one hour.

    Parameters
    ----------
    prepared
        From `prepare_ground`.
    weather
        Air and wind of the hour.
    grid
        As for `make_plan`.

    Returns
    -------
    Assessed
        The records of all stages.

    Raises
    ------
    LayerError
        No open water within the search.
    """
    progress.at("working out travel times")
    fields = solve_fields(prepared, weather)
    progress.at("looking at the shores")
    short = shortlist(fields)
    if not short.kept:
        left_out = len(prepared.opened.left_out)
        left = f"; {left_out} left out" if left_out else ""
        raise LayerError(
            f"layers.water: no open water lies within the search{left}; widen search.radius or add a layer",
            where="layers.water",
        )
    await_compiled()
    progress.at("flying the legs")
    flown = fly_kept(fields, short.kept)
    judged = [judge(fields, one) for one in flown]
    progress.at("asking what the uncertainty changes")
    cases = work_cases(fields, judged, flown)
    sites, order = ordered(judged, cases)
    flown = [flown[i] for i in order]
    progress.at("working through the day")
    later = fly_later(fields, flown)
    day = day_of(fields, sites, later)
    if grid:
        progress.at("asking what other weather changes")
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
        day=day,
        doubt=sensitivity_of(cases, order),
        fleet=share_out(fields, sites),
        duty=duty_plan(prepared.incident, sites),
        what_if=what_if(fields, sites, later) if grid else None,
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
    found += _descent(prepared.incident)
    found += _drops(fields)
    craft = prepared.incident.helicopter
    if craft.empty_belly_m_s is None and craft.empty_line_m_s is None:
        speed = fields.flyings.empty.airspeed_m_s
        found.append(Finding.of("empty-bucket-unstated", helicopter=craft.name, speed_m_s=speed))
    found.append(Finding.of("part-first-load"))
    if prepared.base is None:
        found.append(Finding.of("no-base"))
    return found


def _descent(incident: Incident) -> list[Finding]:
    """Tell how fast the bucket comes straight down where that is not as the helicopter's file says, or too fast."""
    craft, limit_m_s = incident.helicopter, incident.limits.vertical_descent_m_s
    flown_m_s, onset_m_s = min(craft.lower_speed_m_s, limit_m_s), VORTEX_RING_M_S.value
    found = []
    if craft.lower_speed_m_s > limit_m_s:
        asked = craft.lower_speed_m_s
        found.append(
            Finding.of(
                "descent-capped", limit_m_s=limit_m_s, asked_m_s=asked, helicopter=craft.name, onset_m_s=onset_m_s
            )
        )
    if flown_m_s >= onset_m_s:
        found.append(Finding.of("fast-descent", flown_m_s=flown_m_s, onset_m_s=onset_m_s))
    return found


def _drops(fields: TravelFields) -> list[Finding]:
    """Tell of drops that are hard to leave or to reach, and of people near them."""
    prepared, found = fields.prepared, []
    for places, ends in zip(prepared.drops, fields.drops, strict=True):
        for corridors in (ends.out, ends.into):
            why = climb_out(corridors, places.name, prepared.incident.limits.drop_lift_limit_m)
            found += [why] if why is not None else []
        for x, y in zip(places.x_m, places.y_m, strict=True):
            near = people_near(prepared.opened.avoid, prepared.incident.people_distance_m, float(x), float(y))
            if near is not None:
                found.append(Finding.of("drop-people", drop=places.name, **near.values))
                break
    return found
