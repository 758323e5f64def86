"""The fuel holds when the last load goes to the farthest drop, and home is flown from the drop farthest from it."""

import math
from itertools import pairwise

import pytest
from small_incident import place

from diproute.records.keys import AFTER_DROP

NEAR, FAR = {"name": "Near", "at": place(900, 0), "share": 9.0}, {"name": "Far", "at": place(-2300, 1200), "share": 1.0}
RATES = [(180, 165), (240, 165), (150, 190)]  # loaded and empty [L/h]
PHASES = pytest.mark.parametrize(("loaded", "empty"), RATES)


def burns(loaded, empty):
    return {"burn.loaded": f"{loaded} L/h", "burn.empty": f"{empty} L/h"}


def left_kg(plan, site):
    """Fuel in the tank back at the base: the last load goes to the farthest drop, the others take the mean cycle."""
    craft, route, parts = plan.incident.helicopter, site.route, site.cycle.parts
    mean_s = sum(share * leg.seconds for share, leg in zip((0.9, 0.1), route.loaded, strict=True))
    farthest_s = max(leg.seconds for leg in route.loaded)
    last = sum(part.burn_kg for part in parts if part.name not in AFTER_DROP)
    last += (farthest_s - mean_s) * max(craft.burn_loaded_kg_s, craft.burn_hover_kg_s)
    out = craft.burn_empty_kg_s * route.from_base.seconds
    home = craft.burn_empty_kg_s * route.to_base.seconds
    return site.load.fuel_kg - out - (site.sortie.cycles - 1) * site.cycle.burn_kg - last - home


@PHASES
def test_the_reserve_is_left_after_the_farthest_drop(made_plan, loaded, empty):
    plan = made_plan({"drop": [NEAR, FAR]}, helicopter=burns(loaded, empty))
    legs = [[leg.seconds for leg in site.route.loaded] for site in plan.usable]
    assert max(max(seconds) / min(seconds) for seconds in legs) > 1.5
    for site in plan.usable:
        assert site.sortie.reserve_kg == pytest.approx(1200 * empty * 0.8 / 3600)
        left = left_kg(plan, site)
        assert left >= site.sortie.reserve_kg - 1e-6
        if max(loaded, 190) >= empty:  # else the longer way is counted at the empty rate, which is on the safe side
            assert left == pytest.approx(site.sortie.reserve_kg, abs=1e-6)


@PHASES
def test_and_in_every_hour_of_the_day(made_plan, loaded, empty):
    hours = "time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt\n" + "".join(
        f"2026-08-14T{hour}:00-10:00,30,1013,270,8\n" for hour in (14, 15)
    )
    weather = dict.fromkeys(("weather.temperature", "weather.qnh", "weather.wind"))
    plan = made_plan(
        {"drop": [NEAR, FAR], **weather, "weather.hourly": "hours.csv"},
        burns(loaded, empty),
        texts={"hours.csv": hours},
    )
    same = 0
    for hour in plan.day.hours:
        for site, now in zip(plan.sites, hour.sites, strict=True):
            if site.rank is not None and math.isclose(now.litres_per_hour, site.sortie.litres_per_hour, rel_tol=1e-6):
                assert now.fuel_kg == pytest.approx(site.load.fuel_kg, abs=0.01)
                same += 1
    assert same >= len(plan.usable)


def test_the_way_home_is_the_longest_of_all_drops(made_plan):
    home = {}
    for name, drops in (("near", [NEAR]), ("far", [FAR]), ("both", [NEAR, FAR]), ("turned round", [FAR, NEAR])):
        plan = made_plan({"drop": drops, "base.at": place(2600, 1800)})
        home[name] = max(site.route.to_base.seconds for site in plan.usable)
    assert home["far"] > 1.5 * home["near"]
    assert home["both"] == pytest.approx(
        home["far"], rel=0.02
    )  # the frame's middle, and with it the grid, moves a little
    assert home["turned round"] == pytest.approx(home["both"], rel=0.02)


def test_more_loads_for_the_farther_drop_never_more_water(made_plan):
    def best(share):
        plan = made_plan({"drop": [NEAR, {**FAR, "share": share}]})
        return max(site.sortie.litres_per_hour for site in plan.usable)

    waters = [best(share) for share in (0.01, 1.0, 9.0, 90.0)]
    assert all(b < 1.05 * a for a, b in pairwise(waters))  # other points may be kept
    assert waters[0] > 1.2 * waters[-1]
