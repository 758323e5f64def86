"""What does not change with the weather: layers, the ground made ready, the airspace, the travel-time fields' ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from diproute.physics.magnetics import Declination, declination
from diproute.reading.layers import Opened, open_layers
from diproute.records import F64, Ground, Incident
from diproute.routing.airspace import Airspace, RouteRules
from diproute.routing.airspace import prepare as prepare_airspace
from diproute.routing.audit import Vectors, prepare_audit
from diproute.sites.clearance import Heights
from diproute.sites.clearance import prepare as prepare_heights
from diproute.sites.drop import survey_drop
from diproute.sites.rules import ClearanceRules


@dataclass(frozen=True, slots=True)
class Places:
    """Points that legs run to: a drop's, or the base. Arrays have one entry a point."""

    name: str
    share: float
    x_m: F64
    y_m: F64
    bottom_m: F64  # of the bucket there [m AMSL]
    line_needed_m: float = 0.0  # the shortest line that keeps hook and rotor clear there; NaN: not known


@dataclass(frozen=True, slots=True)
class Prepared:
    """An incident's ground with everything that is prepared once for any number of sites and hours."""

    incident: Incident
    opened: Opened
    rules: ClearanceRules
    heights: Heights
    airspace: Airspace
    drops: tuple[Places, ...]
    base: Places | None
    declination: Declination
    vectors: Vectors  # areas and wires, for the audit of every leg

    @property
    def ground(self) -> Ground:
        """The working grid."""
        return self.opened.ground

    @property
    def shares(self) -> F64:
        """Share of the loads that each drop gets."""
        return np.array([drop.share for drop in self.drops])

    @property
    def main_drop(self) -> int:
        """Index of the drop with the largest share, of equal ones the first: approaches turn to and from its legs."""
        return int(np.argmax(self.shares))

    @property
    def drop_line_m(self) -> float:
        """The shortest line that is long enough at every drop [m]; NaN: not known at one."""
        return float(np.max([drop.line_needed_m for drop in self.drops]))

    @property
    def longest_hanging_m(self) -> float:
        """The longest carried line with the bucket below it [m]."""
        return self.incident.lines[-1].length_m + self.incident.bucket.length_m


def prepare_ground(incident: Incident) -> Prepared:
    """Read the layers and make the ground and the airspace ready.

    Parameters
    ----------
    incident
        From `diproute.read_incident`.

    Raises
    ------
    LayerError
        A layer that cannot be used, as `diproute.reading.layers.open_layers`.
    RangeError
        A date outside the magnetic model.
    """
    return _ready(incident, open_layers(incident))


def prepared_again(prepared: Prepared, incident: Incident) -> Prepared:
    """Make the ground ready for a changed incident.

    The layers are read again only where the change moves what is read of them: other files, drops, base, radius,
    corridor or date. Where nothing but the weather changes, everything stays.

    Parameters
    ----------
    prepared
        From `prepare_ground`.
    incident
        The changed one.
    """
    before = prepared.incident
    if _read_of(before) != _read_of(incident):
        return _ready(incident, open_layers(incident))
    # told as text: an empty cell of a hover chart is NaN, which is not equal to itself
    if repr(replace(before, weather=incident.weather)) == repr(incident):
        return replace(prepared, incident=incident)
    return _ready(incident, prepared.opened)


def _read_of(incident: Incident) -> tuple[Any, ...]:
    """Give all that decides what is read of the layers, and what is said of them."""
    weather = incident.weather
    return (
        incident.layers, incident.drops, incident.base, incident.search.radius_m, incident.limits.corridor_length_m,
        incident.when, weather.station, weather.file, weather.air.measured_at_m,
    )  # fmt: skip


def _ready(incident: Incident, opened: Opened) -> Prepared:
    """Make everything ready that the weather does not change."""
    ground, limits = opened.ground, incident.limits
    rules, heights, airspace = _made_ready(incident, opened)
    drops = tuple(
        _surveyed(ground, heights, rules, Places(d.name, d.share, d.x_m, d.y_m, d.x_m), limits.drop_height_m)
        for d in opened.drops
    )
    base = None
    if incident.base is not None:
        x, y = (np.atleast_1d(a) for a in opened.frame.to_xy(incident.base.lon_deg, incident.base.lat_deg))
        base = _surveyed(ground, heights, rules, Places("base", 1.0, x, y, x), limits.least_lift_m)
        base = replace(base, line_needed_m=0.0)  # the bucket stands on the ground there
    middle = float(np.mean(np.concatenate([drop.bottom_m for drop in drops])))
    variation = declination(
        ground.grid.lat_deg, ground.grid.lon_deg, 0.0 if np.isnan(middle) else middle, incident.when
    )
    vectors = prepare_audit(airspace)
    return Prepared(incident, opened, rules, heights, airspace, drops, base, variation, vectors)


def _surveyed(ground: Ground, heights: Heights, rules: ClearanceRules, places: Places, height_m: float) -> Places:
    """Hang the bucket over the highest thing round each place, and find the line that it asks for."""
    found = survey_drop(ground, heights, rules, (places.x_m, places.y_m), height_m)
    return replace(places, bottom_m=found.bottom_m, line_needed_m=found.line_needed_m)


def prepared_for(prepared: Prepared, incident: Incident) -> Prepared:
    """Make the same layers ready for another helicopter or bucket.

    Parameters
    ----------
    prepared
        From `prepare_ground`.
    incident
        That of `prepared` but for helicopter, bucket, crew, fuel and fill.
    """
    rules, heights, airspace = _made_ready(incident, prepared.opened)
    limits, ground = incident.limits, prepared.ground
    drops = tuple(_surveyed(ground, heights, rules, drop, limits.drop_height_m) for drop in prepared.drops)
    vectors = prepare_audit(airspace)
    return replace(
        prepared, incident=incident, rules=rules, heights=heights, airspace=airspace, drops=drops, vectors=vectors
    )


def _made_ready(incident: Incident, opened: Opened) -> tuple[ClearanceRules, Heights, Airspace]:
    ground, limits = opened.ground, incident.limits
    rules = ClearanceRules.from_limits(
        limits,
        incident.hover_circle_m,
        incident.helicopter.rotor_diameter_m,
        incident.bucket.length_m,
        ground.vertical_error_m,
        limits.surface,
    )
    hanging = incident.lines[-1].length_m + incident.bucket.length_m
    route_rules = RouteRules.of(limits, ground.vertical_error_m, hanging)
    return rules, prepare_heights(ground, rules), prepare_airspace(ground, opened.avoid, route_rules)
