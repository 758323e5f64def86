"""What is refused through the whole plan, and why."""

import math
import re

import pytest
import shapely
from small_incident import LAKE, POND, VILLAGE, WIRE, Water, disc, ring

from diproute.records import Finding
from diproute.wording import Reader, say


def sites(plan, water):
    found = [site for site in plan.sites if site.point.water.name == water]
    assert found
    return found


def the(plan, water):
    (site,) = sites(plan, water)
    return site


def why(site, code):
    (found,) = (finding for finding in site.refused if finding.code == code)
    return found


@pytest.fixture(scope="module")
def short_line(plan_of):
    return plan_of({"lines.carried": ["0 m", "20 m"]})


def test_pond_among_trees_takes_the_line_it_needs(small_plan):
    site = the(small_plan, "Ringed Pond")
    # by hand: trees of 40 m stand from 40 m out; the side surface has risen half of 40 - 11.4 m by then; hook
    # 4.5 m above the bucket's bottom; margin 5 m. A cell of 30 m may bring the trees half a cell nearer.
    needed = 40 + 5 - 4.5 - 0.5 * (40 - 22.86 / 2)
    assert needed - 1 <= site.clearance.line_needed_m <= needed + 0.5 * 36
    assert site.line.length_m == min(line for line in (0, 30, 45) if line >= site.clearance.line_needed_m)
    assert site.clearance.line_governing.what == "trees"
    assert "surface-penetrated" in {finding.code for finding in site.cautions}


def test_lake_needs_no_line(small_plan):
    for site in sites(small_plan, "Long Lake"):
        assert site.line.length_m == 0.0


def test_every_carried_line_is_compared(small_plan):
    choices = the(small_plan, "Ringed Pond").line_choices
    assert [c.length_m for c in choices] == [0.0, 30.0, 45.0]
    assert [c.chosen for c in choices].count(True) == 1
    assert choices[0].why.code == "line-short"
    assert math.isnan(choices[0].litres_per_hour)
    for choice in sites(small_plan, "Long Lake")[0].line_choices[1:]:
        assert choice.litres_per_hour < sites(small_plan, "Long Lake")[0].sortie.litres_per_hour
        assert choice.why.code == "line-less"
        assert choice.why.values["less_l"] > 0


def test_longest_line_too_short(short_line):
    site = the(short_line, "Ringed Pond")
    found = why(site, "line-too-short")
    assert found.values["needed_m"] == site.clearance.line_needed_m
    assert found.values["longest_m"] == 20.0
    assert found.values["asks"].values["what"] == "trees"
    sentence = say(found, Reader("metric"))
    said = float(re.match(r"a line of (\d+) m would be needed, the longest carried is 20 m: trees, ", sentence)[1])
    assert said >= site.clearance.line_needed_m > said - 1  # never less than it takes
    assert site.rank is None
    assert site.sortie is None


def test_a_needed_length_is_rounded_up(plan_of, short_line):
    # carried just under what is needed: the sentence must not say that what is carried is what is needed
    needed = the(short_line, "Ringed Pond").clearance.line_needed_m
    plan = plan_of({"lines.carried": ["0 m", f"{needed - 0.3:.2f} m"]})
    sentence = say(why(the(plan, "Ringed Pond"), "line-too-short"), Reader("us"))
    wanted, carried = (int(n) for n in re.findall(r"(\d+) ft", sentence)[:2])
    assert wanted > carried


def test_hard_area_across_everything(made_plan):
    strip = {**VILLAGE, "area": shapely.box(200, -5000, 1100, 5000)}
    plan = made_plan(trees=ring(POND), avoid=[strip])
    for site in sites(plan, "Long Lake"):
        assert "Village" in say(why(site, "blocked-area"))
        assert site.blocked is not None
        assert site.blocked.intersects(strip["area"])
        assert site.rank is None
    assert the(plan, "Ringed Pond").rank == 1


def test_hard_area_is_flown_round(made_plan):
    plan = made_plan(avoid=[VILLAGE], waters=[LAKE])
    for site in plan.usable:
        for leg in (*site.route.loaded, *site.route.empty):
            path = shapely.LineString(list(zip(leg.x_m, leg.y_m, strict=True)))
            assert not path.intersects(VILLAGE["area"].buffer(-0.01))
            assert path.length > 1.05 * math.dist((leg.x_m[0], leg.y_m[0]), (leg.x_m[-1], leg.y_m[-1]))


def test_area_at_a_price_is_flown_through_when_it_pays(made_plan):
    strip = {"name": "Farm", "because": "stock", "hard": "no", "cost": 1.5, "area": shapely.box(200, -5000, 1100, 5000)}
    plan = made_plan(avoid=[strip], waters=[LAKE])
    assert plan.usable


def test_base_shut_in_refuses_every_site(made_plan):
    wall = {**VILLAGE, "area": shapely.box(-1600, 1500, 400, 3500).difference(shapely.box(-700, 2400, -500, 2600))}
    plan = made_plan(avoid=[wall], waters=[LAKE])
    assert not plan.usable
    for site in plan.sites:
        assert "Village" in say(why(site, "blocked-area"))


def test_too_shallow(made_plan):
    shallow = Water("Marl Pit", disc(-900, -1500, 120), depth_m=1.4)
    plan = made_plan(waters=[LAKE, shallow])
    found = why(the(plan, "Marl Pit"), "too-shallow")
    assert found == Finding.of("too-shallow", below_m=None, depth_m=1.4, needed_m=1.5)
    assert say(found, Reader("metric")) == "1.4 m deep, the bucket needs 1.5 m"
    assert plan.usable


def test_just_deep_enough(made_plan):
    plan = made_plan(waters=[Water("Marl Pit", disc(-900, -1500, 120), depth_m=1.5)])
    assert plan.usable


def test_unknown_depth_is_a_caution_and_no_refusal(made_plan):
    plan = made_plan(waters=[Water("Marl Pit", disc(-900, -1500, 120), depth_m=None)])
    assert plan.usable
    for site in plan.usable:
        assert "depth-unknown" in {finding.code for finding in site.cautions}


def test_narrow_water_is_refused_at_the_shore(made_plan):
    plan = made_plan({"limits.shore_clearance": "15 m"}, waters=[LAKE, Water("Puddle", disc(-900, -1500, 12))])
    values = why(the(plan, "Puddle"), "shore-clearance").values
    assert values["shore_m"] == pytest.approx(12.0, abs=0.1)
    assert values["needed_m"] == 15.0


def test_salt_water_is_heavier(made_plan):
    fresh, salt = (
        made_plan({"bucket.fill": "100 %"}, waters=[Water("Sea", LAKE.shape, salt=s)]) for s in ("no", "yes")
    )
    a, b = fresh.usable[0].load, salt.usable[0].load
    assert b.water_kg / b.water_l == pytest.approx(1.025)  # usual mean density of surface sea water, from memory
    assert a.water_kg / a.water_l == pytest.approx(0.9991)  # IAPWS-95 at 15 degC, from memory
    assert "salt-water" in {finding.code for finding in salt.usable[0].cautions}
    assert b.water_l <= a.water_l


def test_wind_above_the_limits_in_a_closed_valley(plan_of, small_plan):
    # a strong crosswind limit of nothing: only courses along the wind remain, and a tailwind is not allowed
    plan = plan_of({"limits.crosswind": "0.1 kt", "limits.tailwind": "0 kt", "weather.wind": "270 deg 20 kt"})
    for site in plan.usable:
        assert site.approach.arrival.headwind_m_s > 0
        assert site.approach.arrival.course_deg == pytest.approx(270.0, abs=2.5)
        assert site.approach.departure.course_deg == pytest.approx(270.0, abs=2.5)


def test_ground_unknown_round_the_water_is_never_open(made_plan):
    # the elevation ends just east of the lake: what lies beyond is not known, so nobody may leave that way
    plan = made_plan(waters=[LAKE], ground=lambda x, y: 601.0 + 0 * (x + y), half=3000.0)
    site = plan.usable[0]
    assert not site.approach.known.all()
    assert not (site.approach.open & ~site.approach.known).any()
    assert "directions-unknown" in {finding.code for finding in site.cautions}


def test_lone_tower_in_the_gap_closes_it(made_plan):
    gap = shapely.box(-1530, -1000, -1470, -600)  # a lane through the trees, to the north of the pond
    trees = ring(POND, 70.0, 400.0, gap)
    opened = the(made_plan({"lines.carried": ["60 m", "90 m"]}, trees=trees, waters=[POND]), "Ringed Pond")
    tower = {"name": "mast", "kind": "wire", "height_m": 90.0, "line": [(-1600, -560), (-1400, -560)]}
    closed = the(
        made_plan({"lines.carried": ["60 m", "90 m"]}, trees=trees, waters=[POND], wires=[tower]), "Ringed Pond"
    )
    assert not (closed.approach.open & ~opened.approach.open).any()
    assert closed.approach.open.sum() < max(1, opened.approach.open.sum())


def test_wire_between_lake_and_fire_is_listed(small_plan):
    site = small_plan.usable[0]
    assert site.point.water.name == "Long Lake"
    for leg in (site.route.loaded[0], site.route.empty[0]):
        (crossing,) = leg.crossings
        assert crossing.name == WIRE["name"] or WIRE["name"] in crossing.name
        assert crossing.clearance_m >= 10.0  # the margin over a wire; it lies within the corridor of the lake
        assert crossing.angle_deg > 60


@pytest.mark.parametrize("east", [1500.0, 1800.0])
def test_wire_close_to_the_lake_keeps_a_wire_s_margin(made_plan, east):
    wire = {**WIRE, "height_m": 20.0, "line": [(east, -4500), (east, 4500)]}
    plan = made_plan(waters=[LAKE], wires=[wire], ground=lambda x, y: 601.0 + 0 * (x + y))
    for site in plan.usable:
        for leg in (*site.route.loaded, *site.route.empty):
            assert all(crossing.clearance_m >= 10.0 - 1e-6 for crossing in leg.crossings)
