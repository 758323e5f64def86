"""What an incident may ask for: drops, base, fill, fuel, display, wind by height, a surface model."""

import math
from dataclasses import replace

import geopandas
import numpy as np
import pytest
import shapely
from layer_scene import FRAME
from small_incident import LAKE, POND, WIRE, place, ring

from diproute.planning.plan import assess
from diproute.planning.travel_fields import course_of

HALF_TANKS_KG = 0.5 * 540 * 0.8  # demo-light: 540 L of 0.8 kg/L


def codes(findings):
    return {finding.code for finding in findings}


def parts(site):
    return {part.name: part.seconds for part in site.cycle.parts}


@pytest.fixture(scope="module")
def two_drops(plan_of):
    drops = [{"name": "Head", "at": place(0, 0), "share": 3.0}, {"name": "Heel", "at": place(-400, 900), "share": 1.0}]
    return plan_of({"drop": drops})


def test_cycle_takes_the_legs_by_share(two_drops):
    for site in two_drops.usable:
        assert [leg.drop for leg in site.route.loaded] == ["Head", "Heel"]
        for legs, name in ((site.route.loaded, "transit loaded"), (site.route.empty, "transit empty")):
            assert parts(site)[name] == pytest.approx(0.75 * legs[0].seconds + 0.25 * legs[1].seconds)


def test_worse_drop_governs_the_load(plan_of):
    # the higher of the two drops stands on the hill, whatever its share
    drops = [{"name": "Low", "at": place(-1800, 900), "share": 9.0}, {"name": "High", "at": place(0, 0), "share": 1.0}]
    plan = plan_of({"drop": drops, "weather.temperature": "42 degC"})
    assert plan.usable
    for site in plan.usable:
        assert site.load.place in {"drop High", "dip"}
    assert any(site.load.place == "drop High" for site in plan.usable)


def test_legs_keep_every_clearance(two_drops):
    limits = two_drops.incident.limits
    for site in two_drops.usable:
        for leg in (*site.route.loaded, *site.route.empty, site.route.from_base, site.route.to_base):
            assert (leg.altitude_m >= leg.floor_m - 1e-6).all()
            middle = (leg.distance_m > 1500) & (leg.distance_m < leg.length_m - 1500)
            assert (leg.clearance_m[middle] >= limits.cruise_clearance_m - 1e-6).all()
            assert leg.time_s[0] == 0.0
            assert (np.diff(leg.time_s) >= 0).all()


def test_distances_agree_with_the_geodesic(two_drops):
    from pyproj import Geod

    for site in two_drops.usable:
        for leg in (*site.route.loaded, *site.route.empty):
            assert Geod(ellps="WGS84").line_length(leg.lon_deg, leg.lat_deg) == pytest.approx(leg.length_m, rel=1e-3)


@pytest.fixture(scope="module")
def flank(plan_of, small):
    line = shapely.LineString([(-1400, 600), (-300, 600), (900, 600)])
    table = geopandas.GeoDataFrame(geometry=[line], crs=FRAME.crs).to_crs("EPSG:4326")
    table.to_file(small.with_name("flank.geojson"))
    return plan_of({"drop": [{"name": "Flank", "along": "flank.geojson"}]}), table.to_crs(FRAME.crs).geometry[0]


def test_drop_along_a_line_is_served_where_it_suits(flank):
    plan, line = flank
    frame_x, frame_y = {}, {}
    for site in plan.usable:
        leg = site.route.loaded[0]
        x, y = FRAME.to_xy(leg.lon_deg[-1], leg.lat_deg[-1])
        assert line.distance(shapely.Point(x, y)) < 1.0
        frame_x.setdefault(site.point.water.name, []).append(float(x))
        frame_y[site.point.water.name] = float(y)
    assert min(frame_x["Long Lake"]) > max(frame_x["Ringed Pond"])  # the lake lies in the east, the pond in the west


def test_no_base(plan_of, small_plan):
    plan = plan_of({"base": None})
    assert "no-base" in codes(plan.cautions)
    assert "no-base" not in codes(small_plan.cautions)
    for site in plan.usable:
        assert site.route.from_base is None
        assert site.route.to_base is None
        assert site.sortie.note.code == "cycles-only"
        assert site.sortie.seconds == pytest.approx(site.sortie.cycles * site.cycle.seconds)
        assert site.sortie.litres_per_hour == pytest.approx(site.sortie.litres / site.sortie.seconds * 3600)
    assert plan.usable[0].sortie.litres_per_hour > small_plan.usable[0].sortie.litres_per_hour


def test_fixed_fill(plan_of, small_plan):
    plan = plan_of({"bucket.fill": "70 %"})
    for site in plan.usable:
        assert site.load.fill == pytest.approx(0.7)
        assert site.load.water_l == pytest.approx(0.7 * 820)
        assert site.sortie.litres == pytest.approx(site.sortie.cycles * 0.7 * 820)
    assert plan.usable[0].sortie.litres_per_hour <= small_plan.usable[0].sortie.litres_per_hour
    # the curve shows every setting all the same
    assert {p.fill for p in plan.usable[0].curve} == {1.0, 0.9, 0.8, 0.7, 0.6}


def test_fixed_fuel(plan_of, small_plan):
    plan = plan_of({"helicopter.fuel": "50 %"})
    for site in plan.usable:
        assert site.load.fuel_kg == pytest.approx(HALF_TANKS_KG)
    assert plan.usable[0].sortie.litres_per_hour <= small_plan.usable[0].sortie.litres_per_hour


def test_fuel_too_little_for_one_cycle(plan_of):
    plan = plan_of({"helicopter.fuel": "10 %"})
    assert not plan.usable
    assert all("fuel-short" in codes(site.refused) for site in plan.sites)


def test_fuel_adds_up(small_plan):
    craft = small_plan.incident.helicopter
    for site in small_plan.usable:
        route, sortie = site.route, site.sortie
        home = craft.burn_empty_kg_s * route.to_base.seconds
        spared = sum(p.burn_kg for p in site.cycle.parts if p.name in {"transit empty", "arrival turn", "lower"})
        used = sortie.cycles * site.cycle.burn_kg - spared + home
        left = site.load.fuel_kg - craft.burn_empty_kg_s * route.from_base.seconds - used
        assert left >= sortie.reserve_kg - 1e-6
        assert sortie.reserve_kg == pytest.approx(1200 * craft.burn_empty_kg_s)  # 14 CFR 91.151(b): 20 minutes
        flown = sortie.cycles * site.cycle.seconds - sum(
            parts(site)[n] for n in ("transit empty", "arrival turn", "lower")
        )
        assert sortie.seconds == pytest.approx(
            flown + route.from_base.seconds + route.to_base.seconds + small_plan.incident.base.refuel_s
        )


def test_display_changes_nothing_in_the_records(plan_of, small_plan):
    us = plan_of({"display": "us"})
    assert us.cautions == small_plan.cautions
    for a, b in zip(us.sites, small_plan.sites, strict=True):
        assert (a.name, a.rank, a.sortie, a.criteria) == (b.name, b.rank, b.sortie, b.criteria)
        assert (a.refused, a.cautions, a.line_choices) == (b.refused, b.cautions, b.line_choices)


@pytest.fixture(scope="module")
def levels():
    return [
        {"altitude": "500 m", "from": "270 deg", "speed": "4 kt"},
        {"altitude": "700 m", "from": "270 deg", "speed": "12 kt"},
        {"altitude": "1500 m", "from": "180 deg", "speed": "15 kt"},
    ]


def test_wind_by_height(plan_of, levels):
    plan = plan_of({"weather.wind": levels})
    knots = 4 + 8 * (600 - 500) / 200  # at the water, 600 m
    for site in plan.usable:
        for course in (site.approach.arrival, site.approach.departure):
            speed = math.hypot(course.headwind_m_s, course.crosswind_m_s)
            assert speed == pytest.approx(knots * 1852 / 3600, abs=0.05)


def test_wind_table_that_does_not_reach_is_cautioned(plan_of, levels):
    plan = plan_of({"weather.wind": [{**level, "altitude": f"{2000 + 500 * i} m"} for i, level in enumerate(levels)]})
    assert plan.usable
    assert all("wind-outside-table" in codes(site.cautions) for site in plan.usable)


def test_surface_model_gives_the_same_heights(made_plan):
    keys = {"waters": [LAKE, POND], "trees": ring(POND, 40.0), "wires": [WIRE]}
    ground, surface = (made_plan({"search.keep": 2}, surface=surface, **keys) for surface in (False, True))
    a, b = ({s.point.water.name: s for s in plan.sites} for plan in (ground, surface))
    # the line counts from the low end of the level, and trees may hide more of a small pond in a surface model
    seen, dimly = a["Ringed Pond"], b["Ringed Pond"]
    tops = [site.point.level_low_m + site.clearance.line_governing.height_m for site in (seen, dimly)]
    assert tops[0] == pytest.approx(tops[1], abs=1.0)
    assert dimly.point.level_low_m < seen.point.level_low_m < seen.point.level_high_m == 600.0
    assert dimly.clearance.line_needed_m > seen.clearance.line_needed_m
    assert seen.line is not None
    assert "line-too-short" in codes(dimly.refused)
    assert "bare-earth-unknown" in codes(surface.cautions)
    assert "bare-earth-unknown" not in codes(ground.cautions)


def test_no_canopy_says_that_trees_are_not_known(made_plan):
    plan = made_plan({"layers.canopy": None}, waters=[LAKE])
    assert "trees-unknown" in codes(plan.cautions)
    assert all("trees-unknown" in codes(site.cautions) for site in plan.usable)


def test_margin_that_a_pilot_wants_is_kept(plan_of, small_plan):
    plan = plan_of({"limits.hover_margin": "100 kg", "weather.temperature": "38 degC"})
    none = plan_of({"weather.temperature": "38 degC"})
    for site in plan.usable:
        assert site.load.margin_kg >= 0
        lines = {line.name: line.mass_kg for line in site.load.lines}
        assert any(math.isclose(abs(mass), 100.0) for mass in lines.values()), lines
    assert plan.usable[0].sortie.litres_per_hour < none.usable[0].sortie.litres_per_hour


def test_every_load_hovers_at_its_limit(small_plan):
    craft, bucket = small_plan.incident.helicopter, small_plan.incident.bucket
    for site in small_plan.usable:
        load = site.load
        fuel = load.fuel_kg - craft.burn_empty_kg_s * site.route.from_base.seconds  # at the first lift
        mass = craft.equipped_kg + 95 + fuel + bucket.empty_kg + site.line.mass_kg + load.water_kg
        limit = min(load.hoge_limit_kg - craft.weight_reduction_kg, craft.max_gross_external_kg)
        assert mass <= limit + 1e-6
        assert bucket.empty_kg + site.line.mass_kg + load.water_kg <= craft.hook_limit_kg + 1e-6
        assert all(margin >= -1e-6 for margin in site.sortie.margins_kg)


def test_prepared_ground_may_be_planned_twice(small_prepared, small_plan):
    later = assess(small_prepared, small_prepared.incident.weather)
    assert [s.id for s in later.sites] == [s.id for s in small_plan.sites]
    assert [s.sortie for s in later.sites] == [s.sortie for s in small_plan.sites]
    calm = replace(
        small_prepared.incident.weather, wind=replace(small_prepared.incident.weather.wind, speed_m_s=(0.0,))
    )
    assert assess(small_prepared, calm).usable[0].approach.arrival.headwind_m_s == pytest.approx(0.0)


@pytest.mark.parametrize("keys", [{"base.at": place(0, 0)}, {"drop": [{"name": "Head", "at": place(2400, 0)}]}])
def test_fire_at_the_base_or_in_the_lake(plan_of, keys):
    """Legs of no length."""
    plan = plan_of(keys)
    assert plan.usable
    assert all(math.isfinite(site.sortie.litres_per_hour) for site in plan.usable)


def test_turns_are_those_to_and_from_the_legs_as_flown(small_plan, sample_assessed):
    """Rate one, three degrees a second: common practice."""
    for plan in (small_plan, sample_assessed):
        for site in plan.usable:
            arrival, departure = site.approach.pair
            for way, leg, end in ((departure, site.route.loaded[0], "start"), (arrival, site.route.empty[0], "end")):
                off = abs((way.course_deg - course_of(leg, end) + 180) % 360 - 180)
                over = leg.time_s[leg.distance_m == leg.distance_m[0 if end == "start" else -1]]
                in_turns = over[-1] - over[0]  # climbing or descending over the dip, whatever the course
                assert way.turn_s == pytest.approx(max(0.0, off / 3 - in_turns), abs=1e-6)


def test_legs_begin_and_end_at_the_lifts_of_the_approach(small_plan, sample_assessed):
    for plan in (small_plan, sample_assessed):
        for site in plan.usable:
            arrival, departure = site.approach.pair
            loaded, empty = site.route.loaded[0], site.route.empty[0]
            assert loaded.altitude_m[0] - loaded.hanging_m == pytest.approx(site.point.level_low_m + departure.lift_m)
            assert empty.altitude_m[-1] - empty.hanging_m == pytest.approx(site.point.level_low_m + arrival.lift_m)
