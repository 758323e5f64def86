"""From a plan's sites to records: what was computed at the desk, for others to know before anybody was there.

Numbers are rounded to the safe side: needs, lifts, heights and altitudes up, depths and distances down.
"""

from __future__ import annotations

import math
from datetime import datetime
from typing import Final

from diproute.document.plan import Plan
from diproute.document.site import Direction, Site
from diproute.sharing.record import (
    Air,
    Climb,
    Computed,
    Hazard,
    Point,
    Properties,
    SiteRecord,
    Source,
    Water,
    Who,
    moment_text,
)
from diproute.sharing.seal import Sealed, in_one_line, seal

MOST_HAZARDS: Final = 200
_HAIR: Final = 1e-6  # 4.2 m is 42 dm, whatever its last digit
_SIGNS: Final = str.maketrans(dict.fromkeys("<>", "-") | {chr(code): " " for code in range(32)})


def desk_records(plan: Plan, who: Who, when: datetime, until: datetime) -> list[Sealed]:
    """Make a record of each site of a plan.

    Parameters
    ----------
    plan
        The plan.
    who
        Whose word the records are.
    when, until
        When they are made, and up to when they count; with their offset from UTC.

    Returns
    -------
    list of Sealed
        Suitable and refused sites alike, in the plan's order: what stands in a corridor is worth knowing either way.

    Raises
    ------
    ShareError
        The libraries for it are missing, or `until` is not after `when`.
    """
    with in_one_line():
        return [seal(_record(plan, site, who, when, until)) for site in plan.sites]


def _record(plan: Plan, site: Site, who: Who, when: datetime, until: datetime) -> SiteRecord:
    return SiteRecord(
        geometry=Point(coordinates=(_around(site.lon), site.lat)),
        properties=Properties(
            invented=plan.invented,
            name=_said(site.name),
            water=Water(name=_said(site.water), kind=_said(site.water_kind), salt=site.salt, id=_said(site.water_id)),
            how="desk",
            who=who,
            when=moment_text(when),
            until=moment_text(until),
            computed=_computed(plan, site),
        ),
    )


def _computed(plan: Plan, site: Site) -> Computed:
    return Computed(
        made_with=_said(plan.made_with),
        run=plan.run,
        bucket_hang_dm=_down(plan.bucket.length_m) or 0,
        level_low_dm=_down(site.level_low_m),
        level_high_dm=_up(site.elevation_m),
        vertical_datum=_said(plan.ground.vertical_datum),
        depth_dm=None if site.depth_m is None else max(0, _down(site.depth_m) or 0),
        line_needed_dm=_up(site.line.needed_m),
        climb=_climb(site.directions),
        open_ddeg=tuple((_tenths(sector.from_deg), _tenths(sector.to_deg)) for sector in site.sectors),
        hazards=_hazards(site),
        air=Air(
            when=moment_text(plan.when),
            temperature_dk=_up(site.temperature_k),
            pressure_altitude_dm=_up(site.pressure_altitude_m),
            density_altitude_dm=_up(site.density_altitude_m),
        ),
        sources=tuple(
            Source(
                role=layer.role,
                file=_said(layer.file),
                sha256=layer.digest,
                date=None if layer.current is None else _said(layer.current),
                vertical_datum=None if layer.vertical_datum is None else _said(layer.vertical_datum),
            )
            for layer in plan.layers
        ),
    )


def _hazards(site: Site) -> tuple[Hazard, ...]:
    """List the obstacles that ask for lift, and what asks for line; the trees of each course are in its lift."""
    asking = [thing for thing in (site.line.governed_by, *site.things) if thing is not None]
    named = [thing for thing in asking if thing.obstacle is not None or thing is site.line.governed_by]
    return tuple(
        dict.fromkeys(
            Hazard(
                what=_said(thing.what),
                distance_dm=max(0, _down(thing.distance_m) or 0),
                bearing_ddeg=_tenths(thing.bearing_deg),
                height_dm=_up(thing.height_m) or 0,
                assumed=thing.assumed_m is not None,
                unverified=thing.unverified,
            )
            for thing in named[:MOST_HAZARDS]
        )
    )


def _climb(directions: tuple[Direction, ...]) -> Climb | None:
    """Give the lifts by course; those over ground that is not known are left open.

    What is known of a corridor stands with the course that leads out over it: an approach looks at the opposite.
    """
    if not directions:
        return None
    known = {_tenths(one.course_deg): one.known for one in directions}
    return Climb(
        courses_ddeg=tuple(known),
        approach_dm=tuple(
            _up(one.arrival_lift_m) if known.get((_tenths(one.course_deg) + 1800) % 3600, False) else None
            for one in directions
        ),
        departure_dm=tuple(_up(one.departure_lift_m) if one.known else None for one in directions),
    )


def _up(value: float | None) -> int | None:
    return None if value is None else math.ceil(value * 10 - _HAIR)


def _down(value: float | None) -> int | None:
    return None if value is None else math.floor(value * 10 + _HAIR)


def _tenths(degrees: float) -> int:
    return round(degrees * 10) % 3600


def _around(lon_deg: float) -> float:
    """Give a longitude that was counted on past the antimeridian as others write it."""
    return round((lon_deg + 180) % 360 - 180, 6)


def _said(text: str) -> str:
    """Cut a name of a layer to what a record may hold; no name is said to be none."""
    return text.translate(_SIGNS).strip()[:200] or "no name"
