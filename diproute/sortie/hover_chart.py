"""Reading a flight manual's chart for hovering out of ground effect (HOGE).

A chart is a set of curves, one a temperature: gross mass against pressure altitude. Its answer is bilinear, first
along the two neighbouring curves, then between them. Outside of it there is no answer, on the cold and the low side
too: an engine or a gearbox may have a limit there that nobody can guess from the rest of the chart.

Between the points of a chart that follows constant power (mass as the cube root of air density) a straight line
lies above the curve, by 0.05 % of the mass at most when the points stand 4000 ft and 20 degC apart: 1.3 kg in 2750.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F64, Finding, HoverChart
from diproute.units import UNITS

_KELVIN = UNITS["temperature"]["degC"][1]


def hover_limit(chart: HoverChart, pressure_altitude_m: npt.ArrayLike, temperature_k: npt.ArrayLike) -> F64:
    """Gross mass that hovers out of ground effect, read from the chart.

    Parameters
    ----------
    chart
        The curves, temperatures rising, each with rising pressure altitudes.
    pressure_altitude_m
        Pressure altitude of the aircraft [m], any shape.
    temperature_k
        Outside air temperature [K], any shape that broadcasts with the altitude.

    Returns
    -------
    numpy.ndarray
        Gross mass [kg]; NaN outside the chart, next to one of its empty cells, or where an input is NaN.

    Raises
    ------
    RangeError
        The chart has no curve, or its temperatures or altitudes do not rise.

    Notes
    -----
    Linear in pressure altitude on the two neighbouring curves, then linear in temperature. The flight manual is the
    source; this only reads it.
    """
    _check(chart)
    altitude, temperature = np.broadcast_arrays(
        np.asarray(pressure_altitude_m, dtype=np.float64), np.asarray(temperature_k, dtype=np.float64)
    )
    temperatures = np.array([curve.temperature_k for curve in chart.curves])
    on_curve = np.stack(
        [np.interp(altitude, c.pressure_altitude_m, c.mass_kg, left=np.nan, right=np.nan) for c in chart.curves]
    )
    upper = np.clip(np.searchsorted(temperatures, temperature, side="left"), 0, len(temperatures) - 1)
    lower = np.maximum(upper - 1, 0)
    high = np.take_along_axis(on_curve, upper[np.newaxis], axis=0)[0]
    low = np.take_along_axis(on_curve, lower[np.newaxis], axis=0)[0]
    span = temperatures[upper] - temperatures[lower]
    share = np.divide(temperature - temperatures[lower], span, out=np.zeros(span.shape), where=span > 0)
    between = low + share * (high - low)
    answer = np.where(temperature == temperatures[upper], high, between)  # on a curve the other one has no say
    inside = (temperature >= temperatures[0]) & (temperature <= temperatures[-1])
    return np.where(inside, answer, np.nan)


def why_no_answer(chart: HoverChart, pressure_altitude_m: float, temperature_k: float) -> Finding | None:
    """Name the edge of the chart beyond which a place lies.

    Parameters
    ----------
    chart
        The curves.
    pressure_altitude_m
        Pressure altitude [m].
    temperature_k
        Outside air temperature [K].

    Returns
    -------
    Finding or None
        ``chart-too-hot``, ``chart-too-cold``, ``chart-too-high``, ``chart-too-low``, ``chart-empty-cell`` or
        ``chart-air-unknown``; None when the chart does answer.

    Raises
    ------
    RangeError
        As `hover_limit`.
    """
    if not np.isnan(hover_limit(chart, pressure_altitude_m, temperature_k)):
        return None
    if np.isnan(pressure_altitude_m) or np.isnan(temperature_k):
        return Finding.of("chart-air-unknown")
    coldest, hottest = chart.curves[0], chart.curves[-1]
    if temperature_k > hottest.temperature_k:
        return Finding.of("chart-too-hot", temperature_k=temperature_k, hottest_k=hottest.temperature_k)
    if temperature_k < coldest.temperature_k:
        return Finding.of("chart-too-cold", temperature_k=temperature_k, coldest_k=coldest.temperature_k)
    above = next(c for c in chart.curves if c.temperature_k >= temperature_k)
    below = next(c for c in reversed(chart.curves) if c.temperature_k <= temperature_k)
    for curve in (above, below):
        foot, top = curve.pressure_altitude_m[0], curve.pressure_altitude_m[-1]
        at = {"pressure_altitude_m": pressure_altitude_m, "curve_k": curve.temperature_k}
        if pressure_altitude_m > top:
            return Finding.of("chart-too-high", **at, top_m=top)
        if pressure_altitude_m < foot:
            return Finding.of("chart-too-low", **at, foot_m=foot)
    return Finding.of("chart-empty-cell", pressure_altitude_m=pressure_altitude_m, temperature_k=temperature_k)


def _check(chart: HoverChart) -> None:
    """Refuse a chart that cannot be read."""
    if not chart.curves:
        raise RangeError("a hover chart without a curve came; give at least one temperature", got=chart)
    temperatures = [curve.temperature_k for curve in chart.curves]
    if any(b <= a for a, b in pairwise(temperatures)):
        raise RangeError(f"the chart's temperatures {temperatures} K do not rise; sort the curves", got=chart)
    for curve in chart.curves:
        heights = curve.pressure_altitude_m
        if len(heights) != len(curve.mass_kg) or not heights:
            raise RangeError(
                f"the {_celsius(curve.temperature_k)} curve has {len(heights)} altitudes and {len(curve.mass_kg)} "
                "masses; give one mass an altitude",
                got=curve,
            )
        if any(b <= a for a, b in pairwise(heights)):
            raise RangeError(
                f"the altitudes of the {_celsius(curve.temperature_k)} curve do not rise; sort them", got=curve
            )


def _celsius(temperature_k: float) -> str:
    """Print a temperature as a hover chart does, for an error."""
    return f"{round(temperature_k - _KELVIN, 1) + 0.0:g} °C"
