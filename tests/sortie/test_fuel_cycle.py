import math
from dataclasses import replace

import numpy as np
import pytest
from demo_flight import BUCKET, CREW_KG, FRESH, L_H, LIGHT, RIG, TASK, changed, constant_power_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.sortie.cycle import RoundTrip, cost_of, cycle
from diproute.sortie.fuel_cycle import NO_BASE, best
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry
from diproute.wording import Reader, say

DIP, DROP = Place("dip", 1500.0, 300.0), Place("drop", 1700.0, 302.0)
TANK_KG, EMPTY = 432.0, 165 * L_H
FERRY = Ferry(300.0, 280.0, 720.0, "drop")


def trip(loaded_s=100.0, empty_s=90.0):
    return cycle(RIG, RoundTrip(loaded_s, empty_s, 15.0, 15.0))


def after_drop(one):
    cost = cost_of(one)
    return float(cost.after_s), float(cost.after_kg)


def answer(bucket=BUCKET, leg_s=100.0, places=(DIP, DROP), **changes):
    rig, task = changed(RIG, bucket=bucket, **changes), changed(TASK, **({"ferry": FERRY} | changes))
    return best(rig, task, places, trip(leg_s, 0.9 * leg_s))


def fly(fuel_kg, fill, one, room_kg, ferry, reserve_s, part_fill):
    """Fly a fuel cycle load by load; water an hour [L/h] and water [L], NaN where it cannot be flown.

    ``room_kg`` is fuel and water together that hover at the worst place. An independent twin of the optimiser.
    """
    spared_s, spared_kg = after_drop(one) if ferry and ferry.home_from == "drop" else (0.0, 0.0)
    out_s, home_s, refuel_s = (ferry.out_s, ferry.home_s, ferry.refuel_s) if ferry else (0.0, 0.0, 0.0)
    fuel, seconds, litres = fuel_kg - out_s * EMPTY, out_s, 0.0
    while fuel - one.burn_kg + spared_kg - home_s * EMPTY >= reserve_s * EMPTY - 1e-9:
        water = min(fill * 820 * FRESH, LIGHT.hook_limit_kg - 92.9, room_kg - fuel)
        if water <= 0 or (not part_fill and water < fill * 820 * FRESH - 1e-9):
            return math.nan, math.nan
        litres += water / FRESH
        fuel -= one.burn_kg
        seconds += one.seconds
    if litres == 0.0:
        return math.nan, math.nan
    return 3600 * litres / (seconds - spared_s + home_s + refuel_s), litres


def room(got):
    sheet = {line.name: line.mass_kg for line in got.load.lines}
    return sheet["selected"] - 1300.0 - CREW_KG - 92.9


ferries = st.builds(Ferry, st.floats(10, 900), st.floats(10, 900), st.floats(0, 1200), st.sampled_from(["drop", "dip"]))


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-500, 4000), st.floats(-15, 45), st.floats(20, 600), st.one_of(st.none(), ferries), st.booleans(),
    st.sampled_from([600.0, 1200.0]), st.sampled_from([0.0, 60.0]),
)  # fmt: skip
def test_the_grid_of_fill_and_fuel_finds_nothing_better(height, celsius, leg_s, ferry, part_fill, reserve_s, margin):
    places = (Place("dip", height, 273.15 + celsius),)
    bucket = replace(BUCKET, part_fill=part_fill)
    got = answer(bucket, leg_s, places=places, ferry=ferry, reserve_s=reserve_s, hover_margin_kg=margin)
    one = trip(leg_s, 0.9 * leg_s)
    flown = [
        fly(fuel, fill, one, room(got), ferry, reserve_s, part_fill)
        for fill in BUCKET.fills
        for fuel in np.append(np.arange(1.0, TANK_KG), TANK_KG)
    ]
    grid = np.array(flown)[:, 0 if ferry else 1]  # with no base, water from one fuel load is what counts
    if got.sortie is None:
        assert np.isnan(grid).all()
        assert got.refused
        return
    chosen = got.sortie.litres_per_hour if ferry else got.sortie.litres
    assert np.nan_to_num(grid).max() <= chosen * (1 + 1e-9)
    # and what was chosen can be flown, load by load, by the twin
    rate, litres = fly(got.load.fuel_kg, got.load.fill, one, room(got), ferry, reserve_s, part_fill)
    assert rate == pytest.approx(got.sortie.litres_per_hour)
    assert litres == pytest.approx(got.sortie.litres)
    assert sum(got.sortie.loads_l) == pytest.approx(litres)
    assert len(got.sortie.loads_l) == got.sortie.cycles
    assert got.load.fuel_kg <= TANK_KG + 1e-9


def test_fuel_cycle_by_hand():
    got = answer(fuel=0.5, fill=0.8)
    one, (spared_s, spared_kg) = trip(100.0, 90.0), after_drop(trip(100.0, 90.0))
    to_spend = 216.0 - (300 + 280 + 1200) * EMPTY + spared_kg
    cycles = math.floor(to_spend / one.burn_kg)
    assert got.sortie.cycles == cycles
    assert got.sortie.seconds == pytest.approx(300 + cycles * one.seconds - spared_s + 280 + 720)
    assert got.sortie.litres == pytest.approx(cycles * 656.0)
    assert got.sortie.litres_per_hour == pytest.approx(3600 * cycles * 656.0 / got.sortie.seconds)
    assert got.sortie.reserve_kg == pytest.approx(44.0)  # 20 min of 165 L/h at 0.8 kg/L
    assert got.sortie.first_drop_s == pytest.approx(300 + one.seconds - spared_s)
    assert got.load.fuel_kg == 216.0


def test_margins_grow_by_the_fuel_of_a_cycle():
    got = answer()
    assert got.sortie.margins_kg[0] == pytest.approx(got.load.margin_kg)
    np.testing.assert_allclose(np.diff(got.sortie.margins_kg), trip().burn_kg)
    assert min(got.sortie.margins_kg) >= 0.0


def test_part_fill_loads_grow_as_fuel_burns_off():
    part = answer(replace(BUCKET, part_fill=True), places=(DROP, Place("dip", 2500.0, 303.15)), fuel=0.9)
    loads = np.array(part.sortie.loads_l)
    assert loads[0] < loads[3] <= 820.0
    assert (np.diff(loads) >= 0).all()
    fixed = answer(places=(DROP, Place("dip", 2500.0, 303.15)), fuel=0.9)
    assert part.sortie.litres > fixed.sortie.litres
    assert len(set(fixed.sortie.loads_l)) == 1


def test_a_setting_or_fuel_that_the_crew_has_fixed_stays():
    assert answer(fuel=0.8).load.fuel_kg == pytest.approx(345.6)
    assert answer(fill=0.6).load.fill == 0.6
    both = answer(fuel=0.8, fill=0.6)
    assert (both.load.fuel_kg, both.load.fill) == (pytest.approx(345.6), 0.6)
    assert both.sortie.litres_per_hour <= answer(fuel=0.8).sortie.litres_per_hour <= answer().sortie.litres_per_hour


def test_no_base_says_so_and_counts_cycles_only():
    got = answer(ferry=None)
    assert got.sortie.note == NO_BASE
    assert got.sortie.seconds == pytest.approx(got.sortie.cycles * trip(100.0, 90.0).seconds)
    assert answer().sortie.note is None


def test_the_way_home_from_the_drop_leaves_the_last_leg_out():
    drop, dip = answer(fuel=0.8), answer(fuel=0.8, ferry=replace(FERRY, home_from="dip"))
    assert drop.sortie.cycles >= dip.sortie.cycles
    spared_s = after_drop(trip(100.0, 90.0))[0]
    per_cycle = trip(100.0, 90.0).seconds
    more = (drop.sortie.cycles - dip.sortie.cycles) * per_cycle
    assert drop.sortie.seconds == pytest.approx(dip.sortie.seconds + more - spared_s)


def test_the_curve_holds_the_answer_and_marks_the_forbidden_side():
    got = answer(places=(DROP, Place("dip", 2500.0, 303.15)))
    allowed = [point for point in got.curve if not math.isnan(point.litres_per_hour)]
    top = max(allowed, key=lambda point: point.litres_per_hour)
    assert top.litres_per_hour == pytest.approx(got.sortie.litres_per_hour)
    assert top.fuel_kg == pytest.approx(got.load.fuel_kg)
    assert top.margin_kg == pytest.approx(got.load.margin_kg)
    assert top.cycles == got.sortie.cycles
    for point in got.curve:
        assert (point.margin_kg < -1e-9) == math.isnan(point.litres_per_hour)
        assert point.fuel_kg <= TANK_KG + 1e-9
    forbidden = [point for point in got.curve if math.isnan(point.litres_per_hour)]
    assert forbidden
    assert all(point.cycles == 0 for point in forbidden)
    for fill in BUCKET.fills:  # every setting in rising fuel, allowed first
        side = [math.isnan(point.litres_per_hour) for point in got.curve if point.fill == fill]
        assert side == sorted(side)
    fixed = answer(places=(DROP, Place("dip", 2500.0, 303.15)), fuel=0.5, fill=0.6)
    assert repr(fixed.curve) == repr(got.curve)  # the whole curve whatever the crew has fixed; NaN is not equal to NaN


def test_the_curve_ends_where_the_margin_does():
    got = answer(places=(Place("dip", 3000.0, 303.15),))
    ends = [p for p in got.curve if p.fill == 0.8 and not math.isnan(p.litres_per_hour)]
    assert ends[-1].margin_kg == pytest.approx(0.0, abs=1e-6)
    assert ends[-1].fuel_kg < TANK_KG


@pytest.mark.parametrize(
    ("changes", "code", "says"),
    [
        (
            {"places": (DIP, Place("drop", 1700.0, 330.0))},
            "outside-chart",
            "drop: 56.9 °C is above the chart's hottest",
        ),
        ({"crew_kg": 900.0}, "no-lift", "too heavy: hover limit at drop"),
        ({"fuel": 0.1}, "fuel-short", "and 43 kg is all there is"),
        ({"reserve_s": 20000.0}, "fuel-short", "and 432 kg is all there is"),
        (
            {"fuel": 1.0, "fill": 1.0, "places": (Place("dip", 2500.0, 303.15),)},
            "no-lift",
            "at a bucket setting of 100 %",
        ),
    ],
)
def test_no_sortie_has_its_reason(changes, code, says):
    got = answer(**changes)
    assert got.sortie is None
    assert [finding.code for finding in got.refused] == [code]
    assert says in say(got.refused[0], Reader("metric"))
    assert not got.load.water_kg > 0 or code == "fuel-short"


def test_an_unknown_chart_gives_no_curve():
    assert answer(places=(Place("drop", 1700.0, 330.0),)).curve == ()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"ferry": Ferry(math.nan, 1.0, 1.0)}, "out_s"),
        ({"ferry": Ferry(1.0, -1.0, 1.0)}, "home_s"),
        ({"ferry": Ferry(1.0, 1.0, -1.0)}, "refuel_s"),
        ({"reserve_s": -1.0}, "reserve_s"),
        ({"fuel": 0.0}, "fuel"),
        ({"fuel": 80.0}, "fuel"),
        ({"places": ()}, "no place"),
    ],
)
def test_what_cannot_be_flown_is_refused(changes, says):
    with pytest.raises(RangeError, match=says):
        answer(**changes)


def rate(**changes):
    got = answer(**changes)
    return 0.0 if got.sortie is None else got.sortie.litres_per_hour


@settings(max_examples=80, deadline=None)
@given(
    st.floats(-500, 3500), st.floats(-10, 40), st.floats(20, 500), ferries, st.booleans(),
    st.floats(0, 10), st.floats(0, 500), st.floats(0, 200), st.floats(0, 900), st.floats(0, 100), st.floats(0, 300),
)  # fmt: skip
def test_water_an_hour_never_rises_with_heat_height_distance_reserve_or_margin(
    height, celsius, leg_s, ferry, part_fill, hotter, higher, further_s, reserve_s, margin, way_s
):
    bucket = replace(BUCKET, part_fill=part_fill)
    here = {"bucket": bucket, "leg_s": leg_s, "ferry": ferry, "reserve_s": 600.0}
    good = rate(**here, places=(Place("dip", height, 273.15 + celsius),))
    for worse in (
        {"places": (Place("dip", height + higher, 273.15 + celsius + hotter),)},
        {"leg_s": leg_s + further_s},
        {"reserve_s": 600.0 + reserve_s},
        {"hover_margin_kg": margin},
        {"ferry": replace(ferry, out_s=ferry.out_s + way_s, home_s=ferry.home_s + way_s)},
    ):
        bad = rate(**({"places": (Place("dip", height, 273.15 + celsius),)} | here | worse))
        assert bad <= good * (1 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-500, 3500), st.floats(-10, 40), st.floats(20, 500), st.booleans(), st.floats(0, 10), st.floats(0, 500),
    st.floats(0, 900),
)  # fmt: skip
def test_with_no_base_the_water_of_a_fuel_load_never_rises(
    height, celsius, leg_s, part_fill, hotter, higher, reserve_s
):
    def litres(more_m, more_k, more_s):
        place = Place("dip", height + more_m, 273.15 + celsius + more_k)
        bucket = replace(BUCKET, part_fill=part_fill)
        got = answer(bucket, leg_s, places=(place,), ferry=None, reserve_s=600.0 + more_s)
        return 0.0 if got.sortie is None else got.sortie.litres

    good = litres(0.0, 0.0, 0.0)
    assert litres(higher, hotter, 0.0) <= good * (1 + 1e-9)
    assert litres(0.0, 0.0, reserve_s) <= good * (1 + 1e-9)


def test_hotter_than_the_cap_of_the_gearbox_changes_nothing_until_the_air_governs():
    capped = replace(LIGHT, hoge=constant_power_chart(cap_kg=2600.0))
    cold, cool = (rate(helicopter=capped, places=(Place("dip", 0.0, t),)) for t in (263.15, 283.15))
    assert cold == pytest.approx(cool)


def test_hardly_too_heavy_is_never_nothing_too_heavy():
    """Printed rounded up: what must come off is never too little."""
    fixed = {"fuel": 0.9, "fill": 0.9, "places": (DROP,)}
    spare_kg = answer(**fixed).load.margin_kg
    (why,) = answer(**fixed, hover_margin_kg=spare_kg + 0.2).refused
    assert why.values["excess_kg"] == pytest.approx(0.2)
    assert "is 1 kg too heavy" in say(why, Reader("metric"))
    assert "is 1 lb too heavy" in say(why, Reader("us"))
