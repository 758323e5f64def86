"""The whole plan: all that a map, a brief, an exchange file or a neighbour needs, and nothing else."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final, Literal

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
from diproute.document.fields import Hundredth, Part
from diproute.document.findings import Finding
from diproute.document.ground import Area, Ground, Layer, LeftOut, Obstacle, Terrain, Water
from diproute.document.legs import Leg
from diproute.document.outlook import Day, Doubt, Duty, Fleet
from diproute.document.site import Site

FORMAT: Final = "diproute-plan/2"


class Plan(Part):
    """A plan, SI and degrees only, unknown is None."""

    format: Literal["diproute-plan/2"] = FORMAT
    title: str
    invented: bool
    made_with: str
    when: datetime
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
    ferries: tuple[Leg, ...] = ()
    sites: tuple[Site, ...] = ()

    @property
    def suitable(self) -> tuple[Site, ...]:
        """The sites that pass every limit, best first."""
        return tuple(site for site in self.sites if site.rank is not None)

    usable = suitable

    def ferry(self, id_: str | None) -> Leg | None:
        """Give a ferry by its id; None for none."""
        return next((leg for leg in self.ferries if leg.id == id_), None)
