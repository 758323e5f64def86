"""Manoeuvring is flown slowly, and burns at the largest rate that the helicopter's file gives."""

import pytest

from diproute.records import keys

TURNS = (keys.DROP_TURN, keys.DIP_TURN)
HOVERED = (keys.FILL, keys.LIFT, keys.DROP_LOWER, keys.DROPPING, keys.DROP_LIFT, keys.LOWER, *TURNS)
L_H = 0.8 / 3600  # kg/s


def burns(**l_h):
    return {f"burn.{phase}": f"{flow} L/h" for phase, flow in l_h.items()}


@pytest.mark.parametrize("largest", ["hover", "loaded", "empty"])
def test_slow_parts_burn_at_the_largest_rate(made_plan, largest):
    rates = {"hover": 180, "loaded": 170, "empty": 160, largest: 240}
    plan = made_plan(helicopter=burns(**rates))
    turned = 0
    assert plan.usable
    for site in plan.usable:
        parts = {part.name: part for part in site.cycle.parts}
        slow = parts["manoeuvre"]
        assert slow.burn_kg == pytest.approx(240 * L_H * slow.seconds)
        for name, phase in (("transit loaded", "loaded"), ("transit empty", "empty"), *((n, "hover") for n in HOVERED)):
            if name in parts:  # a pedal turn of nothing is left out
                assert parts[name].burn_kg == pytest.approx(rates[phase] * L_H * parts[name].seconds)
                turned += name in TURNS
    assert turned


def test_more_burn_of_any_phase_never_more_water(made_plan):
    usual = {"hover": 190, "loaded": 180, "empty": 165}
    best = made_plan(helicopter=burns(**usual)).usable[0].sortie.litres_per_hour
    for phase in usual:
        thirsty = made_plan(helicopter=burns(**{**usual, phase: 260}))
        assert thirsty.usable[0].sortie.litres_per_hour < best
