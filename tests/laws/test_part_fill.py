"""A bucket that may be dipped part-full lifts what each load can be, never more, and never less water an hour."""

import pytest

PART = {"part_fill": True}
FRESH_KG_L = 0.9991
TEMPERATURES = ["18 degC", "30 degC", "38 degC", "43 degC"]


@pytest.fixture(scope="module")
def pairs(made_plan):
    def both(celsius, **helicopter):
        changes = {"weather.temperature": celsius, "weather.measured_at": "600 m", "bucket.gear": "60 kg"}
        return made_plan(changes, helicopter), made_plan(changes, helicopter, PART)

    return [*(both(celsius) for celsius in TEMPERATURES), both("18 degC", hook_limit="900 kg")]


def water(plan):
    return {site.id + site.point.chosen_for: site.sortie.litres_per_hour for site in plan.usable}


def test_never_less_water(pairs):
    more = 0
    for whole, part in pairs:
        before, after = water(whole), water(part)
        assert whole.usable[0].sortie.litres_per_hour <= part.usable[0].sortie.litres_per_hour * (1 + 1e-12)
        for key, litres_per_hour in before.items():
            assert after.get(key, litres_per_hour) >= litres_per_hour * (1 - 1e-12)
            more += after.get(key, 0.0) > litres_per_hour * 1.001
    assert more  # in the heat it is of use


def test_no_load_above_a_limit(pairs):
    growing = 0
    for _, plan in pairs:
        craft, bucket = plan.incident.helicopter, plan.incident.bucket
        for site in plan.usable:
            load, sortie = site.load, site.sortie
            tare = bucket.empty_kg + bucket.gear_kg + site.line.mass_kg
            sheet = {line.name: line.mass_kg for line in load.lines}
            kept = 1.0 - plan.incident.limits.hover_margin_share  # of what the power could hold beside the aircraft
            power = load.hoge_limit_kg - sheet["vertical climb"] - craft.weight_reduction_kg
            fuel = load.fuel_kg - craft.burn_empty_kg_s * site.route.from_base.seconds
            assert load.water_l == pytest.approx(sortie.loads_l[0])
            assert load.margin_kg == pytest.approx(sortie.margins_kg[0], abs=1e-6)
            assert len(sortie.loads_l) == len(sortie.margins_kg) == sortie.cycles
            for litres, margin in zip(sortie.loads_l, sortie.margins_kg, strict=True):
                water_kg = litres * FRESH_KG_L
                operating = craft.equipped_kg + plan.incident.crew_kg + fuel
                hung = (kept * (power - operating), craft.max_gross_external_kg - operating, craft.hook_limit_kg)
                room = min(hung) - tare - water_kg
                assert room >= -1e-6
                assert margin == pytest.approx(room, abs=1e-6)
                assert 0 < litres <= load.fill * bucket.capacity_l + 1e-9
                if litres < load.fill * bucket.capacity_l - 1e-6:
                    assert room == pytest.approx(0.0, abs=1e-6)  # nothing is left behind either
                fuel -= site.cycle.burn_kg
            assert sum(sortie.loads_l) == pytest.approx(sortie.litres)
            growing += sortie.loads_l[0] < sortie.loads_l[-1] - 1.0
    assert growing


def test_without_it_every_load_is_the_setting(pairs):
    for plan, _ in pairs:
        for site in plan.usable:
            setting = site.load.fill * plan.incident.bucket.capacity_l
            assert site.sortie.loads_l == pytest.approx([setting] * site.sortie.cycles)
            assert min(site.sortie.margins_kg) >= -1e-6
