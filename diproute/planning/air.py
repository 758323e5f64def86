"""The air at a height, from the reporting station's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

import numpy as np
import numpy.typing as npt

from diproute.constants import FT_M
from diproute.errors import IncidentError
from diproute.physics import atmosphere
from diproute.records import Air, Display
from diproute.units import parse


@dataclass(frozen=True, slots=True)
class AirAt:
    """The air at one height."""

    elevation_m: float
    temperature_k: float
    standard_temperature_k: float  # of the standard atmosphere at this pressure altitude
    pressure_pa: float
    pressure_altitude_m: float
    density_altitude_m: float
    lapse_k_per_m: float  # the rate that carried the station's temperature here


def air_at_heights(
    air: Air, elevation_m: npt.ArrayLike
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Give temperature, pressure altitude and density altitude at many heights.

    Parameters
    ----------
    air
        The reporting station's air.
    elevation_m
        Heights [m AMSL], any shape.

    Returns
    -------
    tuple of arrays
        Temperature [K], pressure altitude [m], density altitude [m], each of the shape of `elevation_m`.
    """
    height = np.asarray(elevation_m, dtype=float)
    temperature = atmosphere.site_temperature(height, air.temperature_k, air.measured_at_m, air.lapse_k_per_m)
    pressure = atmosphere.station_pressure(height, air.qnh_pa)
    # away from the station the air cannot hold more vapour than the station's dew point says, nor be above saturation
    dew = None if air.dew_point_k is None else np.minimum(air.dew_point_k, temperature)
    return (
        np.asarray(temperature, dtype=float),
        np.asarray(atmosphere.pressure_altitude(height, air.qnh_pa), dtype=float),
        np.asarray(atmosphere.density_altitude(pressure, temperature, dew), dtype=float),
    )


def one_air(air: Air, elevation_m: float) -> AirAt:
    """Give the air at one height [m AMSL]."""
    temperature, pressure_altitude, density_altitude = (float(a) for a in air_at_heights(air, elevation_m))
    return AirAt(
        elevation_m,
        temperature,
        float(atmosphere.standard_temperature(pressure_altitude)),
        float(atmosphere.station_pressure(elevation_m, air.qnh_pa)),
        pressure_altitude,
        density_altitude,
        float(atmosphere.lapse_used(elevation_m, air.measured_at_m, air.lapse_k_per_m)),
    )


def air_at(air: Air, elevations: Sequence[str]) -> tuple[AirAt, ...]:
    """Give the air at the heights asked for; with none, at the station and each 1000 ft above it up to 8000 ft.

    Parameters
    ----------
    air
        The reporting station's air.
    elevations
        Heights with their unit, ``"5883 ft"``.

    Raises
    ------
    QuantityError
        A height without a unit, or with an unknown one.
    """
    if elevations:
        heights = [parse(text, "length", "--elevation") for text in elevations]
    else:
        heights = [air.measured_at_m + 1000 * FT_M.value * step for step in range(9)]
    return tuple(one_air(air, height) for height in heights)


def asked_air(
    incident: Path | None,
    elevations: Sequence[str],
    *,
    temperature: str | None,
    measured_at: str | None,
    qnh: str | None,
    dew_point: str | None,
    lapse: str | None,
    display: str | None,
) -> tuple[Air, Display]:
    """Put the air together from an incident file, from values, or from a file with some values replaced.

    Raises
    ------
    IncidentError
        Neither a file nor enough values.
    QuantityError
        A value without a unit, or an impossible one.
    """
    shown: Display = "us"
    if incident is not None:
        from diproute.reading.incident import read_incident

        asked = read_incident(incident)
        air, shown = asked.weather.air, asked.display
    elif temperature is None or qnh is None or not elevations:
        missing = [
            name
            for name, value in (("--elevation", elevations), ("--temperature", temperature), ("--qnh", qnh))
            if not value
        ]
        raise IncidentError(
            f'{", ".join(missing)} missing; give an incident file, or --elevation "5883 ft" --temperature "70 degF" '
            '--qnh "30.10 inHg"'
        )
    else:
        air = Air(float("nan"), parse(elevations[0], "length", "--elevation"), float("nan"))
    if temperature is not None:
        air = replace(air, temperature_k=parse(temperature, "temperature", "--temperature"))
    if measured_at is not None:
        air = replace(air, measured_at_m=parse(measured_at, "length", "--measured-at"))
    if qnh is not None:
        air = replace(air, qnh_pa=parse(qnh, "pressure", "--qnh"))
    if dew_point is not None:
        air = replace(air, dew_point_k=parse(dew_point, "temperature", "--dew-point"))
    if lapse is not None:
        air = replace(air, lapse_k_per_m=parse(lapse, "lapse", "--lapse"))
    if air.dew_point_k is not None and air.dew_point_k > air.temperature_k:
        raise IncidentError("the dew point is above the temperature; check both values")
    return air, cast(Display, display) if display else shown
