"""What can be lifted at one height, in the incident's air."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from diproute.constants import FT_M
from diproute.errors import IncidentError
from diproute.planning.air import one_air
from diproute.records import Finding, Incident, Line, Load, LoadLine, density_kg_l, keys
from diproute.sortie.hover_chart import why_no_answer
from diproute.sortie.load import Place, load_sheet
from diproute.sortie.rig import Rig, Task
from diproute.units import show, show_share


@dataclass(frozen=True, slots=True)
class LoadHere:
    """A load calculation at one height."""

    elevation_m: float
    temperature_k: float
    pressure_altitude_m: float
    density_altitude_m: float
    load: Load | None  # None: the chart gives no answer
    why: Finding  # what is lifted and what holds it, or why nothing is

    def as_dict(self) -> dict[str, Any]:
        """Give plain values for JSON, rounded as in a plan, unknown as None; of `why` code, values and sentence."""
        from diproute.document.compose_site import compose_load
        from diproute.document.fields import rounded
        from diproute.document.findings import Finding as Told

        load = compose_load(self.load)
        return {
            "elevation_m": rounded(self.elevation_m, 1),
            "temperature_k": rounded(self.temperature_k, 2),
            "pressure_altitude_m": rounded(self.pressure_altitude_m, 1),
            "density_altitude_m": rounded(self.density_altitude_m, 1),
            "load": None if load is None else load.model_dump(mode="json"),
            **Told.of(self.why).model_dump(mode="json"),
        }


def load_here(
    incident: Incident,
    elevation_m: float,
    *,
    line_m: float | None = None,
    fuel: float | None = None,
    salt: bool = False,
) -> LoadHere:
    """Work the load calculation where the load hovers at a height.

    Parameters
    ----------
    incident
        Gives the helicopter, the bucket, the lines and the air.
    elevation_m
        Height of the aircraft with the load below it [m AMSL].
    line_m
        Length of one of the carried lines [m]; None: the shortest.
    fuel
        Fuel on board as a fraction of full tanks; None: the incident's, or full tanks where it leaves the fuel to the
        plan. The load sheet's line says which.
    salt
        True for sea water.

    Returns
    -------
    LoadHere
        With the highest fill setting that can be lifted, or the incident's own.

    Raises
    ------
    IncidentError
        A line that is not carried, to half a foot, or fuel outside 0 to 1.
    """
    if not math.isfinite(elevation_m):
        raise IncidentError(f"elevation: got {elevation_m!r}, wanted a height in metres", where="elevation")
    share, taken = _fuel(incident, fuel)
    rig = Rig.of(incident, _carried(incident, line_m))
    air = one_air(incident.weather.air, elevation_m)
    height = (elevation_m, air.temperature_k, air.pressure_altitude_m, air.density_altitude_m)
    unknown = why_no_answer(rig.helicopter.hoge, air.pressure_altitude_m, air.temperature_k)
    if unknown is not None:
        return LoadHere(*height, None, unknown)
    task = Task.of(incident, density_kg_l(salt))
    place = Place(keys.HERE, air.pressure_altitude_m, air.temperature_k)
    load = load_sheet(rig, task, (place,), share * rig.helicopter.fuel_capacity_kg)
    lines = tuple(LoadLine(line.name, line.mass_kg, taken) if line.name == "fuel" else line for line in load.lines)
    return LoadHere(*height, replace(load, lines=lines), _why(load))


def _fuel(incident: Incident, asked: float | None) -> tuple[float, Finding]:
    """Give the fuel on board as a fraction of full tanks, and say where it comes from."""
    if asked is not None:
        if not 0 < asked <= 1:
            raise IncidentError(
                f"fuel: got {show_share(asked)}, wanted above 0 % and up to 100 % of full tanks",
                where="fuel",
                got=asked,
            )
        return asked, Finding.of("sheet-fuel-asked", share=asked)
    if incident.fuel is not None:
        return incident.fuel, Finding.of("sheet-fuel-incident", share=incident.fuel)
    return 1.0, Finding.of("sheet-fuel-full")


def _carried(incident: Incident, line_m: float | None) -> Line:
    if line_m is None:
        return incident.lines[0]
    nearest = min(incident.lines, key=lambda carried: abs(carried.length_m - line_m))
    if abs(nearest.length_m - line_m) <= 0.5 * FT_M.value:  # lines are printed in whole feet
        return nearest
    lengths_m = (line_m, *(line.length_m for line in incident.lines))
    asked, *names = (show(length_m, "line", incident.display) for length_m in lengths_m)
    raise IncidentError(f"line: {asked} is not carried; carried: {', '.join(names)}", where="line", got=line_m)


def _why(load: Load) -> Finding:
    if load.water_kg <= 0:
        return Finding.of("too-heavy", excess_kg=-load.margin_kg, fill=load.fill, governed_by=load.governed_by)
    return Finding.of(
        "lifted",
        water_l=load.water_l,
        water_kg=load.water_kg,
        fill=load.fill,
        governed_by=load.governed_by,
        margin_kg=load.margin_kg,
    )
