"""Go or no go: what hovers at a site when it is hotter, or when there is more fuel on board."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from diproute.errors import RangeError
from diproute.records import GoNoGo, Load
from diproute.sortie.load import GRAIN_KG, Place
from diproute.sortie.rig import Rig, Task

STEP_K: Final = 5.0
COOLER: Final = 2  # steps below the plan's own temperature
HOTTER: Final = 4
FUELS: Final = 6
SEARCHED_K: Final = 40.0  # above the plan's temperature
HOTTEST_K: Final = 340.0  # no air is hotter
SURE_K: Final = 0.05

Places = Callable[[float], Sequence[Place]]


def go_no_go(rig: Rig, task: Task, places_at: Places, temperature_k: float, load: Load) -> GoNoGo | None:
    """Work the table of a site.

    Parameters
    ----------
    rig, task
        What flies, hangs and is kept in hand.
    places_at
        Gives the places where the load hovers when the air over the dip has a temperature [K].
    temperature_k
        Over the dip, of the plan [K].
    load
        Of the plan's first lift; its sheet names the fuel there.

    Returns
    -------
    GoNoGo or None
        None where the plan's own load cannot be lifted or is not known.
    """
    if not load.water_kg > 0.0 or not np.isfinite(load.margin_kg):
        return None
    fuel_kg = next(line.mass_kg for line in load.lines if line.name == "fuel")
    tank = rig.helicopter.fuel_capacity_kg
    fuels = np.unique(
        np.round([*np.linspace(task.reserve_s * rig.helicopter.burn_empty_kg_s, tank, FUELS), fuel_kg], 1)
    )
    temperatures = temperature_k + STEP_K * np.arange(-COOLER, HOTTER + 1)
    water = float(np.asarray(task.water_kg_l)) * rig.bucket.capacity_l

    def room(kelvin: float, fuel: float) -> float:
        return room_kg(rig, task, power_kg(rig, places_at(kelvin)), fuel)

    settings = np.array(sorted(rig.bucket.fills))
    table = []
    for kelvin in temperatures:
        limit = power_kg(rig, places_at(float(kelvin)))
        left = [room_kg(rig, task, limit, float(fuel)) for fuel in fuels]
        table.append(tuple(
            float("nan") if np.isnan(one) else float(settings[settings * water <= one + GRAIN_KG].max(initial=0.0))
            for one in left
        ))  # fmt: skip
    holds_k, edge = _holds(lambda kelvin: room(kelvin, fuel_kg) - load.water_kg, temperature_k)
    return GoNoGo(
        temperature_k=tuple(float(t) for t in temperatures),
        fuel_kg=tuple(float(f) for f in fuels),
        fill=tuple(table),
        row=COOLER,
        column=int(np.argmin(np.abs(fuels - fuel_kg))),
        holds_to_k=holds_k,
        holds_to_m=float("nan"),
        edge=edge,
    )


def power_kg(rig: Rig, places: Sequence[Place]) -> float:
    """Least gross mass that the power holds, or lifts, at some places [kg]; NaN: the chart gives no answer at one.

    Raises
    ------
    RangeError
        No place.
    """
    if not places:
        raise RangeError("no place came; give at least one where the load hovers, such as the dip", where="places")
    return float(np.min([place.limit_kg(rig.helicopter) for place in places]))


def room_kg(rig: Rig, task: Task, limit_kg: float, fuel_kg: float) -> float:
    """Water that every limit allows with so much fuel on board [kg]; NaN where the power's limit is not known."""
    craft = rig.helicopter
    operating = craft.equipped_kg + rig.crew_kg + fuel_kg
    payload = limit_kg - craft.weight_reduction_kg - task.hover_margin_kg - operating
    by_power = payload - task.hover_margin_share * max(0.0, payload)
    by_mass = craft.max_gross_external_kg - operating
    return float(np.min([by_power - rig.tare_kg, by_mass - rig.tare_kg, craft.hook_limit_kg - rig.tare_kg]))


def _holds(spare_kg: Callable[[float], float], from_k: float) -> tuple[float, bool]:
    """Highest temperature up to which something is spare, and whether it is the chart's own edge."""
    if not spare_kg(from_k) >= -GRAIN_KG:
        return float("nan"), False
    low, high = from_k, min(from_k + SEARCHED_K, HOTTEST_K)
    if spare_kg(high) >= -GRAIN_KG:
        return high, False
    while high - low > SURE_K:
        middle = 0.5 * (low + high)
        if spare_kg(middle) >= -GRAIN_KG:
            low = middle
        else:
            high = middle
    return low, bool(np.isnan(spare_kg(high)))
