"""The frozen records that pass between the rooms.

SI throughout, the unit in the name: metres, kilograms, seconds, pascals, kelvin, metres a second; litres for
volumes of water and fuel tanks; directions in degrees, true unless the name says ``magnetic``. What is not known
is None in a record and NaN in an array, never 0 and never a cheerful guess. ``x_m, y_m`` are metres in the
working transverse Mercator, whose centre is ``Grid.lat_deg, Grid.lon_deg``.
"""

from __future__ import annotations

from diproute.records.asked import (
    Air,
    Base,
    Bucket,
    Craft,
    Drop,
    Duty,
    Helicopter,
    HourlyWeather,
    HoverChart,
    HoverCurve,
    Incident,
    Layers,
    Limits,
    Line,
    Search,
    Weather,
    Wind,
)
from diproute.records.base import F32, F64, I64, U16, Criterion, Display, Finding, Value
from diproute.records.flight import (
    Crossing,
    CurvePoint,
    Cycle,
    CyclePart,
    Leg,
    LineChoice,
    Load,
    LoadLine,
    Route,
    Sortie,
)
from diproute.records.ground import (
    AvoidArea,
    DipPoint,
    Grid,
    Ground,
    LayerSource,
    LeftOut,
    Obstacle,
    WaterBody,
    WireCells,
    density_kg_l,
)
from diproute.records.outlook import Day, DutyPlan, FleetPlan, Hour, Sensitivity, Shared, SiteHour, Uncertainty
from diproute.records.plan import Assessed, AssessedSite
from diproute.records.seen import Mixed, Seen
from diproute.records.site import Approach, Clearance, Course, Governing, Sector

__all__ = [
    "F32",
    "F64",
    "I64",
    "U16",
    "Air",
    "Approach",
    "Assessed",
    "AssessedSite",
    "AvoidArea",
    "Base",
    "Bucket",
    "Clearance",
    "Course",
    "Craft",
    "Criterion",
    "Crossing",
    "CurvePoint",
    "Cycle",
    "CyclePart",
    "Day",
    "DipPoint",
    "Display",
    "Drop",
    "Duty",
    "DutyPlan",
    "Finding",
    "FleetPlan",
    "Governing",
    "Grid",
    "Ground",
    "Helicopter",
    "Hour",
    "HourlyWeather",
    "HoverChart",
    "HoverCurve",
    "Incident",
    "LayerSource",
    "Layers",
    "LeftOut",
    "Leg",
    "Limits",
    "Line",
    "LineChoice",
    "Load",
    "LoadLine",
    "Mixed",
    "Obstacle",
    "Route",
    "Search",
    "Sector",
    "Seen",
    "Sensitivity",
    "Shared",
    "SiteHour",
    "Sortie",
    "Uncertainty",
    "Value",
    "WaterBody",
    "Weather",
    "Wind",
    "WireCells",
    "density_kg_l",
]
