"""From the three ways in which flight manuals print a hover chart to the curves of `records.HoverChart`.

Whatever the form, the law of the thing is checked: a gross mass never rises with pressure altitude nor with
temperature. A slip of the pen is named by its pressure altitude, its temperature, its value and its neighbour.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from diproute.constants import FT_M
from diproute.reading.fleet_schema import ChartTable, CurveTable, HogeTable
from diproute.reading.schema import WrongKeyError, nearest
from diproute.records import HoverChart, HoverCurve

_SAME_KG: Final = 1e-6  # rounding of the arithmetic, not of the chart


def hover_chart(hoge: HogeTable, options: Sequence[str], equipped_kg: float, max_gross_kg: float) -> HoverChart:
    """Build the chart that holds with the chosen options.

    Parameters
    ----------
    hoge
        The ``[hoge]`` table of a helicopter file.
    options
        Names of ``[hoge.option.NAME]``: reductions add up; one of them may bring a chart of its own.
    equipped_kg, max_gross_kg
        Equipped mass and certificated maximum with an external load [kg], against which the masses must make sense.

    Raises
    ------
    WrongKeyError
        An unknown option, an odd cell, or masses that look like pounds taken for kilograms.
    """
    charts = {"hoge": hoge_chart(hoge, "hoge", equipped_kg, max_gross_kg)}
    for name, option in hoge.option.items():
        if option.forms():
            charts[name] = hoge_chart(option, f"hoge.option.{name}", equipped_kg, max_gross_kg)
    chosen, reduction_kg = "hoge", 0.0
    for name in dict.fromkeys(options):
        if name not in hoge.option:
            known = list(hoge.option)
            raise WrongKeyError(
                "hoge.option", f'no option "{name}"{nearest(name, known) if known else "; this file has none"}'
            )
        if name not in charts:
            reduction_kg += hoge.option[name].reduction or 0.0
        elif chosen != "hoge":
            raise WrongKeyError("hoge.option", f'"{chosen}" and "{name}" each bring a chart of their own; choose one')
        else:
            chosen = name
    curves = charts[chosen].curves
    lowest = min(mass for curve in curves for mass in curve.mass_kg if not math.isnan(mass))
    if reduction_kg >= lowest:
        raise WrongKeyError(
            "hoge.option", f"the reductions take {reduction_kg:.0f} kg off a cell of {lowest:.0f} kg; check their unit"
        )
    return HoverChart(
        tuple(
            HoverCurve(c.temperature_k, c.pressure_altitude_m, tuple(mass - reduction_kg for mass in c.mass_kg))
            for c in curves
        )
    )


def hoge_chart(table: ChartTable, key: str, equipped_kg: float, max_gross_kg: float) -> HoverChart:
    """Turn one chart, in whichever form, into curves of rising temperature, and check them."""
    if table.ceiling is not None:
        curves = [_from_ceiling(c, f"{key}.ceiling[{i}]") for i, c in enumerate(table.ceiling)]
    elif table.curve is not None:
        curves = [HoverCurve(c.temperature, tuple(c.pressure_altitude), tuple(c.mass)) for c in table.curve]
        for i, curve in enumerate(curves):
            _rising(curve.pressure_altitude_m, f"{key}.curve[{i}].pressure_altitude")
    else:
        heights, temperatures = tuple(table.pressure_altitude or ()), tuple(table.temperature or ())
        _rising(heights, f"{key}.pressure_altitude")
        _rising(temperatures, f"{key}.temperature")
        columns = zip(*(table.mass or []), strict=True)
        curves = [HoverCurve(t, heights, tuple(column)) for t, column in zip(temperatures, columns, strict=True)]
    curves.sort(key=lambda curve: curve.temperature_k)
    for a, b in itertools.pairwise(curves):
        if b.temperature_k - a.temperature_k < 0.01:
            raise WrongKeyError(key, f"two curves for {_celsius(a.temperature_k)}; join them into one")
    _plausible(curves, key, equipped_kg, max_gross_kg)
    for curve in curves:
        _falls_with_altitude(curve, key)
    for cooler, hotter in itertools.pairwise(curves):
        _falls_with_heat(cooler, hotter, key)
    return HoverChart(tuple(curves))


def _from_ceiling(curve: CurveTable, key: str) -> HoverCurve:
    """Turn hover ceiling against mass into mass against pressure altitude.

    A ceiling says that everything below it is hovered too, so the curve runs down from its lowest point to
    pressure altitude 0 at the same mass.
    """
    if any(math.isnan(mass) for mass in curve.mass):
        raise WrongKeyError(f"{key}.mass", "a blank among the masses; leave the point out of both lists")
    points = sorted(zip(curve.pressure_altitude, curve.mass, strict=True))
    for (low, low_mass), (high, high_mass) in itertools.pairwise(points):
        if high_mass > low_mass or high - low < 0.01:
            raise WrongKeyError(
                f"{key}.pressure_altitude",
                f"{_point(high, curve.temperature)} belongs to {high_mass:.0f} kg and {_feet(low)} to "
                f"{low_mass:.0f} kg; "
                "a hover ceiling falls as mass rises: check both",
            )
    if points[0][0] > 0:
        points.insert(0, (0.0, points[0][1]))
    heights, masses = zip(*points, strict=True)
    return HoverCurve(curve.temperature, tuple(heights), tuple(masses))


def _feet(height_m: float) -> str:
    return f"{height_m / FT_M.value:.0f} ft ({height_m:.0f} m)"


def _celsius(temperature_k: float) -> str:
    return f"{temperature_k - 273.15:.0f} degC"


def _point(height_m: float, temperature_k: float) -> str:
    return f"{_feet(height_m)} at {_celsius(temperature_k)}"


def _rising(values: Sequence[float], key: str) -> None:
    for i, (a, b) in enumerate(itertools.pairwise(values)):
        if b <= a:
            raise WrongKeyError(f"{key}[{i + 1}]", "not above the one before it; list them rising, each once")


def _plausible(curves: Sequence[HoverCurve], key: str, equipped_kg: float, max_gross_kg: float) -> None:
    cells = [
        (m, h, c.temperature_k)
        for c in curves
        for h, m in zip(c.pressure_altitude_m, c.mass_kg, strict=True)
        if not math.isnan(m)
    ]
    if not cells:
        raise WrongKeyError(key, "no cell holds a mass; copy the chart's masses")
    mass, height, temperature = max(cells, key=lambda cell: cell[0])
    if mass > 2 * max_gross_kg:
        raise WrongKeyError(
            key,
            f"{mass:.0f} kg at {_point(height, temperature)} is more than twice max_gross_external "
            f"({max_gross_kg:.0f} kg); are these lb written as kg?",
        )
    if mass <= max(
        equipped_kg, 0.6 * max_gross_kg
    ):  # the cold and low corner of a chart comes near the certificated mass
        raise WrongKeyError(
            key,
            f"its greatest mass is {mass:.0f} kg, for an equipped mass of {equipped_kg:.0f} kg and a "
            f"max_gross_external of {max_gross_kg:.0f} kg; are these kg written as lb?",
        )


def _falls_with_altitude(curve: HoverCurve, key: str) -> None:
    known = [(h, m) for h, m in zip(curve.pressure_altitude_m, curve.mass_kg, strict=True) if not math.isnan(m)]
    for (low, low_mass), (high, high_mass) in itertools.pairwise(known):
        if high_mass > low_mass + _SAME_KG:
            raise WrongKeyError(
                key,
                f"the cell {_point(high, curve.temperature_k)} holds {high_mass:.0f} kg, more than {low_mass:.0f} kg "
                f"lower down at {_feet(low)}; mass must not rise with altitude: check both",
            )


def _falls_with_heat(cooler: HoverCurve, hotter: HoverCurve, key: str) -> None:
    """Compare two curves at every pressure altitude of either that both know."""
    heights = np.unique(cooler.pressure_altitude_m + hotter.pressure_altitude_m)
    cool, hot = (
        np.interp(heights, c.pressure_altitude_m, c.mass_kg, left=np.nan, right=np.nan) for c in (cooler, hotter)
    )
    for height, cool_mass, hot_mass in zip(heights, cool, hot, strict=True):
        if hot_mass > cool_mass + _SAME_KG:  # False with NaN on either side
            raise WrongKeyError(
                key,
                f"the cell {_point(height, hotter.temperature_k)} holds {hot_mass:.0f} kg, more than "
                f"{cool_mass:.0f} kg "
                f"cooler at {_celsius(cooler.temperature_k)}; mass must not rise with temperature: check both",
            )
