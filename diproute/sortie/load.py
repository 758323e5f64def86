"""The load calculation, line by line, as the US interagency form lays it out.

Operating mass = equipped + crew + fuel. Selected mass = the lesser of (hover chart - weight reduction - the margin
that the pilot wants in hand) and the certificated mass with a jettisonable external load. Allowable payload =
selected - operating. The bucket, its line and its gear come off the payload and off the hook's limit; what is left
is water. The chart is read at every place where the load hovers, with the fuel of the first lift at all of them,
and the least answer governs (AMC1 SPO.SPEC.HESLO.100 (g) asks the same of the higher of pick-up and drop-off). No
ground effect is counted on.

Source of the lines: NWCG PMS 510, Standards for Helicopter Operations, load calculation (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F64, Bucket, Finding, Helicopter, Load, LoadLine, keys
from diproute.sortie.hover_chart import hover_limit, why_no_answer
from diproute.sortie.rig import Rig, Task

GRAIN_KG = 1e-9  # masses closer than a microgram are the same mass


@dataclass(frozen=True, slots=True)
class Place:
    """A place where the load hovers. The height is the aircraft's own, line and bucket below it."""

    name: str
    pressure_altitude_m: float
    temperature_k: float


def selected_mass(helicopter: Helicopter, chart_kg: npt.ArrayLike, hover_margin_kg: float) -> F64:
    """Heaviest gross mass that the calculation allows.

    Parameters
    ----------
    helicopter
        Gives the weight reduction and the certificated mass.
    chart_kg
        Reading of the hover chart [kg], any shape; NaN stays NaN.
    hover_margin_kg
        Power in hand that the pilot wants on top [kg].

    Returns
    -------
    numpy.ndarray
        ``min(chart - weight reduction - margin, certificated)`` [kg].
    """
    adjusted = np.asarray(chart_kg, dtype=np.float64) - helicopter.weight_reduction_kg - hover_margin_kg
    return np.minimum(adjusted, helicopter.max_gross_external_kg)


def load_sheet(
    rig: Rig, task: Task, places: Sequence[Place], fuel_kg: float, take_off_fuel_kg: float | None = None
) -> Load:
    """Work the load calculation for one lift.

    Parameters
    ----------
    rig
        What flies and what hangs.
    task
        Density of the water, hover margin, and the fill setting where it is fixed; else the bucket's highest is taken
        that can be lifted (of a bucket that may be dipped part-full, its highest).
    places
        Where the load hovers, at least one.
    fuel_kg
        Fuel on board when the load is lifted [kg].
    take_off_fuel_kg
        Fuel at the base, when the lift comes after a ferry [kg]; it is what ``Load.fuel_kg`` then says.

    Returns
    -------
    Load
        With every line of the form. A load that cannot be lifted has no water and a negative margin, the mass
        that it is too heavy by; the allowable payload and the water allowed are never shown below nothing but as
        "no lift". Where the chart gives no answer, water and margin are NaN.

    Raises
    ------
    RangeError
        No place; a fill outside 0 to 1; a water density outside 0.9 to 1.3 kg/L; a negative mass; more fuel than
        the tank holds.
    """
    water_kg_l = float(task.water_kg_l)
    _check(rig, task, places, fuel_kg, water_kg_l)
    helicopter, bucket = rig.helicopter, rig.bucket
    readings = [float(hover_limit(helicopter.hoge, p.pressure_altitude_m, p.temperature_k)) for p in places]
    worst = int(np.argmin(readings))  # a NaN wins: what is not known governs
    chart = readings[worst]
    operating = helicopter.equipped_kg + rig.crew_kg + fuel_kg
    adjusted = chart - helicopter.weight_reduction_kg - task.hover_margin_kg
    rooms = {
        keys.HOVER_LIMIT: adjusted - operating - rig.tare_kg,
        keys.CERTIFICATED_MASS: helicopter.max_gross_external_kg - operating - rig.tare_kg,
        keys.HOOK_LIMIT: helicopter.hook_limit_kg - rig.tare_kg,
    }
    least = keys.HOVER_LIMIT if np.isnan(chart) else min(rooms, key=lambda name: rooms[name])
    lift = _Lift(least, rooms[least], *_carry(bucket, rooms[least], water_kg_l, task.fill))
    return Load(
        water_l=lift.water_kg / water_kg_l,
        water_kg=lift.water_kg,
        fill=lift.setting,
        fuel_kg=fuel_kg if take_off_fuel_kg is None else take_off_fuel_kg,
        governed_by=keys.FILL_SETTING if _setting_governs(bucket, lift, water_kg_l) else least,
        place=places[worst].name,
        hoge_limit_kg=chart,
        margin_kg=lift.margin_kg,
        lines=_lines(rig, task, fuel_kg, _reading(rig, places, worst), chart, lift),
    )


@dataclass(frozen=True, slots=True)
class _Lift:
    """What the limits leave, and what is carried of it."""

    least: str  # key of the limit that leaves the least
    room_kg: float  # for water, NaN where the chart gives no answer
    setting: float
    water_kg: float
    margin_kg: float


def _reading(rig: Rig, places: Sequence[Place], worst: int) -> Finding:
    """Say where the chart was read, or why it gives no answer there."""
    place = places[worst]
    unknown = why_no_answer(rig.helicopter.hoge, place.pressure_altitude_m, place.temperature_k)
    among = tuple(Finding.of("place", place=p.name) for p in places) if len(places) > 1 else ()
    return unknown or Finding.of("sheet-hoge", place=place.name, among=among)


def _lines(
    rig: Rig, task: Task, fuel_kg: float, reading: Finding, chart_kg: float, lift: _Lift
) -> tuple[LoadLine, ...]:
    """Lay the calculation out line by line."""
    helicopter, bucket, line = rig.helicopter, rig.bucket, rig.line
    operating = helicopter.equipped_kg + rig.crew_kg + fuel_kg
    selected = float(selected_mass(helicopter, chart_kg, task.hover_margin_kg))
    payload = selected - operating
    no_lift = Finding.of("sheet-no-lift")
    masses: dict[str, tuple[float, Finding | None]] = {
        "equipped": (helicopter.equipped_kg, Finding.of("sheet-named", name=helicopter.name)),
        "crew": (rig.crew_kg, None),
        "fuel": (fuel_kg, Finding.of("sheet-first-lift")),
        "operating mass": (operating, Finding.of("sheet-operating")),
        "chart limit": (chart_kg, reading),
        "weight reduction": (helicopter.weight_reduction_kg, Finding.of("sheet-reduction")),
        "hover margin": (task.hover_margin_kg, Finding.of("sheet-in-hand")),
        "adjusted": (chart_kg - helicopter.weight_reduction_kg - task.hover_margin_kg, Finding.of("sheet-adjusted")),
        "certificated limit": (helicopter.max_gross_external_kg, Finding.of("sheet-jettisonable")),
        "selected": (selected, Finding.of("sheet-selected")),
        "allowable payload": (_shown(payload), Finding.of("sheet-payload") if payload > 0 else no_lift),
        "bucket": (bucket.empty_kg, Finding.of("sheet-named", name=bucket.name)),
        "line": (line.mass_kg, Finding.of("sheet-belly-hook" if line.length_m == 0 else "sheet-long-line")),
        "gear": (bucket.gear_kg, None),
        "hook limit": (helicopter.hook_limit_kg, None),
        "water allowed": (
            _shown(lift.room_kg),
            no_lift if lift.room_kg <= 0 else Finding.of("sheet-allowed", governed_by=lift.least),
        ),
        "water carried": (
            lift.water_kg,
            no_lift if lift.water_kg == 0 else Finding.of("sheet-share", fill=lift.setting),
        ),
        "left": (lift.margin_kg, Finding.of("sheet-too-heavy" if lift.margin_kg < 0 else "sheet-under-limit")),
    }
    return tuple(LoadLine(name, *masses[name]) for name in keys.SHEET_LINES)


def _carry(bucket: Bucket, room: float, water_kg_l: float, fill: float | None) -> tuple[float, float, float]:
    """Choose the setting; give it with the water carried and the margin [kg]."""
    settings = sorted(bucket.fills if fill is None else (fill,), reverse=True)
    if np.isnan(room):
        return settings[0], float("nan"), float("nan")
    full = bucket.capacity_l * water_kg_l
    if bucket.part_fill and room > 0:
        water = min(settings[0] * full, room)
        return settings[0], water, room - water
    for setting in settings:
        margin = room - setting * full
        if margin >= -GRAIN_KG:
            return setting, setting * full, max(margin, 0.0)
    return settings[-1], 0.0, room - settings[-1] * full


def _setting_governs(bucket: Bucket, lift: _Lift, water_kg_l: float) -> bool:
    """Whether it is the bucket's setting, not a limit, that keeps the water where it is."""
    full = bucket.capacity_l * water_kg_l
    if np.isnan(lift.room_kg) or lift.water_kg < lift.setting * full - GRAIN_KG:
        return False
    higher = [f for f in bucket.fills if f > lift.setting]
    return not higher or lift.room_kg >= min(higher) * full - GRAIN_KG


def _shown(mass_kg: float) -> float:
    """Show a payload as the form does: never below nothing, an unknown stays unknown."""
    return mass_kg if np.isnan(mass_kg) else max(mass_kg, 0.0)


def _check(rig: Rig, task: Task, places: Sequence[Place], fuel_kg: float, water_kg_l: float) -> None:
    """Refuse what no form can hold."""
    if not places:
        raise RangeError("no place came; give at least one where the load hovers, such as the dip", where="places")
    if task.fill is not None and not 0.0 < task.fill <= 1.0:
        raise RangeError(f"fill {task.fill!r} came; give a fraction above 0 and up to 1", where="fill", got=task.fill)
    if not 0.9 <= water_kg_l <= 1.3:
        raise RangeError(
            f"water of {water_kg_l!r} kg/L came; fresh water is about 1.0, sea water 1.025 kg/L: give 0.9 to 1.3",
            where="water_kg_l",
            got=water_kg_l,
        )
    for name, mass in (("crew", rig.crew_kg), ("fuel", fuel_kg), ("hover margin", task.hover_margin_kg)):
        if not mass >= 0.0:
            raise RangeError(f"{name} of {mass!r} kg came; give a mass of 0 kg or more", where=name, got=mass)
    tank = rig.helicopter.fuel_capacity_kg
    if fuel_kg > tank + GRAIN_KG:
        raise RangeError(
            f"fuel of {fuel_kg:.1f} kg came, but the tank holds {tank:.1f} kg; give no more", where="fuel", got=fuel_kg
        )
