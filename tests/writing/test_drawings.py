import math
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import pairwise

import pytest
from composed import changed, full, plain
from outlook_fixture import clock
from plan_fixture import make_assessed, make_load

from diproute.document.compose import compose
from diproute.document.site import Cycle, CyclePart, Direction, MaybeWind
from diproute.records import Line
from diproute.writing.drawings import axes, palette
from diproute.writing.drawings.chart import hover_chart
from diproute.writing.drawings.curves import curves
from diproute.writing.drawings.cycle_bar import cycle_bar
from diproute.writing.drawings.day import LOOKS, day_curves, day_picture
from diproute.writing.drawings.load_stair import load_stair, steps
from diproute.writing.drawings.profile import probe, profile
from diproute.writing.drawings.rose import rose
from diproute.writing.drawings.svg import hatch
from diproute.writing.drawings.whisker import whisker

PLAN = plain()
SITE = PLAN.sites[0]
FULL = full()
LOADED = SITE.routes[0]


def draw_rose(**more):
    return rose(changed(SITE, **more), PLAN)


def circle(lift=20.0, **more):
    """72 directions of one lift."""
    given = {"arrival_lift_m": lift, "departure_lift_m": lift, "open": True, "known": True} | more
    return tuple(Direction(course_deg=5.0 * i, **given) for i in range(72))


def composed_load(load):
    plan = make_assessed()
    return compose(replace(plan, sites=(replace(plan.sites[0], load=load),))).sites[0].load


UNJUDGED = {"open_share": None, "arrival": None, "departure": None}


def all_drawings():
    yield draw_rose()
    yield draw_rose(**UNJUDGED)
    yield profile(LOADED, "us")
    yield cycle_bar(SITE.cycle, "us")
    yield load_stair(SITE.load, "metric")
    yield curves(SITE, "us")
    yield hover_chart(PLAN.helicopter.hoge, pressure_altitude_m=1900.0, temperature_k=301.0, mass_kg=2600.0,
                      display="us")  # fmt: skip
    yield day_picture(FULL)
    yield whisker(900.0, 1000.0, 1100.0, (500.0, 1500.0), "range 900 to 1100 US gal")


def texts(svg):
    return [e.text for e in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("index", range(9))
def test_every_drawing_is_xml_says_what_it_shows_and_is_the_same_twice(index):
    svg = list(all_drawings())[index]
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert len(root.get("aria-label")) > 20
    assert svg == list(all_drawings())[index]
    assert "nan" not in svg.lower()
    assert " id=" not in svg  # drawings are cloned and hidden: nothing in them may be pointed at


@pytest.mark.parametrize("index", range(9))
def test_every_colour_is_a_role_of_the_palette(index):
    used = set(re.findall(r'(?:fill|stroke)="([^"]+)"', list(all_drawings())[index]))
    assert used <= {"none"} | {palette.paint(role) for role in palette.ROLES}


# WCAG 2.1, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics 3:1)
@pytest.mark.parametrize("light", ["light", "dark", "paper"])
def test_contrast_in_every_light(light):
    def colour(role):
        return getattr(palette.ROLES[role], light)

    for role in ("ink", "quiet", "warning", "deep", "shore", "green", "purple"):
        assert palette.contrast(colour(role), colour("page")) >= 4.5, role
    for role in ("ink", "quiet"):
        assert palette.contrast(colour(role), colour("shade")) >= 4.5, role
    for role in ("line", "hazard", "closed", "shore", "green", "purple"):
        assert palette.contrast(colour(role), colour("page")) >= 3, role
    assert palette.contrast(colour("closed"), colour("clear")) >= 3
    assert palette.contrast(colour("deep"), colour("page")) >= 4.5
    assert palette.contrast(colour("page"), colour("ink")) >= 4.5  # the rank in a disc


def test_contrast_of_black_on_white():
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.1, definition of contrast ratio


def test_the_palette_starts_from_the_okabe_ito_set():
    used = {role.light for role in palette.ROLES.values()} | {role.dark for role in palette.ROLES.values()}
    assert {palette.OKABE_ITO[name] for name in ("sky blue", "blue", "vermillion")} <= used


def wedges(svg, role):
    """The ``d`` of the path filled (or, hatched, drawn) with a role inside the ring."""
    return [m for m in re.findall(r'<path d="([^"]+)" fill="([^"]+)"', svg) if m[1] == palette.paint(role)]


def test_an_unknown_direction_is_hatched_and_never_shown_open():
    directions = tuple(
        changed(one, departure_lift_m=None) if 10 <= i < 20 else one for i, one in enumerate(circle())
    )  # a careless plan that calls them open
    svg = draw_rose(directions=directions)
    open_wedges = wedges(svg, "clear")[0][0]
    assert open_wedges.count("M0 0") == 62
    arcs = re.search(
        rf'<path d="([^"]+)" fill="none" stroke="{re.escape(palette.paint("quiet"))}" stroke-width="1"', svg
    )
    assert arcs[1].count("M") % 10 == 0
    assert arcs[1].count("M") >= 100


def test_a_direction_whose_corridor_is_not_known_is_hatched_whatever_its_lifts():
    svg = draw_rose(directions=circle(known=False), open_share=0.0)
    assert wedges(svg, "clear") == []
    assert wedges(svg, "closed") == []


def test_a_wedge_is_as_long_as_the_larger_of_the_two_lifts_over_its_corridor():
    svg = draw_rose(directions=circle(arrival_lift_m=30.0, departure_lift_m=6.0))
    radius = re.search(r"A(\d+\.\d) ", wedges(svg, "clear")[0][0])
    assert float(radius[1]) == 50.0  # half the limit, half the ring
    # an arrival flown on 090 comes in over the corridor to the west
    one_high = tuple(changed(one, arrival_lift_m=30.0) if one.course_deg == 90.0 else one for one in circle(6.0))
    long = re.findall(r"M0 0L([\d.-]+) ([\d.-]+)A50\.0", wedges(draw_rose(directions=one_high), "clear")[0][0])
    assert len(long) == 1
    assert float(long[0][0]) < -49


def test_nothing_open_where_no_approach_was_judged():
    svg = draw_rose(**UNJUDGED)
    assert wedges(svg, "clear") == []
    assert len(wedges(svg, "closed")) == 2  # the wedges and the rim


def test_the_two_ways_are_named_magnetic():
    names = texts(draw_rose())
    assert "approach 225°M" in names  # 235 true, 9.6 east
    assert "departure 215°M" in names


def test_approach_and_departure_over_one_corridor_stand_side_by_side():
    back = changed(SITE.arrival, course_deg=(SITE.departure.course_deg + 180.0) % 360.0)
    svg = draw_rose(arrival=back)
    names = re.findall(r'<text x="([\d.-]+)" y="([\d.-]+)"[^>]*font-weight="600"[^>]*>(?:approach|departure) ', svg)
    (x1, y1), (x2, y2) = ([float(v) for v in place] for place in names)
    assert abs(x1 - x2) > 60 or abs(y1 - y2) > 14
    shafts = re.findall(
        rf'<path d="M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)"[^>]*{re.escape("stroke-width")}="2.6"', svg
    )
    (a, b, _, _), (_, _, c, d) = ([float(v) for v in shaft] for shaft in shafts)
    assert math.hypot(a - c, b - d) > 10


@pytest.mark.parametrize(("knots", "barbs"), [(0.4, 0), (5, 1), (10, 1), (15, 2), (25, 3), (50, 0), (65, 2)])
def test_wind_barbs(knots, barbs):
    # WMO-No. 485: full barb 10 kt, half barb 5 kt, pennant 50 kt
    wind = MaybeWind(from_deg=240.0, speed_m_s=knots * 1852 / 3600)
    svg = draw_rose(wind=wind, **UNJUDGED)
    shafts = svg.count('stroke-width="1.8"')
    assert shafts == (0 if knots < 1 else 1 + barbs)
    assert ("calm" in svg) == (knots < 1)


def test_a_wind_that_is_not_known_is_not_shown_as_calm():
    assert "wind not known" in texts(draw_rose(wind=MaybeWind()))
    assert "calm" not in texts(draw_rose(wind=MaybeWind()))


def unknown_under(leg, *steps):
    """The leg with nothing known under some steps of its side view."""
    below = leg.envelope
    rows = {
        name: tuple(None if i in steps else v for i, v in enumerate(getattr(below, name)))
        for name in ("ground_m", "top_m", "floor_m", "room_m")
    }
    return changed(leg, envelope=changed(below, **rows))


def test_a_profile_over_unknown_ground_is_hatched_and_names_its_wires():
    leg = PLAN.sites[1].routes[0]
    assert any("height assumed" in t for t in texts(profile(leg, "us")))
    bare = changed(leg, wires_crossed=())
    assert profile(unknown_under(bare, *range(130, 160)), "us").count("<path") > profile(bare, "us").count("<path")


def test_a_profile_without_a_side_view_is_hatched_from_end_to_end():
    svg = profile(changed(LOADED, envelope=None), "us")
    assert palette.paint("ground") not in svg
    assert palette.paint("trees") not in svg
    assert svg.count('stroke-width="0.9"') == 1
    assert probe(changed(LOADED, envelope=None), "us")["x"] == []


def test_the_profile_draws_the_path_itself():
    svg = profile(LOADED, "metric")
    flown = re.findall(rf'<path d="M([^"]+)" fill="none" stroke="{re.escape(palette.paint("ink"))}"[^>]*"2.2"', svg)
    assert len(flown) == 1
    points = [tuple(float(v) for v in point.split()) for point in flown[0].split("L")]
    assert len(points) == len(LOADED.path)
    highest = max(range(len(points)), key=lambda i: LOADED.path[i][2])
    assert points[highest][1] == min(y for _, y in points)


def test_the_pointer_gets_a_word_for_every_step_and_says_what_is_not_known():
    read = probe(unknown_under(LOADED, 3), "metric")
    assert {len(row) for row in read.values()} == {len(LOADED.envelope.ground_m)}
    assert [i for i, word in enumerate(read["room"]) if word == "not known"] == [3]
    assert all(word.endswith(" m AMSL") for word in read["path"])
    assert probe(LOADED, "us")["path"][0].endswith(" ft MSL")
    below = changed(LOADED.envelope, room_m=tuple(-3.0 for _ in LOADED.envelope.room_m))
    assert set(probe(changed(LOADED, envelope=below), "us")["room"]) == {"-10 ft"}  # nothing is hidden
    (lat, lon), (end_lat, end_lon) = read["at"][0], read["at"][-1]
    assert (lon, lat) == pytest.approx(LOADED.path[0][:2], abs=3e-4)
    assert (end_lon, end_lat) == pytest.approx(LOADED.path[-1][:2], abs=3e-4)


def test_the_cycle_bar_gives_each_part_its_share_and_its_seconds():
    parts = (("fill", 30.0), ("transit loaded", 70.0))
    told = tuple(CyclePart(name=name, seconds=s, burn_kg=1.0) for name, s in parts)
    svg = cycle_bar(Cycle(seconds=100.0, burn_kg=2.0, parts=told), "us")
    widths = [float(w) for w in re.findall(r'<rect [^>]*? width="([\d.]+)"', svg)]
    assert widths == pytest.approx([191, 447])
    assert {"30 s", "70 s", "One cycle 1 min 40 s", "loaded leg"} <= set(texts(svg))


def test_the_stair_goes_from_the_limit_to_what_is_left():
    load = composed_load(make_load(0.8, 190.0, Line(30.0, 18.0)))
    stair = steps(load)
    assert stair[0].above_kg == load.hoge_limit_kg
    assert [s.key for s in stair] == [
        "weight reduction",
        "equipped",
        "crew",
        "fuel",
        "bucket",
        "line",
        "water carried",
        "left",
    ]
    assert stair[-2].mass_kg == pytest.approx(load.water_kg)
    assert stair[-1].mass_kg == pytest.approx(load.margin_kg, abs=0.5)  # each line of a plan is rounded to 0.1 kg
    assert stair[-1].below_kg == pytest.approx(0.0)
    assert {"equipped weight", "crew weight", "fuel weight", "water", "margin"} <= set(texts(load_stair(load, "us")))
    for above, below in pairwise(stair):
        assert above.below_kg == below.above_kg


def test_the_stair_of_a_load_that_is_too_heavy_ends_below_nothing():
    load = composed_load(make_load(1.0, 430.0, Line(30.0, 18.0)))
    assert load.margin_kg < 0
    assert steps(load)[-1].below_kg == pytest.approx(load.margin_kg)
    assert any(t.startswith("too heavy by") for t in texts(load_stair(load, "us")))


def test_the_stair_says_so_when_the_chart_has_no_answer():
    load = changed(SITE.load, water_kg=None, hoge_limit_kg=None, lines=())
    assert steps(load) == ()
    assert "the hover chart gives no answer" in load_stair(load, "us")


def allowed(curve):
    return [(f, r) for f, r in zip(curve.fuel_kg, curve.litres_per_hour, strict=True) if r is not None]


def test_the_curves_mark_the_choice_and_hatch_the_forbidden_side():
    svg = curves(SITE, "us")
    assert "no hover margin left" in texts(svg)
    assert {"100 %", "60 %"} <= set(texts(svg))
    # the hatch begins where the fullest setting ends, and no allowed point of any setting lies under it
    edge = re.search(
        rf'<path d="([^"]+)" fill="none" stroke="{re.escape(palette.paint("hazard"))}" stroke-width="1.2"', svg
    )
    corners = [tuple(map(float, c.split())) for c in edge[1].lstrip("M").split("L")]
    full_bucket = allowed(max(SITE.curve, key=lambda curve: curve.fill))
    assert corners[0][0] == pytest.approx(52 + 544 * (full_bucket[-1][0] - 110) / (432 - 110), abs=0.1)
    assert [c[0] for c in corners] == sorted(c[0] for c in corners)
    points = [point for curve in SITE.curve for point in allowed(curve)]
    most = max(rate for _, rate in points)
    beyond = [(fuel, rate) for fuel, rate in points if fuel > full_bucket[-1][0]]
    assert len(beyond) > 20
    for fuel, rate in beyond:
        x = 52 + 544 * (fuel - 110) / (432 - 110)
        y = 226 - 200 * rate / (1.25 * most)
        assert min(c[1] for c in corners if abs(c[0] - x) < 0.15) <= y + 0.1
    nothing = tuple(changed(curve, litres_per_hour=(None,) * len(curve.fuel_kg)) for curve in SITE.curve)
    assert "No pair of bucket setting and fuel is allowed" in texts(curves(changed(SITE, curve=nothing), "us"))


def test_the_chart_says_when_it_has_no_answer():
    for nothing in (None, math.nan):  # of a plan, of a helicopter's file
        svg = hover_chart(PLAN.helicopter.hoge, pressure_altitude_m=5200.0, temperature_k=301.0, mass_kg=nothing,
                          display="metric")  # fmt: skip
        assert any("no answer on this chart" in t for t in texts(svg))


@pytest.mark.parametrize("display", ["us", "metric"])
def test_ticks_are_round_and_stand_where_they_say(display):
    axis = axes.Axis("height", display, 120.0, 1480.0, 200.0, 0.0, 5)
    unit = 0.3048 if display == "us" else 1.0  # NIST SP 811: 1 ft = 0.3048 m
    assert 3 <= len(axis.ticks) <= 8
    for place, name in axis.ticks:
        value = float(name.replace("\u202f", ""))
        assert place == pytest.approx(200 - (value * unit - 120) / (1480 - 120) * 200)
        assert value % 100 == 0


@pytest.mark.parametrize(
    ("rough", "step"), [(0.8, 1), (1.0, 1), (1.4, 1), (1.5, 2), (3, 2), (4, 5), (80, 100), (0.02, 0.02)]
)
def test_round_steps(rough, step):
    assert axes.round_step(rough) == pytest.approx(step)


def test_a_hatch_stays_inside_its_outline():
    svg = hatch([(10, 10), (60, 10), (60, 40), (10, 40)], 5, stroke="ink")
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", re.search(r'd="([^"]+)"', svg)[1])]
    assert len(numbers) > 40
    assert min(numbers[::2]) >= 10
    assert max(numbers[::2]) <= 60
    assert min(numbers[1::2]) >= 10
    assert max(numbers[1::2]) <= 40
    assert hatch([(0, 0), (0, 0), (0, 0)], 5) == ""


def draw_day(**more):
    return day_picture(changed(FULL, **({"display": "metric"} | more)))


def lines_of(svg, colour):
    """Points of the strong lines drawn in a colour."""
    role = re.escape(palette.paint(colour))
    found = re.findall(rf'<path d="M([^"Z]+)" fill="none" stroke="{role}" stroke-width="2"', svg)
    return [[tuple(float(v) for v in point.split()) for point in d.split("L")] for d in found]


def rate_of(hour, site):
    return next(here.litres_per_hour for here in hour.sites if here.site == site)


def test_a_water_goes_by_its_best_site_in_each_hour():
    curves_of_day = day_curves(FULL)
    assert {c.name for c in curves_of_day} == {"Tarn", "Caldera lake", "Long reservoir"}
    assert [c.peak for c in curves_of_day] == sorted((c.peak for c in curves_of_day), reverse=True)
    hours = FULL.day.hours
    caldera = next(c for c in curves_of_day if c.name == "Caldera lake")
    assert caldera.litres_per_hour[9] == rate_of(hours[9], "caldera-2")  # the second point, in the heat
    assert caldera.litres_per_hour[0] == rate_of(hours[0], "caldera-1")


def test_a_line_breaks_where_its_site_does_not_work_and_ends_hollow():
    order = [c.name for c in day_curves(FULL)]
    svg = draw_day()
    assert [len(run) for run in lines_of(svg, LOOKS[order.index("Tarn")][0])] == [7, 6]  # 05 to 11, 15 to 20
    assert len(lines_of(svg, LOOKS[order.index("Long reservoir")][0])) == 1
    hollow = re.findall(rf'<circle [^>]*r="3" fill="{re.escape(palette.paint("page"))}"', svg)
    assert len(hollow) == 2


def test_lines_are_told_apart_by_dash_alone():
    assert len({dash for _, dash in LOOKS}) == len(LOOKS)
    assert len({colour for colour, _ in LOOKS}) == len(LOOKS)


def test_the_light_and_the_hour_of_the_plan_are_marked():
    found = texts(draw_day())
    assert "plan 15:00" in found
    assert {"sunrise 05:47", "sunset 19:41", "last departure 18:30"} <= set(found)
    shaded = re.findall(rf'<rect [^>]*width="([\d.]+)"[^>]*fill="{re.escape(palette.paint("clear"))}"', draw_day())
    hour = 418 / 15  # from 05:00 to 20:00
    assert [float(w) for w in shaded] == pytest.approx([47 / 60 * hour, 19 / 60 * hour], abs=0.06)
    assert "sunset" not in " ".join(texts(draw_day(day=changed(FULL.day, sunrise=None, sunset=None))))
    assert "plan" not in " ".join(texts(draw_day(when=clock(22))))


def test_the_next_day_is_not_shaded_by_this_ones_sunset():
    later = tuple(changed(h, when=h.when.replace(day=15)) for h in FULL.day.hours)
    svg = draw_day(day=changed(FULL.day, hours=(*FULL.day.hours, *later)))
    rects = re.findall(rf'<rect x="([\d.]+)"[^>]*width="([\d.]+)"[^>]*fill="{re.escape(palette.paint("clear"))}"', svg)
    span = 39 * 60  # minutes from 05:00 to 20:00 on the next day
    end = 52 + 19 * 60 / span * 418  # midnight
    assert float(rects[-1][0]) + float(rects[-1][1]) == pytest.approx(end, abs=0.2)
    assert "15 Aug" in texts(svg)


def test_a_day_on_which_nothing_works_and_a_single_hour_still_draw():
    hours = tuple(
        changed(h, sites=tuple(changed(here, litres_per_hour=None) for here in h.sites), best=None)
        for h in FULL.day.hours
    )
    svg = draw_day(day=changed(FULL.day, hours=hours))
    assert "no site works" in ElementTree.fromstring(svg).get("aria-label")
    assert "nan" not in svg.lower()
    assert "nan" not in draw_day(day=changed(FULL.day, hours=FULL.day.hours[:1])).lower()


def test_names_at_the_ends_do_not_meet():
    names = [f"w{i}" for i in range(9)]
    sites = tuple(changed(FULL.sites[1], id=name, water_id=name, water=f"Water {name[1]}") for name in names)
    hours = tuple(changed(h, sites=tuple(changed(h.sites[1], site=name) for name in names)) for h in FULL.day.hours)
    svg = draw_day(sites=sites, day=changed(FULL.day, hours=hours))
    rows = [float(y) for y in re.findall(r'y="([\d.]+)"[^>]*font-size="10.5">Water', svg)]
    assert len(rows) == 6
    assert min(b - a for a, b in pairwise(sorted(rows))) >= 14.9
    assert "thin: 3 more waters" in texts(svg)


def test_a_whisker_runs_from_low_to_high_and_is_bare_where_nothing_is_known():
    svg = whisker(1000.0, 1250.0, 1500.0, (500.0, 1500.0), "range")
    bar = re.search(rf'<path d="M([\d.]+) 5L([\d.]+) 5" stroke="{re.escape(palette.paint("shore"))}"', svg)
    assert (float(bar[1]), float(bar[2])) == (36.0, 69.0)  # half way and the end of 3 to 69
    assert palette.paint("shore") not in whisker(None, 1250.0, None, (500.0, 1500.0), "range")
