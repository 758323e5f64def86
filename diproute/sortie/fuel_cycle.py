"""A fuel cycle flown on paper: which fill setting, how much fuel, how many loads, how much water an hour.

From the base with the starting fuel, a ferry to the dip, cycles until the fuel reaches the reserve and the way home,
the way home, and taking fuel. The first lift is the heaviest and must already hover at every place; each later one
is lighter by the fuel of a cycle. The reserve is flown at the empty rate, as the ferries are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.errors import RangeError
from diproute.records import CurvePoint, Cycle, Finding, Load, Sortie
from diproute.sortie.cycle import Cost, cost_of
from diproute.sortie.fill_and_fuel import Best, Terms, best_of_many, tabulate
from diproute.sortie.hover_chart import why_no_answer
from diproute.sortie.load import GRAIN_KG, Place, load_sheet
from diproute.sortie.rig import Many, Rig, Task

NO_BASE = Finding.of("cycles-only")


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


def site_terms(rig: Rig, task: Task, chart_kg: Many, cost: Cost) -> Terms:
    """Gather what `diproute.sortie.fill_and_fuel` needs, for one site or for arrays of sites and hours.

    Parameters
    ----------
    rig
        What flies and what hangs.
    task
        Water, reserve, margin, the fill setting where it is fixed (else all of the bucket's), and the ferry.
    chart_kg
        Least limit of the power over the places where the load hovers or is lifted [kg], any shape.
    cost
        One cycle; its shapes broadcast with the readings. What lies after the drop is left out of the last one when
        the way home begins at the drop.

    Returns
    -------
    Terms
        SI, ready for `best_of_many`.
    """
    helicopter, bucket, ferry = rig.helicopter, rig.bucket, task.ferry
    fills = bucket.fills if task.fill is None else (task.fill,)
    full_kg = bucket.capacity_l * np.asarray(task.water_kg_l, dtype=np.float64)
    from_drop = ferry is not None and ferry.home_from == "drop"
    out_s, home_s = (0.0, 0.0) if ferry is None else (ferry.out_s, ferry.home_s)
    empty = helicopter.burn_empty_kg_s
    held_kg = helicopter.equipped_kg + rig.crew_kg
    return Terms(
        power_kg=np.asarray(chart_kg) - helicopter.weight_reduction_kg - task.hover_margin_kg - held_kg,
        mass_kg=helicopter.max_gross_external_kg - held_kg,
        tare_kg=rig.tare_kg,
        hook_kg=helicopter.hook_limit_kg - rig.tare_kg,
        settings_kg=np.array(fills) * full_kg[..., np.newaxis],
        tank_kg=helicopter.fuel_capacity_kg,
        reserve_kg=task.reserve_s * empty,
        cycle_s=cost.seconds,
        cycle_kg=cost.burn_kg,
        after_s=cost.after_s if from_drop else 0.0,
        after_kg=cost.after_kg if from_drop else 0.0,
        out_s=out_s,
        out_kg=np.asarray(out_s) * empty,
        home_s=home_s,
        home_kg=np.asarray(home_s) * empty,
        refuel_s=0.0 if ferry is None else ferry.refuel_s,
        based=ferry is not None,
        part_fill=bucket.part_fill,
        kept=task.hover_margin_share,
    )


def best(rig: Rig, task: Task, places: Sequence[Place], trip: Cycle) -> Answer:
    """Choose the fill setting and the starting fuel that deliver the most water an hour.

    Parameters
    ----------
    rig
        What flies and what hangs.
    task
        Single values. With no ferry there is no base, and the most water from one fuel load is sought.
    places
        Where the load hovers; the worst governs.
    trip
        One cycle between dip and drop.

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
    _check(task)
    helicopter, water_kg_l = rig.helicopter, float(task.water_kg_l)
    readings = [place.limit_kg(helicopter) for place in places]
    chart_kg = math.nan if any(map(math.isnan, readings)) else min(readings, default=math.nan)
    whole = site_terms(rig, replace(task, fill=None), chart_kg, cost_of(trip))
    fills = rig.bucket.fills if task.fill is None else (task.fill,)
    terms = replace(whole, settings_kg=np.array(fills) * (rig.bucket.capacity_l * water_kg_l))
    fixed_kg = task.fixed_fuel_kg(rig)
    chosen = best_of_many(terms, fixed_kg)
    cycles = int(chosen.cycles)
    one_kg = float(tabulate(terms).fuel_kg[0, 0])  # the least fuel that flies one cycle
    have_kg = helicopter.fuel_capacity_kg if fixed_kg is None else fixed_kg
    start_kg = float(chosen.fuel_kg) if cycles else min(one_kg if fixed_kg is None else fixed_kg, have_kg)
    load = load_sheet(
        rig,
        replace(task, fill=fills[int(chosen.setting)] if cycles else min(fills)),
        places,
        fuel_kg=max(start_kg - float(np.asarray(whole.out_kg)), 0.0),
        take_off_fuel_kg=start_kg,
    )
    curve = _curve(whole, rig.bucket.fills, water_kg_l)
    if cycles == 0:
        return Answer(load, None, curve, (_why_not(rig, places, load, one_kg, have_kg),))
    return Answer(load, _sortie(rig, task, trip, load, chosen, whole), curve)


def _sortie(rig: Rig, task: Task, trip: Cycle, load: Load, chosen: Best, terms: Terms) -> Sortie:
    """Fly the chosen pair load by load."""
    water_kg_l = float(task.water_kg_l)
    cycles, full_kg = int(chosen.cycles), rig.bucket.capacity_l * water_kg_l
    first_kg = float(chosen.fuel_kg) - float(np.asarray(terms.out_kg))
    rooms = [float(terms.room(first_kg - i * trip.burn_kg)) for i in range(cycles)]
    kilograms = [min(load.fill * full_kg, room) for room in rooms]
    out_s = 0.0 if task.ferry is None else float(task.ferry.out_s)
    return Sortie(
        cycles=cycles,
        seconds=float(chosen.seconds),
        litres=float(chosen.kilograms) / water_kg_l,
        litres_per_hour=float(chosen.kilograms_per_hour) / water_kg_l,
        first_drop_s=out_s + trip.seconds - float(cost_of(trip).after_s),
        reserve_kg=task.reserve_s * rig.helicopter.burn_empty_kg_s,
        loads_l=tuple(mass / water_kg_l for mass in kilograms),
        margins_kg=tuple(room - mass for room, mass in zip(rooms, kilograms, strict=True)),
        note=NO_BASE if task.ferry is None else None,
    )


def _curve(terms: Terms, fills: tuple[float, ...], water_kg_l: float) -> tuple[CurvePoint, ...]:
    """Water an hour against fuel at every setting: each least fuel for a number of cycles, and the last fuel allowed.

    Between two points the same cycles are flown with more fuel than they need.
    """
    least = tabulate(terms)
    out_kg = float(np.asarray(terms.out_kg))
    most = np.full(len(fills), terms.tank_kg)
    if not terms.part_fill:
        most = np.minimum(most, terms.most_fuel(terms.settings_kg) + out_kg)
    last = tabulate(terms, np.where(np.isnan(most), -np.inf, most))
    points = []
    for k, fill in enumerate(fills):
        for table in (least, last):
            for n in range(table.kilograms.shape[-1]):
                fuel, kilograms, margin = table.fuel_kg[k, n], table.kilograms[k, n], float(table.margin_kg[k, n])
                flown = bool(np.isfinite(kilograms))
                if not flown and (table is last or np.isnan(margin) or fuel > terms.tank_kg + GRAIN_KG):
                    continue
                litres_per_hour = 3600.0 * float(kilograms) / float(table.seconds[0, n]) / water_kg_l
                points.append(CurvePoint(fill, float(fuel), litres_per_hour, margin, n + 1 if flown else 0))
    return tuple(sorted(points, key=lambda p: (-p.fill, p.fuel_kg)))


def _why_not(rig: Rig, places: Sequence[Place], load: Load, one_kg: float, have_kg: float) -> Finding:
    """Say why nothing can be flown."""
    if math.isnan(load.hoge_limit_kg):
        place = next(p for p in places if p.name == load.place)
        why = why_no_answer(rig.helicopter.hoge, place.pressure_altitude_m, place.temperature_k)
        return Finding.of("outside-chart", place=place.name, why=why)
    if one_kg > have_kg + GRAIN_KG:
        return Finding.of("fuel-short", needed_kg=one_kg, have_kg=have_kg)
    return Finding.of(
        "no-lift",
        fuel_kg=load.fuel_kg,
        fill=load.fill,
        excess_kg=-load.margin_kg,
        governed_by=load.governed_by,
        place=load.place,
    )


def _check(task: Task) -> None:
    """Refuse what cannot be flown."""
    times = {"reserve_s": task.reserve_s}
    if task.ferry is not None:
        times |= {name: float(getattr(task.ferry, name)) for name in ("out_s", "home_s", "refuel_s")}
    for name, value in times.items():
        if not value >= 0.0:
            raise RangeError(f"{name} of {value!r} came; give 0 s or more", where=name, got=value)
    if task.fuel is not None and not 0.0 < task.fuel <= 1.0:
        raise RangeError(f"fuel {task.fuel!r} came; give a fraction of full tanks above 0 and up to 1", where="fuel")
