import math
from dataclasses import replace
from pathlib import Path

import pytest
from demo_flight import (
    ALTITUDES_M,
    BUCKET,
    CREW_KG,
    FRESH,
    LIGHT,
    NO_LINE,
    RIG,
    TASK,
    TEMPERATURES_K,
    changed,
)
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.records import HoverChart, HoverCurve, Line
from diproute.sortie.load import Place, load_sheet
from diproute.units import parse
from diproute.wording import label, say

NAN = math.nan
DIP, DROP = Place("dip", 1500.0, 300.0), Place("drop", 1700.0, 302.0)
PAGE = Path(__file__).parents[2] / "docs" / "load.md"


def sheet(fuel_kg=290.0, places=(DIP, DROP), take_off_fuel_kg=None, **changes):
    return load_sheet(changed(RIG, **changes), changed(TASK, **changes), places, fuel_kg, take_off_fuel_kg)


def lines(load):
    return {line.name: line.mass_kg for line in load.lines}


def notes(load):
    return {line.name: "" if line.note is None else say(line.note) for line in load.lines}


def _tables():
    """Every table of the page, as rows of cells without their heading."""
    tables, rows = [], []
    for text in [*PAGE.read_text().splitlines(), ""]:
        if text.startswith("|"):
            rows.append([cell.strip() for cell in text.strip("|").split("|")])
        elif rows:
            tables.append((rows[0], rows[2:]))
            rows = []
    return tables


def test_the_worked_example_of_the_page():
    (_, given_rows), (head, chart_rows), (_, form) = _tables()
    kinds = {"fuel": "volume", "capacity": "volume", "fuel density": "density", "water": "density", "line": "length",
             "line mass": "line_mass", "fill": "ratio", "dip altitude": "length", "drop altitude": "length",
             "dip temperature": "temperature", "drop temperature": "temperature"}  # fmt: skip
    g = {name: parse(value, kinds.get(name, "mass"), name) for name, value in given_rows}
    altitudes = tuple(parse(row[0], "length", "chart") for row in chart_rows)
    chart = HoverChart(
        tuple(
            HoverCurve(
                parse(head[i], "temperature", "chart"),
                altitudes,
                tuple(parse(r[i], "mass", "chart") for r in chart_rows),
            )
            for i in (1, 2)
        )
    )
    helicopter = replace(
        LIGHT, equipped_kg=g["equipped"], weight_reduction_kg=g["weight reduction"], hook_limit_kg=g["hook limit"],
        max_gross_external_kg=g["certificated limit"], fuel_density_kg_l=g["fuel density"], hoge=chart,
    )  # fmt: skip
    got = sheet(
        helicopter=helicopter,
        bucket=replace(BUCKET, capacity_l=g["capacity"], empty_kg=g["bucket"]),
        line=Line(g["line"], g["line"] * g["line mass"]),
        crew_kg=g["crew"],
        fuel_kg=g["fuel"] * g["fuel density"],
        water_kg_l=g["water"],
        places=[Place(at, g[f"{at} altitude"], g[f"{at} temperature"]) for at in ("dip", "drop")],
        fill=g["fill"],
        hover_margin_kg=g["hover margin"],
    )
    assert [line.name for line in got.lines] == [row[0] for row in form]
    for line, (name, printed, _) in zip(got.lines, form, strict=True):
        decimals = len(printed.partition(".")[2])
        assert line.mass_kg == pytest.approx(float(printed), abs=0.5001 * 10**-decimals), name
    assert (got.governed_by, got.place, got.fill) == ("hover limit", "drop", 0.8)
    assert got.water_l == pytest.approx(656.0)
    assert got.margin_kg == pytest.approx(50.3404)


def test_every_line_has_the_word_of_the_form():
    said = [label(line.name, "us") for line in sheet().lines]
    assert said[:5] == [
        "equipped weight", "crew weight", "fuel weight", "operating weight", "computed gross weight (HOGE chart)",
    ]  # fmt: skip
    assert said[5] == "vertical climb"
    assert said[8:12] == ["adjusted weight", "gross weight limit", "selected weight", "allowable payload"]
    assert notes(sheet())["chart limit"] == "HOGE at drop, the least of: dip, drop"
    assert notes(sheet(places=(DIP,)))["chart limit"] == "HOGE at dip"
    assert notes(sheet(fill=0.6))["water carried"] == "60 % of the bucket"


def test_the_worst_place_governs_in_any_order():
    for places in ((DIP, DROP), (DROP, DIP)):
        assert sheet(places=places).place == "drop"
    hot_dip = Place("dip", 1700.0, 310.0)
    assert sheet(places=(hot_dip, DROP)).place == "dip"
    assert sheet(places=(hot_dip, DROP)).hoge_limit_kg < sheet(places=(DROP,)).hoge_limit_kg


def test_the_highest_setting_that_lifts_is_taken():
    light, heavy = sheet(fuel_kg=280.0), sheet(fuel_kg=330.0)
    assert light.fill == 1.0
    assert light.governed_by == "fill setting"
    assert heavy.fill == 0.9
    assert heavy.governed_by == "hover limit"
    assert 0.0 <= heavy.margin_kg < 0.1 * 820 * FRESH


def test_a_fixed_setting_stands_even_where_more_would_lift():
    for fuel_kg in (290.0, 330.0):  # the whole bucket would lift; 90 % of it
        load = sheet(fill=0.6, fuel_kg=fuel_kg)
        assert load.water_l == pytest.approx(492.0)
        assert load.governed_by == "fill setting"


def test_certificated_mass_governs_in_thick_air():
    thick = sheet(places=(Place("dip", 0.0, 283.15),), fuel_kg=430.0, crew_kg=180.0)
    assert thick.governed_by == "certificated mass"
    assert lines(thick)["selected"] == 2750.0
    assert thick.fill == 0.9  # 2750 - 1300 - 180 - 430 - 92.9 = 747.1 kg; 90 % weighs 737.3


def test_hook_limit_governs_under_a_weak_hook():
    weak = sheet(helicopter=replace(LIGHT, hook_limit_kg=700.0), fuel_kg=200.0)
    assert weak.governed_by == "hook limit"
    assert weak.margin_kg == pytest.approx(700.0 - 92.9 - 0.7 * 820 * FRESH)


def test_no_lift_is_said_and_no_negative_payload_shown():
    load = sheet(crew_kg=1500.0)
    shown, told = lines(load), notes(load)
    assert shown["allowable payload"] == shown["water allowed"] == shown["water carried"] == 0.0
    assert told["allowable payload"] == told["water allowed"] == told["water carried"] == "no lift"
    assert load.water_l == load.water_kg == 0.0
    assert load.margin_kg == pytest.approx(shown["selected"] - shown["operating mass"] - 92.9 - 0.6 * 820 * FRESH)
    assert load.margin_kg < 0
    assert load.governed_by == "hover limit"


def test_a_fixed_setting_that_is_too_heavy_carries_nothing():
    load = sheet(fill=1.0, fuel_kg=330.0)
    assert load.water_l == 0.0
    assert load.margin_kg < 0.0
    assert lines(load)["water allowed"] > 0.0


def test_outside_the_chart_is_not_known():
    hot = Place("drop", 1700.0, 330.0)
    for places in ((DIP, hot), (hot, DIP)):
        load = sheet(places=places)
        assert (load.place, load.governed_by) == ("drop", "hover limit")
        assert math.isnan(load.water_l)
        assert math.isnan(load.margin_kg)
        assert math.isnan(lines(load)["water allowed"])
        assert "hottest curve" in notes(load)["chart limit"]


def test_part_fill_takes_what_lifts():
    part = sheet(bucket=replace(BUCKET, part_fill=True), fuel_kg=330.0)
    assert part.water_kg == pytest.approx(lines(part)["water allowed"])
    assert part.margin_kg == pytest.approx(0.0, abs=1e-9)
    assert part.governed_by == "hover limit"
    assert sheet(bucket=replace(BUCKET, part_fill=True), fuel_kg=200.0).governed_by == "fill setting"
    assert sheet(bucket=replace(BUCKET, part_fill=True), crew_kg=1500.0).water_l == 0.0


@pytest.mark.parametrize("short_kg", [0.0, 5e-10])
def test_a_setting_that_fits_to_the_gram_is_carried(short_kg):
    """What the last digit of a sum makes of a load that fits is no reason to leave it."""
    hook_kg = RIG.tare_kg + 820.0 * FRESH - short_kg
    load = sheet(helicopter=replace(LIGHT, hook_limit_kg=hook_kg), fuel_kg=200.0)
    assert load.fill == 1.0
    assert load.water_l == pytest.approx(820.0)
    assert load.margin_kg == pytest.approx(0.0, abs=1e-9)
    assert load.margin_kg >= 0.0


def test_a_part_fill_with_room_for_nothing_is_too_heavy_and_with_a_little_carries_that():
    part = replace(BUCKET, part_fill=True)
    nothing, little = (
        sheet(bucket=part, helicopter=replace(LIGHT, hook_limit_kg=RIG.tare_kg + room), fuel_kg=200.0)
        for room in (0.0, 0.5)
    )
    assert (nothing.water_kg, nothing.margin_kg) == (0.0, pytest.approx(-0.6 * 820.0 * FRESH))
    assert (little.water_kg, little.margin_kg) == (pytest.approx(0.5), pytest.approx(0.0))


def test_line_gear_and_margin_come_off_the_water_kilogram_for_kilogram():
    allowed = lines(sheet())["water allowed"]
    assert lines(sheet(line=NO_LINE))["water allowed"] == pytest.approx(allowed + 22.9)
    assert lines(sheet(bucket=replace(BUCKET, gear_kg=30.0)))["water allowed"] == pytest.approx(allowed - 30.0)
    assert lines(sheet(hover_margin_kg=50.0))["water allowed"] == pytest.approx(allowed - 50.0)


def test_salt_water_weighs_more():
    fresh, salt = sheet(fill=0.8), sheet(fill=0.8, water_kg_l=1.025)
    assert salt.water_l == pytest.approx(fresh.water_l)
    assert salt.water_kg / fresh.water_kg == pytest.approx(1.025 / 0.9991)
    assert salt.margin_kg < fresh.margin_kg


def test_fuel_at_the_base_is_what_the_record_says():
    load = sheet(fuel_kg=290.0, take_off_fuel_kg=310.0)
    assert load.fuel_kg == 310.0
    assert lines(load)["fuel"] == 290.0
    assert sheet(fuel_kg=290.0).fuel_kg == 290.0


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"places": ()}, "no place"),
        ({"fill": 0.0}, "fill"),
        ({"fill": 1.01}, "fill"),
        ({"water_kg_l": 0.89}, "kg/L"),
        ({"water_kg_l": 1.31}, "kg/L"),
        ({"water_kg_l": NAN}, "kg/L"),
        ({"crew_kg": -1.0}, "crew"),
        ({"fuel_kg": NAN}, "fuel"),
        ({"hover_margin_kg": -5.0}, "hover margin"),
        ({"fuel_kg": 433.0}, "tank holds 432.0 kg"),
    ],
)
def test_what_no_form_can_hold_is_refused(changes, says):
    with pytest.raises(RangeError, match=says):
        sheet(**changes)


@pytest.mark.parametrize(
    "changes",
    [{"water_kg_l": 0.9}, {"water_kg_l": 1.3}, {"crew_kg": 0.0}, {"fuel_kg": 0.0}, {"fuel_kg": 432.0}, {"fill": 1.0}],
)
def test_the_ends_of_what_a_form_can_hold_are_taken(changes):
    assert not math.isnan(sheet(**changes).margin_kg)


inside = st.builds(
    Place, st.just("dip"), st.floats(ALTITUDES_M[0], 4000.0), st.floats(TEMPERATURES_K[0], TEMPERATURES_K[-1])
)
fuels = st.floats(0.0, 432.0)


@given(inside, st.floats(0, 20), st.floats(0, 200), fuels, fuels, st.booleans())
def test_water_never_rises_with_heat_height_or_fuel(place, hotter_k, higher_m, fuel_a, fuel_b, part_fill):
    bucket = replace(BUCKET, part_fill=part_fill)
    worse = Place("dip", place.pressure_altitude_m + higher_m, place.temperature_k + hotter_k)
    little, much = sorted((fuel_a, fuel_b))
    good = sheet(bucket=bucket, places=(place,), fuel_kg=little)
    bad = sheet(bucket=bucket, places=(worse,), fuel_kg=much)
    if not math.isnan(bad.water_kg):
        assert bad.water_kg <= good.water_kg + 1e-6


@given(inside, inside, fuels, st.sampled_from([None, 1.0, 0.8, 0.6]), st.booleans())
def test_what_is_carried_breaks_no_limit(dip, drop, fuel_kg, fill, part_fill):
    load = sheet(bucket=replace(BUCKET, part_fill=part_fill), places=(dip, drop), fuel_kg=fuel_kg, fill=fill)
    gross = LIGHT.equipped_kg + CREW_KG + fuel_kg + 92.9 + load.water_kg
    if load.water_kg > 0:
        assert gross <= min(load.hoge_limit_kg - 60.0, 2750.0) + 1e-6
        assert 92.9 + load.water_kg <= LIGHT.hook_limit_kg + 1e-6
        assert load.water_l <= load.fill * 820.0 + 1e-6
        assert load.margin_kg >= 0.0
    else:
        assert load.margin_kg <= 0.0
