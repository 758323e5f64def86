"""How legs are flown: airspeeds and rates of climb and descent, on the safe side of the helicopter's file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diproute.errors import RangeError
from diproute.planning.air import air_at_heights
from diproute.planning.prepared import Prepared
from diproute.records import Air, Helicopter, Incident, RateTable
from diproute.routing.speed_model import Flying


@dataclass(frozen=True, slots=True)
class Flyings:
    """How a helicopter flies with the full bucket, and how with the empty one."""

    loaded: Flying
    empty: Flying


def flyings(prepared: Prepared, air: Air) -> Flyings:
    """Give how the legs of a plan are flown in some air.

    One rate serves a whole field, so that of a table is taken at the heaviest the aircraft may be and at the highest
    density altitude of the places worked, the clearance en route above them. The empty bucket is flown no faster than
    the limit that its file gives for the belly hook or a line, the lower of the two where both are carried.

    Parameters
    ----------
    prepared
        The ground made ready, with drops and waters.
    air
        At the station.

    Raises
    ------
    RangeError
        A table that ends below the mass or the density altitude that is asked for.
    """
    incident = prepared.incident
    craft = incident.helicopter
    heavy = loaded_kg(incident)
    light = empty_kg(incident)
    density_altitude_m = 0.0
    if craft.climb_table is not None or craft.descent_table is not None:
        density_altitude_m = highest_density_altitude_m(prepared, air)

    def flying(speed: float, climb: float, descent: float, mass_kg: float) -> Flying:
        return Flying(
            speed,
            _rate(craft, craft.climb_table, climb, (mass_kg, density_altitude_m)),
            _rate(craft, craft.descent_table, descent, (mass_kg, density_altitude_m)),
            craft.turn_speed_m_s,
            craft.turn_bank_deg,
        )

    return Flyings(
        flying(craft.speed_loaded_m_s, craft.climb_loaded_m_s, craft.descent_loaded_m_s, heavy),
        flying(empty_speed_m_s(incident), craft.climb_empty_m_s, craft.descent_empty_m_s, light),
    )


def empty_speed_m_s(incident: Incident) -> float:
    """Give the airspeed with the empty bucket: the file's, under its limits for the belly hook and for a line [m/s]."""
    craft = incident.helicopter
    speeds = [craft.speed_empty_m_s]
    if craft.empty_belly_m_s is not None and any(line.length_m == 0.0 for line in incident.lines):
        speeds.append(craft.empty_belly_m_s)
    if craft.empty_line_m_s is not None and any(line.length_m > 0.0 for line in incident.lines):
        speeds.append(craft.empty_line_m_s)
    return min(speeds)


def loaded_kg(incident: Incident) -> float:
    """Give the heaviest that the aircraft may be with the load [kg]."""
    craft, bucket = incident.helicopter, incident.bucket
    full = craft.equipped_kg + incident.crew_kg + craft.fuel_capacity_kg + _hung_kg(incident) + 1.03 * bucket.capacity_l
    return min(full, craft.max_gross_external_kg)


def empty_kg(incident: Incident) -> float:
    """Give the heaviest that the aircraft may be with the empty bucket [kg]."""
    craft = incident.helicopter
    return craft.equipped_kg + incident.crew_kg + craft.fuel_capacity_kg + _hung_kg(incident)


def _hung_kg(incident: Incident) -> float:
    return incident.bucket.empty_kg + incident.bucket.gear_kg + max(line.mass_kg for line in incident.lines)


def highest_density_altitude_m(prepared: Prepared, air: Air) -> float:
    """Give the highest density altitude over waters, drops and base, the clearance en route above them [m]."""
    places = [*prepared.drops, *([] if prepared.base is None else [prepared.base])]
    heights = [*(water.level_high_m for water in prepared.opened.waters), *np.concatenate([p.bottom_m for p in places])]
    known = np.array([height for height in heights if np.isfinite(height)])
    over = known.max(initial=0.0) + prepared.incident.limits.cruise_clearance_m + prepared.longest_hanging_m
    return float(air_at_heights(air, over)[2])


def _rate(craft: Helicopter, table: RateTable | None, number: float, at: tuple[float, float]) -> float:
    """Read a rate: the one number, or the table at a mass and a density altitude, its least value up to them."""
    if table is None:
        return number
    mass_kg, density_altitude_m = at
    masses, heights = np.array(table.mass_kg), np.array(table.density_altitude_m)
    if mass_kg > masses[-1] + 1e-9 or density_altitude_m > heights[-1] + 1e-9:
        raise RangeError(
            f"{craft.name}: the rates end at {masses[-1]:.0f} kg and {heights[-1]:.0f} m of density altitude, and "
            f"{mass_kg:.0f} kg at {density_altitude_m:.0f} m are asked for; extend the table",
            where="helicopter.climb_table",
        )
    rates = np.array(table.rate_m_s)
    by_height = np.array([np.interp(density_altitude_m, heights, column) for column in rates.T])
    return float(np.interp(mass_kg, masses, by_height))
