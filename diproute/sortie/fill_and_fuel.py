"""The best fill setting and starting fuel, for one site or for all of them at once.

For a number of cycles the least fuel that permits it is the best fuel: it lifts the most and flies the same time.
So the optimum over all fuel loads, to the last gram, stands among finitely many pairs, one a fill setting and number
of cycles, and all of them are looked at. With ``n`` cycles of ``c`` kg, the ferry ``out``, the way ``home``, the
``reserve`` and the parts after the last drop left out (``after``), that fuel is ``out + n·c - after + home + reserve``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F64
from diproute.sortie.load import GRAIN_KG

_MOST_CYCLES = 2000  # a cycle of a few grams is a slip of the pen, not a plan


@dataclass(frozen=True, slots=True)
class Terms:
    """What a fuel cycle has to live with. Site values are scalars or arrays that broadcast, ``(sites, hours)`` say.

    Parameters
    ----------
    power_kg
        Fuel and payload that the power lifts at the worst place: chart limit (less what a vertical climb costs) -
        weight reduction - hover margin in mass - equipped - crew [kg].
    mass_kg
        Fuel and payload that the certificated mass allows: certificated - equipped - crew [kg].
    tare_kg
        Bucket, line and gear [kg].
    kept
        Share of the payload that the power allows which is kept in hand.
    hook_kg
        Water that the hook allows: hook limit - bucket - line - gear [kg].
    settings_kg
        Water of each fill setting, ``(fills,)``, or ``(…, fills)`` where fresh and salt water mix [kg].
    tank_kg, reserve_kg
        Fuel that the tank holds, and fuel that stays in it [kg].
    cycle_s, cycle_kg
        One cycle [s, kg].
    after_s, after_kg
        Its parts after the drop, when the last one is followed by the way home from the drop; else 0 [s, kg].
    out_s, out_kg, home_s, home_kg, refuel_s
        From the base to the dip, home again, and taking fuel; 0 with no base [s, kg].
    based
        False: no base, so the most water from one fuel load is sought instead of the most an hour.
    part_fill
        True: every load is what then lifts, up to the setting. False: the setting, every time.
    """

    power_kg: npt.ArrayLike
    mass_kg: float
    tare_kg: float
    hook_kg: npt.ArrayLike
    settings_kg: F64
    tank_kg: float
    reserve_kg: float
    cycle_s: npt.ArrayLike
    cycle_kg: npt.ArrayLike
    after_s: npt.ArrayLike = 0.0
    after_kg: npt.ArrayLike = 0.0
    out_s: npt.ArrayLike = 0.0
    out_kg: npt.ArrayLike = 0.0
    home_s: npt.ArrayLike = 0.0
    home_kg: npt.ArrayLike = 0.0
    refuel_s: float = 0.0
    based: bool = True
    part_fill: bool = False
    kept: float = 0.0

    def room(self, fuel_kg: npt.ArrayLike, axes: int = 0) -> F64:
        """Water that every limit allows with some fuel on board at the lift [kg]; negative: too heavy by that.

        ``axes`` new axes are put behind the site values.
        """
        power, hook = (
            np.asarray(v, dtype=np.float64)[(..., *(np.newaxis,) * axes)] for v in (self.power_kg, self.hook_kg)
        )
        fuel = np.asarray(fuel_kg, dtype=np.float64)
        payload = power - fuel
        by_power = payload - self.kept * np.maximum(payload, 0.0)
        return np.minimum(np.minimum(by_power, self.mass_kg - fuel) - self.tare_kg, hook)

    def most_fuel(self, water_kg: npt.ArrayLike) -> F64:
        """Most fuel at the lift with which so much water is allowed by power and mass [kg]."""
        held = np.asarray(water_kg, dtype=np.float64) + self.tare_kg
        by_power = np.asarray(self.power_kg, dtype=np.float64) - held / (1.0 - self.kept)
        return np.minimum(by_power, self.mass_kg - held)


@dataclass(frozen=True, slots=True)
class Table:
    """Every candidate, ``(…, fills, cycles)``; entry ``[…, k, n - 1]`` flies n cycles at setting k."""

    fuel_kg: F64  # (…, fills, cycles) at the start
    margin_kg: F64  # left under the limits at the first lift with its load; negative: too heavy by that
    kilograms: F64  # water delivered, NaN where the pair cannot be flown
    seconds: F64  # (…, 1, cycles) of the whole fuel cycle


@dataclass(frozen=True, slots=True)
class Best:
    """The best pair of each site, shape ``(…)``. Where nothing can be flown: cycles 0, the rest NaN, setting -1."""

    kilograms_per_hour: F64
    kilograms: F64
    seconds: F64
    cycles: npt.NDArray[np.int64]
    setting: npt.NDArray[np.int64]  # index into settings_kg
    fuel_kg: F64
    margin_kg: F64


def tabulate(terms: Terms, fuel_kg: npt.ArrayLike | None = None) -> Table:
    """Fly every number of cycles at every fill setting.

    Parameters
    ----------
    terms
        What the fuel cycle has to live with.
    fuel_kg
        None: the least fuel for each number of cycles. Else this fuel and the most cycles that it permits, broadcast
        with ``(…, fills)``; any other number of cycles is then NaN.

    Returns
    -------
    Table
        A site with a NaN among its values has NaN throughout.

    Raises
    ------
    RangeError
        A cycle that burns nothing or takes no time, or one so short that a tank holds thousands.
    """
    cycle_s, cycle_kg = _column(terms.cycle_s), _column(terms.cycle_kg)
    if np.any(cycle_s <= 0.0) or np.any(cycle_kg <= 0.0):
        raise RangeError("a cycle that burns nothing or takes no time came; give its parts", where="cycle")
    out_kg = _column(terms.out_kg)
    at_last_lift = cycle_kg - _column(terms.after_kg) + _column(terms.home_kg) + terms.reserve_kg
    most = np.nanmax((terms.tank_kg - out_kg - at_last_lift) / cycle_kg, initial=0.0) + 1.0
    if most > _MOST_CYCLES:
        raise RangeError(f"{most:.0f} cycles on one tank came out; check the burn and the cycle", where="cycle")
    cycles = np.arange(1, int(most + GRAIN_KG) + 1)
    least = out_kg + at_last_lift + (cycles - 1) * cycle_kg
    fuel, spare, flown = least, np.zeros(1), np.isfinite(least)
    if fuel_kg is not None:
        fuel = np.asarray(fuel_kg, dtype=np.float64)[..., np.newaxis]
        spare = fuel - least
        flown = (spare >= -GRAIN_KG) & (spare < cycle_kg - GRAIN_KG)
    setting = terms.settings_kg[..., np.newaxis]
    margin = terms.room(fuel - out_kg, 2) - setting
    if terms.part_fill:
        last = np.take_along_axis(spare, np.argmax(flown, axis=-1, keepdims=True), -1) if fuel_kg is not None else spare
        room = terms.room(at_last_lift + (cycles - 1) * cycle_kg + last, 2)
        load = np.minimum(room, setting)  # the load lifted with that many cycles still to fly
        water = np.cumsum(np.maximum(load, 0.0), axis=-1)
        liftable = load > 0.0
        first = margin + setting
        margin = np.where(first > 0.0, np.maximum(margin, 0.0), first)
    else:
        water = cycles * setting
        liftable = margin >= -GRAIN_KG
    allowed = flown & liftable & (fuel <= terms.tank_kg + GRAIN_KG)
    seconds = _column(terms.out_s) + cycles * cycle_s - _column(terms.after_s) + _column(terms.home_s) + terms.refuel_s
    kilograms = np.where(allowed & np.isfinite(seconds), water, np.nan)
    return Table(np.broadcast_to(fuel, kilograms.shape), np.broadcast_to(margin, kilograms.shape), kilograms, seconds)


def pick(table: Table, terms: Terms) -> Best:
    """Take the best pair of each site out of the table.

    Parameters
    ----------
    table, terms
        From `tabulate`, and what it was given.

    Returns
    -------
    Best
        With a base the most water an hour; with none the most water from one fuel load. Of equal ones the higher
        setting, then the fewer cycles.
    """
    per_hour = 3600.0 * table.kilograms / table.seconds
    shape = table.kilograms.shape[:-2]
    wanted = (per_hour if terms.based else table.kilograms).reshape(*shape, -1)
    index = np.argmax(np.where(np.isnan(wanted), -np.inf, wanted), axis=-1)[..., np.newaxis]

    def at_best(values: F64) -> F64:
        flat = np.broadcast_to(values, table.kilograms.shape).reshape(*shape, -1)
        return np.take_along_axis(flat, index, axis=-1)[..., 0]

    water = at_best(table.kilograms)
    flies = np.isfinite(water)
    setting, cycles = np.divmod(index[..., 0], table.kilograms.shape[-1])
    return Best(
        kilograms_per_hour=at_best(per_hour),
        kilograms=water,
        seconds=np.where(flies, at_best(table.seconds), np.nan),
        cycles=np.where(flies, cycles + 1, 0),
        setting=np.where(flies, setting, -1),
        fuel_kg=np.where(flies, at_best(table.fuel_kg), np.nan),
        margin_kg=np.where(flies, at_best(table.margin_kg), np.nan),
    )


def best_of_many(terms: Terms, fuel_kg: float | None = None) -> Best:
    """Best fill setting and starting fuel of many sites and hours at once.

    Parameters
    ----------
    terms
        With arrays as site values.
    fuel_kg
        The starting fuel when the crew has fixed it [kg].

    Returns
    -------
    Best
        In the shape that the site values broadcast to.

    Raises
    ------
    RangeError
        As `tabulate`.
    """
    return pick(tabulate(terms, fuel_kg), terms)


def _column(values: npt.ArrayLike) -> F64:
    """Site values with two more axes, for the settings and the cycles."""
    return np.asarray(values, dtype=np.float64)[..., np.newaxis, np.newaxis]
