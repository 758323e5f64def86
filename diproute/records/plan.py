"""A site with everything found out about it, and the whole plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from diproute.records.asked import Incident, Line
from diproute.records.base import Criterion, Finding
from diproute.records.flight import CurvePoint, Cycle, GoNoGo, LineChoice, Load, Route, Sortie
from diproute.records.ground import AvoidArea, DipPoint, Ground, LeftOut, WaterBody
from diproute.records.outlook import Day, DutyPlan, FleetPlan, Sensitivity, WhatIf
from diproute.records.site import Approach, Clearance


@dataclass(frozen=True, slots=True)
class AssessedSite:
    """A dip site with everything found out about it. What could not be computed is None."""

    id: str
    name: str
    point: DipPoint
    rank: int | None
    temperature_k: float
    pressure_altitude_m: float
    density_altitude_m: float
    clearance: Clearance
    approach: Approach | None
    line: Line | None
    load: Load | None
    route: Route | None
    cycle: Cycle | None
    sortie: Sortie | None
    criteria: tuple[Criterion, ...]
    curve: tuple[CurvePoint, ...]
    refused: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    line_choices: tuple[LineChoice, ...] = ()
    rank_band: int | None = None  # 1 for the sites that the first cannot be told from; None: refused
    go_no_go: GoNoGo | None = None
    blocked: Any = None  # what stands in the way of a refused route, shapely in working x, y

    @property
    def score(self) -> float:
        """Weighted mean of the criteria's points, 0 to 100."""
        weight = sum(c.weight for c in self.criteria)
        return sum(c.points * c.weight for c in self.criteria) / weight if weight else 0.0


@dataclass(frozen=True, slots=True)
class Assessed:
    """The whole answer as the stages left it; `diproute.document` makes the plan of it."""

    incident: Incident
    made_with: str
    ground: Ground
    waters: tuple[WaterBody, ...]
    left_out: tuple[LeftOut, ...]
    avoid: tuple[AvoidArea, ...]
    declination_deg: float
    declination_sigma_deg: float
    sites: tuple[AssessedSite, ...]  # ranked first, then the refused ones
    cautions: tuple[Finding, ...] = ()
    day: Day | None = None  # None: no hourly weather
    doubt: Sensitivity | None = None  # None: no usable site
    fleet: FleetPlan | None = None  # None: one helicopter
    duty: DutyPlan | None = None  # None: no usable site
    what_if: WhatIf | None = None  # None: no site that another weather may change

    @property
    def usable(self) -> tuple[AssessedSite, ...]:
        """The sites that pass every limit, best first."""
        return tuple(site for site in self.sites if site.rank is not None)
