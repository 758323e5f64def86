"""The load calculation, line by line, as the US interagency form lays it out.

Operating mass = equipped + crew + fuel. Selected mass = the lesser of (hover chart - what the vertical climb costs
where the load is lifted straight up - weight reduction - the margin that the pilot wants in hand) and the certificated
mass with a jettisonable external load. Allowable payload = selected - operating. The bucket, its line and its gear
come off the payload and off the hook's limit; what is left is water. The chart is read at every place where the load
hovers, with the fuel of the first lift at all of them, and the least answer governs (AMC1 SPO.SPEC.HESLO.100 (g) asks
the same of the higher of pick-up and drop-off). No ground effect is counted on.

Source of the lines: NWCG PMS 510, Standards for Helicopter Operations, load calculation (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.physics.atmosphere import air_density, standard_pressure
from diproute.physics.hover import climb_mass
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
    climb_m_s: float = 0.0  # at which the load is lifted straight up there; 0: it only hovers

    def limit_kg(self, helicopter: Helicopter) -> float:
        """Gross mass that the power hovers with, or lifts straight up, there [kg]; NaN: the chart gives no answer."""
        chart = hover_limit(helicopter.hoge, self.pressure_altitude_m, self.temperature_k)
        return float(lifting_limit(helicopter, chart, (self.pressure_altitude_m, self.temperature_k), self.climb_m_s))


def lifting_limit(
    helicopter: Helicopter, chart_kg: npt.ArrayLike, air: tuple[npt.ArrayLike, npt.ArrayLike], climb_m_s: float
) -> F64:
    """Take off the hover chart what a vertical climb costs.

    Parameters
    ----------
    helicopter
        For the size of its rotor.
    chart_kg
        Readings of the hover chart [kg], any shape; NaN stays NaN.
    air
        Pressure altitude [m] and temperature [K] at the aircraft, shapes that broadcast.
    climb_m_s
        Straight up [m/s]; 0 takes nothing off.

    Returns
    -------
    numpy.ndarray
        [kg]; `diproute.physics.hover.climb_mass` in dry air, denser than moist air: it takes off a little more.
    """
    chart = np.asarray(chart_kg, dtype=np.float64)
    if climb_m_s == 0.0:
        return chart
    altitude, temperature = (np.asarray(value, dtype=np.float64) for value in air)
    density = np.asarray(air_density(standard_pressure(altitude), temperature))
    return np.asarray(climb_mass(chart, climb_m_s, density, helicopter.rotor_diameter_m / 2.0))


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
    limits = [place.limit_kg(helicopter) for place in places]
    worst = int(np.argmin(limits))  # a NaN wins: what is not known governs
    power = _Power.of(rig, task, places[worst], fuel_kg)
    chart = power.chart_kg
    operating = helicopter.equipped_kg + rig.crew_kg + fuel_kg
    rooms = {
        keys.HOVER_LIMIT: power.adjusted_kg - operating - rig.tare_kg,
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
        lines=_lines(rig, task, fuel_kg, _reading(rig, places, worst), power, lift),
    )


@dataclass(frozen=True, slots=True)
class _Power:
    """What the power allows at the worst place, step by step."""

    chart_kg: float
    climb_kg: float  # what the vertical climb costs there
    climb_m_s: float
    margin_kg: float
    adjusted_kg: float

    @classmethod
    def of(cls, rig: Rig, task: Task, place: Place, fuel_kg: float) -> _Power:
        helicopter = rig.helicopter
        chart = float(hover_limit(helicopter.hoge, place.pressure_altitude_m, place.temperature_k))
        climb = chart - place.limit_kg(helicopter)
        left = chart - climb - helicopter.weight_reduction_kg - helicopter.equipped_kg - rig.crew_kg - fuel_kg
        margin = task.hover_margin_kg + task.hover_margin_share * max(0.0, left - task.hover_margin_kg)
        margin = margin if chart == chart else task.hover_margin_kg  # not known: nothing of it
        adjusted = chart - climb - helicopter.weight_reduction_kg - margin
        return cls(chart, climb, place.climb_m_s, margin, adjusted)


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


def _lines(rig: Rig, task: Task, fuel_kg: float, reading: Finding, power: _Power, lift: _Lift) -> tuple[LoadLine, ...]:
    """Lay the calculation out line by line."""
    helicopter, bucket, line = rig.helicopter, rig.bucket, rig.line
    operating = helicopter.equipped_kg + rig.crew_kg + fuel_kg
    selected = min(power.adjusted_kg, helicopter.max_gross_external_kg) if power.chart_kg == power.chart_kg else np.nan
    payload = selected - operating
    no_lift = Finding.of("sheet-no-lift")
    masses: dict[str, tuple[float, Finding | None]] = {
        "equipped": (helicopter.equipped_kg, Finding.of("sheet-named", name=helicopter.name)),
        "crew": (rig.crew_kg, None),
        "fuel": (fuel_kg, Finding.of("sheet-first-lift")),
        "operating mass": (operating, Finding.of("sheet-operating")),
        "chart limit": (power.chart_kg, reading),
        "vertical climb": (
            power.climb_kg,
            Finding.of("sheet-climb", climb_m_s=power.climb_m_s)
            if power.climb_m_s > 0
            else Finding.of("sheet-no-climb"),
        ),
        "weight reduction": (helicopter.weight_reduction_kg, Finding.of("sheet-reduction")),
        "hover margin": (power.margin_kg, Finding.of("sheet-in-hand", share=task.hover_margin_share or None)),
        "adjusted": (power.adjusted_kg, Finding.of("sheet-adjusted")),
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
