"""The what-if grid of a plan: what its sites bring in other winds and temperatures."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from diproute.document.fields import MOST, Hundredth, Index, MaybeCourse, Part
from diproute.document.findings import Finding

WholeRow = tuple[Annotated[int, Field(ge=0, le=int(MOST))] | None, ...]
HundredthRow = tuple[Annotated[float, Field(ge=0, le=MOST)] | None, ...]


class WhatIfSite(Part):
    """One site in every node of the grid, temperature by temperature, in each wind by wind.

    The gates of dip, drop and base are chosen anew for the wind of a node; the ways between them are those of the plan,
    and a few found along them, each timed for that wind. ``litres_per_hour`` null: the site is closed, and ``why`` is
    the index of the reason; everything else is null there, too.
    """

    site: str
    litres_per_hour: WholeRow  # with the best line, fill and fuel
    fill: HundredthRow
    line_m: HundredthRow
    approach_deg: WholeRow  # true
    departure_deg: WholeRow
    why: tuple[Index | None, ...]


class WhatIf(Part):
    """Every temperature with every wind. There is nothing between the nodes: the next one may be closed.

    ``wind_from_deg`` and ``wind_m_s`` stand beside each other, one entry a wind; the first is a calm, which has no
    direction. A wind is steady and the same at all heights. The strongest is the most in which the helicopter hovers.
    The ways between the gates stay those of the plan, or lie along them: a site that is closed for want of a leg
    (``no-leg-found``) may still be flown by a plan that is made in that weather.
    """

    wind_from_deg: tuple[MaybeCourse, ...]
    wind_m_s: tuple[Hundredth, ...]
    temperature_k: tuple[Hundredth, ...]  # at the station, rising
    reasons: tuple[Finding, ...] = ()
    sites: tuple[WhatIfSite, ...]

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if len(self.wind_from_deg) != len(self.wind_m_s):
            raise ValueError("the what-if grid has not as many wind directions as speeds")
        nodes = len(self.temperature_k) * len(self.wind_m_s)
        for site in self.sites:
            rows = (site.litres_per_hour, site.fill, site.line_m, site.approach_deg, site.departure_deg, site.why)
            if any(len(row) != nodes for row in rows):
                raise ValueError(f"a row of the what-if grid has not {nodes} entries")
            if max((index for index in site.why if index is not None), default=-1) >= len(self.reasons):
                raise ValueError("the what-if grid names a reason that is not there")
        return self
