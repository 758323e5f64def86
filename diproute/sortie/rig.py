"""What flies and what hangs from it, and what it is sent to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diproute.constants import VERTICAL_DESCENT_M_S
from diproute.records import F64, Bucket, Helicopter, Incident, Line

Many = F64 | float  # one value, or an array of sites that broadcasts


@dataclass(frozen=True, slots=True)
class Rig:
    """A helicopter with its crew, the line that hangs from it and the bucket at its end."""

    helicopter: Helicopter
    bucket: Bucket
    line: Line
    crew_kg: float  # and whatever else is on board besides fuel
    lower_limit_m_s: float = VERTICAL_DESCENT_M_S.value  # straight down, whatever the helicopter's file says

    @classmethod
    def of(cls, incident: Incident, line: Line) -> Rig:
        """Take the incident's helicopter and bucket with one of the carried lines."""
        return cls(incident.helicopter, incident.bucket, line, incident.crew_kg, incident.limits.vertical_descent_m_s)

    @property
    def lower_m_s(self) -> float:
        """How fast the bucket comes straight down [m/s]."""
        return min(self.helicopter.lower_speed_m_s, self.lower_limit_m_s)

    @property
    def tare_kg(self) -> float:
        """Weight of everything below the hook but the water: bucket, line, gear [kg].

        The gear counts against the hook as well; where it rides in the cabin this errs on the light side.
        """
        return self.line.mass_kg + self.bucket.empty_kg + self.bucket.gear_kg

    @property
    def hanging_m(self) -> float:
        """From the hook to the bucket's bottom [m]."""
        return self.line.length_m + self.bucket.length_m


@dataclass(frozen=True, slots=True)
class Ferry:
    """The ways between the base and the work, flown empty. The times may be arrays of sites.

    ``home_from`` says where the way home begins: at the last drop, or at the dip after a whole last cycle.
    """

    out_s: Many
    home_s: Many
    refuel_s: float
    home_from: Literal["drop", "dip"] = "dip"


@dataclass(frozen=True, slots=True)
class Task:
    """What is lifted, what is kept back, and what the crew has fixed. Density and ferry may be arrays of sites.

    Parameters
    ----------
    water_kg_l
        Density of the water, fresh or salt, foam included [kg/L].
    reserve_s
        Time at the empty rate that stays in the tank [s].
    hover_margin_kg
        Power in hand wanted on top of the chart, as mass [kg].
    hover_margin_share
        The same as a share of the payload that the power allows, where no mass is given; it counts at every lift.
    fill
        Fill setting as a fraction when the crew has fixed it; None: chosen.
    fuel
        Starting fuel as a fraction of full tanks when the crew has fixed it; None: chosen.
    ferry
        The ways between base and work; None: no base.
    """

    water_kg_l: Many
    reserve_s: float
    hover_margin_kg: float = 0.0
    hover_margin_share: float = 0.0
    fill: float | None = None
    fuel: float | None = None
    ferry: Ferry | None = None

    @classmethod
    def of(cls, incident: Incident, water_kg_l: Many, ferry: Ferry | None = None) -> Task:
        """Take reserve, margin, fill and fuel as the incident asks for them."""
        limits = incident.limits
        fixed_kg = limits.hover_margin_kg
        share = limits.hover_margin_share if fixed_kg is None else 0.0
        return cls(water_kg_l, limits.reserve_s, fixed_kg or 0.0, share, incident.fill, incident.fuel, ferry)

    def fixed_fuel_kg(self, rig: Rig) -> float | None:
        """Give the starting fuel where the crew has fixed it [kg]; None: chosen."""
        return None if self.fuel is None else self.fuel * rig.helicopter.fuel_capacity_kg
