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
from diproute.records import F64, Bucket, Helicopter, Line, Load, LoadLine
from diproute.sortie.hover_chart import hover_limit, why_no_answer
from diproute.units import show_share

HOVER, CERTIFICATED, HOOK, SETTING = "hover limit", "certificated mass", "hook limit", "fill setting"
GRAIN_KG = 1e-9  # masses closer than a microgram are the same mass


@dataclass(frozen=True, slots=True)
class Place:
    """A place where the load hovers. The height is the aircraft's own, line and bucket below it."""

    name: str
    pressure_altitude_m: float
    temperature_k: float


def selected_mass(helicopter: Helicopter, chart_kg: npt.ArrayLike, hover_margin_kg: float = 0.0) -> F64:
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


def tare_mass(bucket: Bucket, line_kg: npt.ArrayLike) -> F64:
    """Weigh everything that hangs below the hook but the water: bucket, line, gear [kg], in the shape of `line_kg`.

    The gear counts against the hook as well; where it rides in the cabin this errs on the light side.
    """
    return np.asarray(line_kg, dtype=np.float64) + bucket.empty_kg + bucket.gear_kg


def load_sheet(
    helicopter: Helicopter,
    bucket: Bucket,
    line: Line,
    *,
    crew_kg: float,
    fuel_kg: float,
    water_kg_l: float,
    places: Sequence[Place],
    fill: float | None = None,
    hover_margin_kg: float = 0.0,
    take_off_fuel_kg: float | None = None,
) -> Load:
    """Work the load calculation for one lift.

    Parameters
    ----------
    helicopter, bucket, line
        What flies and what hangs.
    crew_kg
        Crew and whatever else is on board besides fuel [kg].
    fuel_kg
        Fuel on board when the load is lifted [kg].
    water_kg_l
        Density of the water, fresh or salt, foam included [kg/L].
    places
        Where the load hovers, at least one.
    fill
        Fill setting as a fraction; None takes the bucket's highest that can be lifted (of a bucket that may be
        dipped part-full, its highest).
    hover_margin_kg
        Power in hand wanted on top of the chart, as mass [kg].
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
    _check(helicopter, crew_kg, fuel_kg, water_kg_l, places, fill, hover_margin_kg)
    readings = [float(hover_limit(helicopter.hoge, p.pressure_altitude_m, p.temperature_k)) for p in places]
    worst = int(np.argmin(readings))  # a NaN wins: what is not known governs
    place, chart = places[worst], readings[worst]
    operating = helicopter.equipped_kg + crew_kg + fuel_kg
    adjusted = chart - helicopter.weight_reduction_kg - hover_margin_kg
    certificated = helicopter.max_gross_external_kg
    selected = float(selected_mass(helicopter, chart, hover_margin_kg))
    tare = float(tare_mass(bucket, line.mass_kg))
    rooms = {
        HOVER: adjusted - operating - tare,
        CERTIFICATED: certificated - operating - tare,
        HOOK: helicopter.hook_limit_kg - tare,
    }
    least = HOVER if np.isnan(chart) else min(rooms, key=lambda name: rooms[name])
    room = rooms[least]
    setting, water, margin = _carry(bucket, room, water_kg_l, fill)
    governed = SETTING if _setting_governs(bucket, setting, water, room, water_kg_l) else least
    unknown = why_no_answer(helicopter.hoge, place.pressure_altitude_m, place.temperature_k)
    among = f", the least of: {', '.join(p.name for p in places)}" if len(places) > 1 else ""
    no_lift = "no lift" if room <= 0 else ""
    payload = selected - operating
    lines = (
        LoadLine("equipped", helicopter.equipped_kg, helicopter.name),
        LoadLine("crew", crew_kg),
        LoadLine("fuel", fuel_kg, "on board at the first lift"),
        LoadLine("operating mass", operating, "equipped + crew + fuel"),
        LoadLine("chart limit", chart, unknown or f"HOGE at {place.name}{among}"),
        LoadLine("weight reduction", helicopter.weight_reduction_kg, "taken off the chart"),
        LoadLine("hover margin", hover_margin_kg, "taken off the chart, power in hand"),
        LoadLine("adjusted", adjusted, "chart limit - weight reduction - hover margin"),
        LoadLine("certificated limit", certificated, "with a jettisonable external load"),
        LoadLine("selected", selected, "the lesser of adjusted and certificated limit"),
        LoadLine("allowable payload", _shown(payload), "selected - operating mass" if payload > 0 else "no lift"),
        LoadLine("bucket", bucket.empty_kg, bucket.name),
        LoadLine("line", line.mass_kg, "on the belly hook" if line.length_m == 0 else "long line"),
        LoadLine("gear", bucket.gear_kg),
        LoadLine("hook limit", helicopter.hook_limit_kg),
        LoadLine("water allowed", _shown(room), no_lift or f"by the {least}, less bucket, line and gear"),
        LoadLine("water carried", water, "no lift" if water == 0 else f"{show_share(setting)} of the bucket"),
        LoadLine("left", margin, "too heavy by this much" if margin < 0 else "under the limit with this load"),
    )
    return Load(
        water_l=water / water_kg_l,
        water_kg=water,
        fill=setting,
        fuel_kg=fuel_kg if take_off_fuel_kg is None else take_off_fuel_kg,
        governed_by=governed,
        place=place.name,
        hoge_limit_kg=chart,
        margin_kg=margin,
        lines=lines,
    )


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


def _setting_governs(bucket: Bucket, setting: float, water: float, room: float, water_kg_l: float) -> bool:
    """Whether it is the bucket's setting, not a limit, that keeps the water where it is."""
    full = bucket.capacity_l * water_kg_l
    if np.isnan(room) or water < setting * full - GRAIN_KG:
        return False
    higher = [f for f in bucket.fills if f > setting]
    return not higher or room >= min(higher) * full - GRAIN_KG


def _shown(mass_kg: float) -> float:
    """Show a payload as the form does: never below nothing, an unknown stays unknown."""
    return mass_kg if np.isnan(mass_kg) else max(mass_kg, 0.0)


def _check(
    helicopter: Helicopter,
    crew_kg: float,
    fuel_kg: float,
    water_kg_l: float,
    places: Sequence[Place],
    fill: float | None,
    hover_margin_kg: float,
) -> None:
    """Refuse what no form can hold."""
    if not places:
        raise RangeError("no place came; give at least one where the load hovers, such as the dip", where="places")
    if fill is not None and not 0.0 < fill <= 1.0:
        raise RangeError(f"fill {fill!r} came; give a fraction above 0 and up to 1", where="fill", got=fill)
    if not 0.9 <= water_kg_l <= 1.3:
        raise RangeError(
            f"water of {water_kg_l!r} kg/L came; fresh water is about 1.0, sea water 1.025 kg/L: give 0.9 to 1.3",
            where="water_kg_l",
            got=water_kg_l,
        )
    for name, mass in (("crew", crew_kg), ("fuel", fuel_kg), ("hover margin", hover_margin_kg)):
        if not mass >= 0.0:
            raise RangeError(f"{name} of {mass!r} kg came; give a mass of 0 kg or more", where=name, got=mass)
    tank = helicopter.fuel_capacity_kg
    if fuel_kg > tank + GRAIN_KG:
        raise RangeError(
            f"fuel of {fuel_kg:.1f} kg came, but the tank holds {tank:.1f} kg; give no more", where="fuel", got=fuel_kg
        )
