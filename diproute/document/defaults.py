"""The numbers that nobody gave and that decided something, each with its source."""

from __future__ import annotations

from typing import Final

from diproute import constants as k
from diproute import records
from diproute.document.asked import Default

_LIMITS: Final[dict[str, tuple[str, k.Constant]]] = {
    "reserve": ("reserve_s", k.RESERVE_S),
    "tailwind": ("tailwind_m_s", k.TAILWIND_M_S),
    "crosswind": ("crosswind_m_s", k.CROSSWIND_M_S),
    "shore_clearance": ("shore_clearance_m", k.SHORE_CLEARANCE_M),
    "rotor_margin": ("rotor_margin_m", k.ROTOR_MARGIN_M),
    "side_slope": ("side_slope", k.SIDE_SLOPE),
    "side_length": ("side_length_m", k.SIDE_LENGTH_M),
    "load_margin": ("load_margin_m", k.LOAD_MARGIN_M),
    "wire_margin": ("wire_margin_m", k.WIRE_MARGIN_M),
    "departure_gradient": ("departure_gradient", k.SURFACE_SLOPE),
    "arrival_gradient": ("arrival_gradient", k.SURFACE_SLOPE),
    "corridor_start": ("corridor_start_m", k.CORRIDOR_START_M),
    "corridor_spread": ("corridor_spread", k.CORRIDOR_SPREAD),
    "corridor_length": ("corridor_length_m", k.CORRIDOR_LENGTH_M),
    "least_lift": ("least_lift_m", k.LEAST_LIFT_M),
    "lift_limit": ("lift_limit_m", k.LIFT_LIMIT_M),
    "cruise_clearance": ("cruise_clearance_m", k.CRUISE_CLEARANCE_M),
    "lateral_clearance": ("lateral_clearance_m", k.LATERAL_CLEARANCE_M),
    "drop_height": ("drop_height_m", k.DROP_HEIGHT_M),
    "drop_lift_limit": ("drop_lift_limit_m", k.DROP_LIFT_LIMIT_M),
    "gust_spread": ("gust_spread_m_s", k.GUST_SPREAD_M_S),
    "vertical_descent": ("vertical_descent_m_s", k.VERTICAL_DESCENT_M_S),
    "turn_clearance": ("turn_clearance_m", k.TURN_CLEARANCE_M),
}
_CIRCLES: Final = {1: k.HOVER_CIRCLE_TYPE_1_M, 2: k.HOVER_CIRCLE_TYPE_2_M, 3: k.HOVER_CIRCLE_TYPE_3_M}
# constants of `diproute.constants` that a key of the incident file takes the place of
_KEYED: Final = (
    *(constant for _, constant in _LIMITS.values()), *_CIRCLES.values(), k.REFUEL_S, k.SEARCH_RADIUS_M, k.SEARCH_KEEP,
    k.SCORE_WEIGHT, k.LINE_MASS_KG_M, k.LINE_SETTLE_S_M, k.KEEP_APART_M, k.HOVER_MARGIN_SHARE, k.WIND_TYPE_3_M_S,
    k.WIND_TYPE_1_2_M_S, k.PEOPLE_ROTORS, k.PEOPLE_LEAST_M, k.TURN_SPEED_M_S, k.TURN_BANK_DEG,
)  # fmt: skip
# rules from print or from memory that no key changes
_RULES: Final = (
    "HIGH_DENSITY_ALTITUDE_M", "FRESH_WATER_KG_L", "SEA_WATER_KG_L", "DAYLIGHT_MARGIN_S", "FLIGHT_DAY_S", "DUTY_DAY_S",
    "FLIGHT_SIX_DAYS_S", "VORTEX_RING_M_S", "EFFECTIVE_LIFT_M_S", "STEEP_APPROACH_DEG",
)  # fmt: skip
# bounds that an input is refused at: where there is a plan they have decided nothing
_REFUSING: Final = (
    k.CELLS_AT_MOST, k.LEAST_QNH_PA, k.MOST_QNH_PA, k.QNH_DISAGREE_PA, k.LEAST_TEMPERATURE_K, k.MOST_TEMPERATURE_K,
    k.MOST_WIND_M_S,
)  # fmt: skip


def defaults(assessed: records.Assessed) -> tuple[Default, ...]:
    """List the numbers at their default, by the key that changes them, and those of this project that no key changes.

    A number that was given and is the same as its default is listed like one that was not.

    Returns
    -------
    tuple of Default
        Keys of the incident file first, ``"limits.tailwind"``; then names of `diproute.constants`.
    """
    incident = assessed.incident
    found = [
        _told(f"limits.{key}", constant)
        for key, (name, constant) in _LIMITS.items()
        if getattr(incident.limits, name) == constant.value
    ]
    if incident.limits.hover_circle_m is None:
        found.append(_told("limits.hover_circle", _CIRCLES[incident.helicopter.type]))
    limits, craft = incident.limits, incident.helicopter
    for key, at_default, constant in (
        ("limits.keep_apart", limits.keep_apart_m is None and incident.keep_apart_m > 0, k.KEEP_APART_M),
        (
            "limits.hover_margin",
            limits.hover_margin_kg is None and limits.hover_margin_share == k.HOVER_MARGIN_SHARE.value,
            k.HOVER_MARGIN_SHARE,
        ),
        ("limits.wind", limits.wind_m_s is None, k.WIND_TYPE_3_M_S if craft.type == 3 else k.WIND_TYPE_1_2_M_S),
        ("limits.people_distance", limits.people_distance_m is None, k.PEOPLE_ROTORS),
        ("limits.people_distance", limits.people_distance_m is None, k.PEOPLE_LEAST_M),
        ("helicopter.turn_speed", craft.turn_speed_m_s == k.TURN_SPEED_M_S.value, k.TURN_SPEED_M_S),
        ("helicopter.turn_bank", craft.turn_bank_deg == k.TURN_BANK_DEG.value, k.TURN_BANK_DEG),
    ):
        if at_default:
            found.append(_told(key, constant))
    if set(incident.limits.weights) == {k.SCORE_WEIGHT.value}:
        found.append(_told("limits.weights", k.SCORE_WEIGHT))
    for key, value, constant in (
        ("search.radius", incident.search.radius_m, k.SEARCH_RADIUS_M),
        ("search.keep", float(incident.search.keep), k.SEARCH_KEEP),
        ("base.refuel", None if incident.base is None else incident.base.refuel_s, k.REFUEL_S),
    ):
        if value == constant.value:
            found.append(_told(key, constant))
    long = [line for line in incident.lines if line.length_m > 0]
    if any(abs(line.mass_kg - k.LINE_MASS_KG_M.value * line.length_m) < 1e-9 for line in long):
        found.append(_told("lines.mass_per_metre", k.LINE_MASS_KG_M))
    if any(abs(line.settle_s - k.LINE_SETTLE_S_M.value * line.length_m) < 1e-9 for line in long):
        found.append(_told("lines.settle", k.LINE_SETTLE_S_M))
    return (*found, *(_told(name, constant) for name, constant in _of_this_project(assessed)))


def _of_this_project(assessed: records.Assessed) -> list[tuple[str, k.Constant]]:
    """Give the assumptions, the practice and the rules that no key changes and that had a say in this plan."""
    silent = {
        "UNCERTAIN_": assessed.doubt is None,
        "DIP_SPACING_": assessed.fleet is None,
        "SEA_WATER_": not any(water.salt for water in assessed.waters),
        "FRESH_WATER_": all(water.salt for water in assessed.waters),
        "DAYLIGHT_": assessed.day is None,
        "FLIGHT_": assessed.duty is None,
        "DUTY_": assessed.duty is None,
        "WIRE_": not any(obstacle.is_wire for obstacle in assessed.ground.obstacles),
    }
    gone = tuple(start for start, without in silent.items() if without)
    return [
        (name, constant)
        for name, constant in vars(k).items()
        if isinstance(constant, k.Constant)
        and (name in _RULES or constant.source.trust in ("assumption", "practice"))
        and not any(constant is other for other in (*_KEYED, *_REFUSING))
        and not name.startswith(gone)
    ]


def _told(key: str, constant: k.Constant) -> Default:
    source = constant.source
    year = "" if source.year is None else f" ({source.year})"
    return Default(
        key=key,
        value=constant.value,
        unit=constant.unit,
        source=f"{source.title}{year}: {source.locator}",
        trust=source.trust,
    )
