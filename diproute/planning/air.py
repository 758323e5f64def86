"""The air at a height, from the reporting station's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diproute.constants import FT_M
from diproute.errors import IncidentError
from diproute.physics import atmosphere
from diproute.records import F64, Air


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


def air_at_heights(air: Air, elevation_m: npt.ArrayLike) -> tuple[F64, F64, F64]:
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


def warmth_and_pressure(air: Air, station_k: npt.ArrayLike, elevation_m: npt.ArrayLike) -> tuple[F64, F64]:
    """Give temperature and pressure altitude at heights for several temperatures at the station.

    Parameters
    ----------
    air
        The reporting station's air, but for its temperature.
    station_k
        Temperatures at the station [K]; shapes broadcast with the heights.
    elevation_m
        Heights [m AMSL]; NaN stays NaN.

    Returns
    -------
    tuple of arrays
        Temperature [K] and pressure altitude [m], as `air_at_heights` gives them.
    """
    height = np.asarray(elevation_m, dtype=float)
    temperature = atmosphere.site_temperature(height, station_k, air.measured_at_m, air.lapse_k_per_m)
    return np.asarray(temperature, dtype=float), np.asarray(
        atmosphere.pressure_altitude(height, air.qnh_pa), dtype=float
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


def air_at(air: Air, elevations_m: Sequence[float] = ()) -> tuple[AirAt, ...]:
    """Give the air at the heights asked for; with none, at the station and each 1000 ft above it up to 8000 ft.

    Parameters
    ----------
    air
        The reporting station's air.
    elevations_m
        Heights [m AMSL].
    """
    steps = [air.measured_at_m + 1000 * FT_M.value * step for step in range(9)]
    return tuple(one_air(air, height_m) for height_m in elevations_m or steps)


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of the air at a station, to make it up or to replace some of it; None: not told."""

    temperature_k: float | None = None
    measured_at_m: float | None = None  # height of the thermometer [m AMSL]
    qnh_pa: float | None = None
    dew_point_k: float | None = None
    lapse_k_per_m: float | None = None


def station_air(told: Told, air: Air | None = None) -> Air:
    """Put a station's air together from values, or from an incident's with some values replaced.

    Parameters
    ----------
    told
        The values.
    air
        The incident's; None: temperature, height and QNH must be told.

    Raises
    ------
    IncidentError
        No air and not enough values; a dew point above the temperature.
    """
    given = {name: value for name in Told.__slots__ if (value := getattr(told, name)) is not None}
    if air is None:
        needed = ("temperature_k", "measured_at_m", "qnh_pa")
        if missing := [name for name in needed if name not in given]:
            raise IncidentError(f"{', '.join(missing)} missing; give them, or the air of an incident")
        air = Air(*(given[name] for name in needed))
    changed = replace(air, **given)
    if changed.dew_point_k is not None and changed.dew_point_k > changed.temperature_k:
        raise IncidentError("the dew point is above the temperature; check both values")
    return changed
