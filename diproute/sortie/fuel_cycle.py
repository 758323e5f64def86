"""A fuel cycle flown on paper: which fill setting, how much fuel, how many loads, how much water an hour.

From the base with the starting fuel, a ferry to the dip, cycles until the fuel reaches the reserve and the way home,
the way home, and taking fuel. The first lift is the heaviest and must already hover at every place; each later one
is lighter by the fuel of a cycle. The reserve is flown at the empty rate, as the ferries are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from diproute.errors import RangeError
from diproute.records import F64, Bucket, CurvePoint, Cycle, Display, Finding, Helicopter, Line, Load, Sortie
from diproute.sortie.cycle import after_drop
from diproute.sortie.fill_and_fuel import Terms, best_of_many, tabulate
from diproute.sortie.hover_chart import hover_limit, why_no_answer
from diproute.sortie.load import GRAIN_KG, Place, load_sheet, selected_mass, tare_mass
from diproute.units import show, show_share

TOO_HEAVY = "the first lift is too heavy"
NO_BASE = "one cycle after another: no base was given, so neither ferry nor refuelling is counted"


@dataclass(frozen=True, slots=True)
class Ferry:
    """The ways between the base and the work, flown empty.

    ``home_from`` says where the way home begins: at the last drop, or at the dip after a whole last cycle.
    """

    out_s: float
    home_s: float
    refuel_s: float
    home_from: Literal["drop", "dip"] = "dip"


@dataclass(frozen=True, slots=True)
class Answer:
    """The best pair of fill setting and starting fuel, or why there is none.

    ``load`` is there in any case: with no sortie it shows the lift that comes nearest to being possible. ``curve``
    holds every fill setting against fuel, whatever the crew has fixed.
    """

    load: Load
    sortie: Sortie | None
    curve: tuple[CurvePoint, ...]
    refused: tuple[Finding, ...] = ()


def site_terms(
    helicopter: Helicopter,
    bucket: Bucket,
    line_kg: F64 | float,
    *,
    crew_kg: float,
    water_kg_l: F64 | float,
    chart_kg: F64 | float,
    cycle_s: F64 | float,
    cycle_kg: F64 | float,
    reserve_s: float,
    after_s: F64 | float = 0.0,
    after_kg: F64 | float = 0.0,
    ferry: tuple[F64 | float, F64 | float, float] | None = None,
    hover_margin_kg: float = 0.0,
    fill: float | None = None,
) -> Terms:
    """Gather what `diproute.sortie.fill_and_fuel` needs, for one site or for arrays of sites and hours.

    Parameters
    ----------
    helicopter, bucket
        What flies and what hangs.
    line_kg
        Mass of the line [kg]; it and all that may be arrays below have shapes that broadcast.
    crew_kg
        Crew and whatever else is on board besides fuel [kg].
    water_kg_l
        Density of the water [kg/L].
    chart_kg
        Least reading of the hover chart over the places where the load hovers [kg], any shape.
    cycle_s, cycle_kg
        One cycle [s, kg], shapes that broadcast with the limits.
    reserve_s
        Time at the empty rate that stays in the tank [s].
    after_s, after_kg
        `diproute.sortie.cycle.after_drop` when the way home begins at the drop [s, kg].
    ferry
        Way out, way home, taking fuel [s]; None: no base.
    hover_margin_kg
        Power in hand wanted on top of the chart [kg].
    fill
        The fill setting when the crew has fixed it; None: all of the bucket's.

    Returns
    -------
    Terms
        SI, ready for `best_of_many`.
    """
    fills = bucket.fills if fill is None else (fill,)
    tare = tare_mass(bucket, line_kg)
    full_kg = bucket.capacity_l * np.asarray(water_kg_l, dtype=np.float64)
    out_s, home_s, refuel_s = (0.0, 0.0, 0.0) if ferry is None else ferry
    empty = helicopter.burn_empty_kg_s
    return Terms(
        lift_kg=selected_mass(helicopter, chart_kg, hover_margin_kg) - helicopter.equipped_kg - crew_kg - tare,
        hook_kg=helicopter.hook_limit_kg - tare,
        settings_kg=np.array(fills) * full_kg[..., np.newaxis],
        tank_kg=helicopter.fuel_capacity_kg,
        reserve_kg=reserve_s * empty,
        cycle_s=cycle_s,
        cycle_kg=cycle_kg,
        after_s=after_s,
        after_kg=after_kg,
        out_s=out_s,
        out_kg=np.asarray(out_s) * empty,
        home_s=home_s,
        home_kg=np.asarray(home_s) * empty,
        refuel_s=refuel_s,
        based=ferry is not None,
        part_fill=bucket.part_fill,
    )


def best(
    helicopter: Helicopter,
    bucket: Bucket,
    line: Line,
    trip: Cycle,
    *,
    crew_kg: float,
    water_kg_l: float,
    places: Sequence[Place],
    ferry: Ferry | None,
    reserve_s: float,
    hover_margin_kg: float = 0.0,
    fuel: float | None = None,
    fill: float | None = None,
    display: Display = "metric",
) -> Answer:
    """Choose the fill setting and the starting fuel that deliver the most water an hour.

    Parameters
    ----------
    helicopter, bucket, line
        What flies and what hangs.
    trip
        One cycle between dip and drop.
    crew_kg
        Crew and whatever else is on board besides fuel [kg].
    water_kg_l
        Density of the water, fresh or salt [kg/L].
    places
        Where the load hovers; the worst governs.
    ferry
        The ways between base and work; None: no base, and the most water from one fuel load is sought.
    reserve_s
        Time at the empty rate that stays in the tank [s].
    hover_margin_kg
        Power in hand wanted on top of the chart [kg].
    fuel
        Starting fuel as a fraction of full tanks when the crew has fixed it; None: chosen.
    fill
        Fill setting when the crew has fixed it; None: chosen.
    display
        Units of the sentences.

    Returns
    -------
    Answer
        Load, sortie and the whole curve; with no sortie the reason: ``"outside-chart"``, ``"no-lift"``,
        ``"fuel-short"``.

    Raises
    ------
    RangeError
        As `load_sheet`, `site_terms` and `tabulate`; fuel outside 0 to 1; a ferry or reserve below nothing.
    """
    _check(ferry, reserve_s, fuel)
    spared_s, spared_kg = after_drop(trip)
    from_drop = ferry is not None and ferry.home_from == "drop"
    readings = [float(hover_limit(helicopter.hoge, p.pressure_altitude_m, p.temperature_k)) for p in places]
    whole = site_terms(
        helicopter,
        bucket,
        line.mass_kg,
        crew_kg=crew_kg,
        water_kg_l=water_kg_l,
        chart_kg=min(readings, default=math.nan) if not any(map(math.isnan, readings)) else math.nan,
        cycle_s=trip.seconds,
        cycle_kg=trip.burn_kg,
        reserve_s=reserve_s,
        after_s=spared_s if from_drop else 0.0,
        after_kg=spared_kg if from_drop else 0.0,
        ferry=None if ferry is None else (ferry.out_s, ferry.home_s, ferry.refuel_s),
        hover_margin_kg=hover_margin_kg,
    )
    full_kg, hook_kg = bucket.capacity_l * water_kg_l, float(np.asarray(whole.hook_kg))
    fills = bucket.fills if fill is None else (fill,)
    terms = replace(whole, settings_kg=np.array(fills) * full_kg)
    fixed_kg = None if fuel is None else fuel * helicopter.fuel_capacity_kg
    chosen = best_of_many(terms, fixed_kg)
    cycles, out_s = int(chosen.cycles), 0.0 if ferry is None else ferry.out_s
    out_kg = out_s * helicopter.burn_empty_kg_s
    one_kg = float(tabulate(terms).fuel_kg[0, 0])  # the least fuel that flies one cycle
    have_kg = helicopter.fuel_capacity_kg if fixed_kg is None else fixed_kg
    start_kg = float(chosen.fuel_kg) if cycles else min(one_kg if fixed_kg is None else fixed_kg, have_kg)
    load = load_sheet(
        helicopter,
        bucket,
        line,
        crew_kg=crew_kg,
        fuel_kg=max(start_kg - out_kg, 0.0),
        water_kg_l=water_kg_l,
        places=places,
        fill=fills[int(chosen.setting)] if cycles else min(fills),
        hover_margin_kg=hover_margin_kg,
        take_off_fuel_kg=start_kg,
    )
    curve = _curve(whole, bucket.fills, water_kg_l)
    if cycles == 0:
        return Answer(load, None, curve, (_why_not(helicopter, places, load, one_kg, have_kg, display),))
    rooms = [min(load.margin_kg + load.water_kg + i * trip.burn_kg, hook_kg) for i in range(cycles)]
    kilograms = [min(load.fill * full_kg, room) for room in rooms]
    sortie = Sortie(
        cycles=cycles,
        seconds=float(chosen.seconds),
        litres=float(chosen.kilograms) / water_kg_l,
        litres_per_hour=float(chosen.kilograms_per_hour) / water_kg_l,
        first_drop_s=out_s + trip.seconds - spared_s,
        reserve_kg=whole.reserve_kg,
        loads_l=tuple(mass / water_kg_l for mass in kilograms),
        margins_kg=tuple(room - mass for room, mass in zip(rooms, kilograms, strict=True)),
        note=NO_BASE if ferry is None else "",
    )
    return Answer(load, sortie, curve)


def _curve(terms: Terms, fills: tuple[float, ...], water_kg_l: float) -> tuple[CurvePoint, ...]:
    """Water an hour against fuel at every setting: each least fuel for a number of cycles, and the last fuel allowed.

    Between two points the same cycles are flown with more fuel than they need.
    """
    least = tabulate(terms)
    lift, out_kg = float(np.asarray(terms.lift_kg)), float(np.asarray(terms.out_kg))
    most = np.full(len(fills), terms.tank_kg)
    if not terms.part_fill:
        most = np.minimum(most, lift - terms.settings_kg + out_kg)
    last = tabulate(terms, np.where(np.isnan(most), -np.inf, most))
    points = []
    for k, fill in enumerate(fills):
        for table in (least, last):
            for n in range(table.kilograms.shape[-1]):
                fuel, kilograms, margin = table.fuel_kg[k, n], table.kilograms[k, n], float(table.margin_kg[k, n])
                flown = bool(np.isfinite(kilograms))
                if not flown and (table is last or np.isnan(margin) or fuel > terms.tank_kg + GRAIN_KG):
                    continue
                because = f"{n + 1} cycle{'s' if n else ''}" if flown else TOO_HEAVY
                litres_per_hour = 3600.0 * float(kilograms) / float(table.seconds[0, n]) / water_kg_l
                points.append(CurvePoint(fill, float(fuel), litres_per_hour, margin, because))
    return tuple(sorted(points, key=lambda p: (-p.fill, p.fuel_kg)))


def _why_not(
    helicopter: Helicopter, places: Sequence[Place], load: Load, one_kg: float, have_kg: float, display: Display
) -> Finding:
    """Say why nothing can be flown."""
    if math.isnan(load.hoge_limit_kg):
        place = next(p for p in places if p.name == load.place)
        why = why_no_answer(helicopter.hoge, place.pressure_altitude_m, place.temperature_k, display)
        return Finding("outside-chart", f"{place.name}: {why}")
    if one_kg > have_kg + GRAIN_KG:
        return Finding(
            "fuel-short",
            f"one cycle with both ways and the reserve takes {show(one_kg, 'mass', display)} of fuel, "
            f"and {show(have_kg, 'mass', display)} is all there is",
        )
    return Finding(
        "no-lift",
        f"with {show(load.fuel_kg, 'mass', display)} of fuel the first lift at {show_share(load.fill)} fill is "
        f"{show(-load.margin_kg, 'mass', display)} too heavy: {load.governed_by} at {load.place}",
    )


def _check(ferry: Ferry | None, reserve_s: float, fuel: float | None) -> None:
    """Refuse what cannot be flown."""
    times = {"reserve_s": reserve_s}
    if ferry is not None:
        times |= {"out_s": ferry.out_s, "home_s": ferry.home_s, "refuel_s": ferry.refuel_s}
    for name, value in times.items():
        if not value >= 0.0:
            raise RangeError(f"{name} of {value!r} came; give 0 s or more", where=name, got=value)
    if fuel is not None and not 0.0 < fuel <= 1.0:
        raise RangeError(f"fuel {fuel!r} came; give a fraction of full tanks above 0 and up to 1", where="fuel")
