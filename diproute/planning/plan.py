"""The whole way from an incident to a plan."""

from __future__ import annotations

from dataclasses import replace

from diproute.errors import LayerError
from diproute.planning.assessment import fly_sites, judge
from diproute.planning.duty import duty_plan
from diproute.planning.fleet import share_out
from diproute.planning.hours import day_of
from diproute.planning.prepared import Prepared, prepare_ground
from diproute.planning.ranking import no_power_in_hand, ordered
from diproute.planning.sensitivity import sensitivity_of
from diproute.planning.shortlist import Shortlist, shortlist
from diproute.planning.sun import darkness
from diproute.planning.travel_fields import solve_fields
from diproute.records import Assessed, Finding, Incident, Weather
from diproute.version import __version__


def make_plan(incident: Incident) -> Assessed:
    """Plan an incident: find, judge and rank its dip sites.

    Parameters
    ----------
    incident
        From `diproute.read_incident`.

    Returns
    -------
    Assessed
        The ranked sites, then the refused ones with their reasons. The same input gives the same plan.

    Raises
    ------
    InputError
        A layer that cannot be used, or one that does not reach the search.
    """
    return plan_prepared(prepare_ground(incident), incident.weather)


def plan_prepared(scene: Prepared, weather: Weather) -> Assessed:
    """Plan a scene that is open already, in the weather of one hour.

    Parameters
    ----------
    scene
        From `prepare_ground`.
    weather
        Air and wind of the hour.

    Raises
    ------
    LayerError
        No open water within the search.
    """
    ways = solve_fields(scene, weather.wind)
    short = shortlist(scene, ways, weather)
    if not short.kept:
        left = f"; {len(scene.opened.left_out)} left out" if scene.opened.left_out else ""
        raise LayerError(f"layers.water: no open water lies within the search{left}; widen search.radius or add a "
                         "layer", where="layers.water")  # fmt: skip
    sites = ordered([judge(scene, weather, flown) for flown in fly_sites(scene, ways, weather, short.kept)])
    return Assessed(
        incident=replace(scene.incident, weather=weather),
        made_with=f"diproute {__version__}",
        ground=scene.ground,
        waters=scene.opened.waters,
        left_out=scene.opened.left_out,
        avoid=scene.opened.avoid,
        declination_deg=scene.declination.deg,
        declination_sigma_deg=scene.declination.sigma_deg,
        sites=sites,
        cautions=tuple(dict.fromkeys(_plan_cautions(scene, weather, short))),
        day=day_of(scene, sites),
        doubt=sensitivity_of(scene, sites),
        fleet=share_out(scene, weather, sites),
        duty=duty_plan(scene.incident, sites),
    )


def _plan_cautions(scene: Prepared, weather: Weather, short: Shortlist) -> list[Finding]:
    found = [*weather.cautions, *scene.opened.cautions]
    if scene.declination.caution is not None:
        found.append(Finding("compass", scene.declination.caution))
    dark = darkness(scene.ground.grid.lat_deg, scene.ground.grid.lon_deg, scene.incident.when)
    if dark is not None:
        found.append(dark)
    if short.not_kept:
        found.append(
            Finding(
                "not-assessed",
                f"{short.not_kept} more water bodies have a usable point but were not assessed: raise search.keep",
            )
        )
    bare = no_power_in_hand(scene.incident)
    if bare is not None:
        found.append(bare)
    if scene.base is None:
        found.append(
            Finding("no-base", "no base is given: neither ferry nor refuelling is counted in the water per hour")
        )
    return found
