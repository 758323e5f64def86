"""What can be lifted at one height, in the incident's air."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.errors import IncidentError
from diproute.planning.air import one_air
from diproute.records import Incident, Line, Load
from diproute.sortie.hover_chart import why_no_answer
from diproute.sortie.load import Place, load_sheet
from diproute.units import parse, show, show_share


@dataclass(frozen=True, slots=True)
class LoadHere:
    """A load calculation at one height."""

    elevation_m: float
    temperature_k: float
    pressure_altitude_m: float
    density_altitude_m: float
    load: Load | None  # None: the chart gives no answer
    because: str

    def as_dict(self) -> dict[str, Any]:
        """Give plain values, unknown as None, for JSON."""
        return _plain(asdict(self))  # type: ignore[no-any-return]


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return None if isinstance(value, float) and math.isnan(value) else value


def load_here(
    incident: Incident, *, elevation: str, line: str | None = None, fuel: str | None = None, salt: bool = False
) -> LoadHere:
    """Work the load calculation where the load hovers at `elevation`.

    Parameters
    ----------
    incident
        Gives the helicopter, the bucket, the lines and the air.
    elevation
        Height of the aircraft with the load below it, ``"1800 m"``.
    line
        One of the carried lines; None: the shortest.
    fuel
        Fuel on board as a share of full tanks; None: the incident's, or full tanks where diproute is to choose.
    salt
        True for sea water.

    Returns
    -------
    LoadHere
        With the highest fill setting that can be lifted, or the incident's own.

    Raises
    ------
    QuantityError
        A quantity that cannot be read.
    IncidentError
        A line that is not carried, or fuel above full tanks.
    """
    height = parse(elevation, "length", "--elevation")
    share = 1.0 if incident.fuel is None else incident.fuel
    if fuel is not None:
        share = parse(fuel, "ratio", "--fuel")
    if not 0 < share <= 1:
        raise IncidentError(f"--fuel: got {fuel!r}, wanted above 0 % and up to 100 %", where="--fuel", got=fuel)
    air = one_air(incident.weather.air, height)
    carried = _carried(incident, line)
    place = Place("hover", air.pressure_altitude_m, air.temperature_k)
    why = why_no_answer(incident.helicopter.hoge, air.pressure_altitude_m, air.temperature_k, display=incident.display)
    load = None
    if not why:
        load = load_sheet(
            incident.helicopter,
            incident.bucket,
            carried,
            crew_kg=incident.crew_kg,
            fuel_kg=share * incident.helicopter.fuel_capacity_kg,
            water_kg_l=(SEA_WATER_KG_L if salt else FRESH_WATER_KG_L).value,
            places=(place,),
            fill=incident.fill,
            hover_margin_kg=incident.limits.hover_margin_kg,
        )
    return LoadHere(
        height,
        air.temperature_k,
        air.pressure_altitude_m,
        air.density_altitude_m,
        load,
        why or _sentence(incident, load),
    )


def _carried(incident: Incident, line: str | None) -> Line:
    if line is None:
        return incident.lines[0]
    length = parse(line, "length", "--line")
    for carried in incident.lines:
        if math.isclose(carried.length_m, length, abs_tol=0.05):
            return carried
    names = ", ".join(show(carried.length_m, "line", incident.display) for carried in incident.lines)
    raise IncidentError(f"--line: {line} is not carried; carried: {names}", where="--line", got=line)


def _sentence(incident: Incident, load: Load | None) -> str:
    assert load is not None
    display = incident.display
    fill = f"{show_share(load.fill)} fill"
    if load.water_kg <= 0:
        return f"No lift: {show(-load.margin_kg, 'mass', display)} too heavy at {fill} ({load.governed_by})"
    water = f"{show(load.water_l, 'volume', display)} of water ({show(load.water_kg, 'mass', display)})"
    left = f"{show(load.margin_kg, 'mass', display)} left under the limit"
    return f"{water} at {fill}, held by the {load.governed_by}; {left}"
