"""The whole plan: all that a map, a brief, an exchange file or a neighbour needs, and nothing else."""

from __future__ import annotations

from datetime import date
from importlib import import_module
from typing import TYPE_CHECKING, Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from diproute.document.asked import (
    Air,
    Base,
    Bucket,
    CarriedLine,
    Craft,
    Default,
    Drop,
    DutySoFar,
    Helicopter,
    Limits,
    Search,
)
from diproute.document.fields import Hundredth, Moment, Part
from diproute.document.findings import Finding
from diproute.document.ground import Area, Ground, Layer, LeftOut, Obstacle, Terrain, Water
from diproute.document.legs import Leg
from diproute.document.outlook import Day, Doubt, Duty, Fleet
from diproute.document.site import Site, Thing
from diproute.document.what_if import WhatIf

if TYPE_CHECKING:
    import geopandas as gpd

FORMAT: Final = "diproute-plan/2"
RUN_DIGITS: Final = 16  # of the 64 of a SHA-256; two plans have one id by chance once in 10^19
RUN: Final = f"[0-9a-f]{{{RUN_DIGITS}}}"


class Plan(Part):
    """A plan, SI and degrees only, unknown is None."""

    format: Literal["diproute-plan/2"]
    run: Annotated[str, Field(pattern=f"^{RUN}$")] | None = None  # see `diproute.document.run`
    title: str
    invented: bool
    made_with: str
    when: Moment
    display: Literal["us", "metric"]
    air: Air
    declination_deg: Hundredth
    declination_sigma_deg: Hundredth
    declination_date: date
    drops: tuple[Drop, ...]
    base: Base | None = None
    helicopter: Helicopter
    bucket: Bucket
    more: tuple[Craft, ...] = ()
    duty_so_far: DutySoFar
    lines: tuple[CarriedLine, ...]
    limits: Limits
    search: Search
    defaults: tuple[Default, ...] = ()
    layers: tuple[Layer, ...] = ()
    ground: Ground
    terrain: Terrain
    waters: tuple[Water, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    avoid: tuple[Area, ...] = ()
    cautions: tuple[Finding, ...] = ()
    day: Day | None = None
    doubt: Doubt | None = None
    fleet: Fleet | None = None
    duty: Duty | None = None
    what_if: WhatIf | None = None
    ferries: tuple[Leg, ...] = ()
    sites: tuple[Site, ...] = ()

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        _check_names(self)
        return self

    @property
    def suitable(self) -> tuple[Site, ...]:
        """The sites that pass every limit, best first."""
        return tuple(site for site in self.sites if site.rank is not None)

    usable = suitable

    def to_geodataframe(self, kind: str = "sites") -> gpd.GeoDataFrame:
        """Give one kind of the plan's things as a table with geometry: see `diproute.document.frames`."""
        from diproute.document.frames import to_geodataframe

        return to_geodataframe(self, kind)

    def _repr_html_(self) -> str:
        """Show a notebook the ranking and the map."""
        # the one look upward: a notebook asks the plan itself for its picture, and `writing` draws from the plan
        return str(import_module("diproute.writing.notebook").notebook(self))

    def ferry(self, id_: str | None) -> Leg | None:
        """Give a ferry by its id; None for none."""
        return next((leg for leg in self.ferries if leg.id == id_), None)

    def site(self, id_: str) -> Site:
        """Give a site by its id.

        Raises
        ------
        KeyError
            There is none.
        """
        try:
            return next(site for site in self.sites if site.id == id_)
        except StopIteration:
            raise KeyError(id_) from None


def _check_names(plan: Plan) -> None:
    """Refuse a plan of which one part names another that is not there."""
    sites = [site.id for site in plan.sites]
    ferries = [leg.id for leg in plan.ferries]
    if len(set(sites)) < len(sites) or len(set(ferries)) < len(ferries):
        raise ValueError("two sites or two ferries have one id")
    if [site.rank for site in plan.suitable] != list(range(1, len(plan.suitable) + 1)):
        raise ValueError("the ranks do not count up from 1")
    ways = [way for s in plan.sites if s.ferry is not None for way in (s.ferry.from_base, s.ferry.to_base)]
    if not {way for way in ways if way is not None} <= set(ferries):
        raise ValueError("a site names a ferry that is not there")
    told = [hour.best for hour in plan.day.hours if hour.best is not None] if plan.day else []
    told += [one.site for hour in (plan.day.hours if plan.day else ()) for one in hour.sites]
    told += [one.site for one in (plan.doubt.sites if plan.doubt else ())]
    told += [one.site for one in (plan.fleet.parts if plan.fleet else ())]
    told += [one.site for one in (plan.what_if.sites if plan.what_if else ())]
    if not set(told) <= set(sites):
        raise ValueError("day, doubt, fleet or what_if name a site that is not there")
    things = [t.obstacle for s in plan.sites for t in (*s.things, *_governing(s)) if t.obstacle is not None]
    if things and max(things) >= len(plan.obstacles):
        raise ValueError("a site names an obstacle that is not there")


def _governing(site: Site) -> list[Thing]:
    asked = [site.line.governed_by, *(way.governed_by for way in (site.arrival, site.departure) if way is not None)]
    return [thing for thing in asked if thing is not None]
