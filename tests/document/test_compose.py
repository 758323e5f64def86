"""The plan holds what was found, rounded to what it is worth, pictures over ground to the safe side."""

import base64
import json
import math
import zlib
from dataclasses import replace

import numpy as np
import pytest
import shapely
from flat_leg import flat_leg
from outlook_fixture import full_assessed, full_plan
from plan_fixture import FRAME, make_assessed, make_plan

from diproute.document import Finding, compose, plan_text
from diproute.document.compose_legs import compose_leg
from diproute.document.geometry import geometry
from diproute.document.terrain import UNKNOWN_DM
from diproute.records import AvoidArea, Criterion
from diproute.records import Finding as Found
from diproute.wording import CODES

NAN = math.nan


@pytest.fixture(scope="module")
def assessed():
    return full_assessed()


@pytest.fixture(scope="module")
def plan(assessed):
    return compose(assessed)


def one_site(assessed, **changes):
    return compose(replace(assessed, sites=(replace(assessed.sites[0], **changes),))).sites[0]


def test_every_key_of_the_design_page_is_there(plan):
    document = json.loads(plan_text(plan))
    site = document["sites"][0]
    for path in [
        "rank", "id", "name", "water", "lat", "lon", "elevation_m", "shore_clearance_m", "depth_m", "temperature_k",
        "pressure_altitude_m", "density_altitude_m", "line.needed_m", "line.carried_m", "directions.0.course_deg",
        "directions.0.arrival_lift_m", "directions.0.departure_lift_m", "directions.0.open", "open_share",
        "arrival.course_deg", "arrival.course_magnetic_deg", "arrival.lift_m", "arrival.headwind_m_s",
        "arrival.surface_8_to_1_m", "departure.course_deg", "load.water_l", "load.water_kg", "load.fill",
        "load.fuel_kg", "load.governed_by", "load.place", "load.hoge_limit_kg", "load.margin_kg", "routes.0.drop",
        "routes.0.leg", "routes.0.length_m", "routes.0.seconds", "routes.0.highest_m", "routes.0.path",
        "routes.0.wires_crossed", "cycle.seconds", "cycle.parts.0.name", "cycle.parts.0.seconds", "sortie.cycles",
        "sortie.seconds", "sortie.litres", "sortie.litres_per_hour", "sortie.first_drop_seconds", "score.total",
        "score.criteria.0.name", "score.criteria.0.points", "score.criteria.0.weight", "score.criteria.0.because",
        "refused", "cautions.0.code", "cautions.0.because",
    ]:  # fmt: skip
        here = site
        for part in path.split("."):
            here = here[int(part)] if part.isdigit() else here[part]
    assert document["format"] == "diproute-plan/2"
    assert len(site["directions"]) >= 72


def test_a_plan_holds_what_a_reader_with_no_layers_needs(assessed, plan):
    assert [water.id for water in plan.waters] == [water.id for water in assessed.waters]
    assert [thing.geometry.type for thing in plan.obstacles] == ["LineString", "Point", "Point", "LineString"]
    assert [area.geometry.type for area in plan.avoid] == ["Polygon", "Polygon"]
    assert {layer.role for layer in plan.layers} == {"elevation", "canopy", "water", "obstacles"}
    assert all(len(layer.digest) == 64 for layer in plan.layers)
    assert plan.search.area.type == "Polygon"
    assert (plan.ground.rows, plan.ground.cols) == assessed.ground.grid.shape


def test_every_finding_of_the_plan_is_a_code_with_its_sentence(plan):
    told = [*findings_in(plan)]
    assert len(told) >= 50
    for finding in told:
        assert finding.code in CODES, finding.code
        assert finding.because
        assert "{" not in finding.because


def findings_in(part):
    if isinstance(part, Finding):
        yield part
    if hasattr(type(part), "model_fields"):
        for name in type(part).model_fields:
            yield from findings_in(getattr(part, name))
    elif isinstance(part, tuple):
        for one in part:
            yield from findings_in(one)


def test_the_same_input_gives_the_same_bytes():
    assert plan_text(full_plan()) == plan_text(full_plan())


def test_day_doubt_fleet_and_duty_are_none_when_there_is_none():
    plan = make_plan()
    assert (plan.day, plan.doubt, plan.fleet, plan.duty, plan.more) == (None, None, None, None, ())
    assert all(site.blocked is None for site in plan.sites)


def test_a_plan_without_a_suitable_site_and_without_a_base():
    assessed = make_assessed(usable=False)
    plan = compose(replace(assessed, incident=replace(assessed.incident, base=None)))
    assert (plan.suitable, plan.base, plan.ferries) == ((), None, ())
    assert len(plan.sites) == 1


def test_short_repr(plan):
    for part in (plan, plan.sites[0], plan.sites[0].routes[0], plan.terrain, plan.sites[0].cautions[0]):
        assert len(repr(part)) < 80
        assert repr(part) == str(part)
    assert repr(plan) == "<Plan Kestrel Ridge>"


# --- the incident and its defaults ---------------------------------------------------------------------------


def test_defaults_name_their_key_their_source_and_how_far_to_trust_it(plan):
    told = {default.key: default for default in plan.defaults}
    assert told["limits.tailwind"].unit == "m/s"
    assert told["limits.tailwind"].trust == "restated"
    assert told["limits.hover_circle"].value == 22.86
    assert "14 CFR 91.151(b)" in told["limits.reserve"].source
    assert told["UNCERTAIN_CASES"].value == plan.doubt.draws
    assert "SEARCH_RADIUS_M" not in told  # it has a key, and the incident gives another value
    assert "search.radius" not in told


def test_a_limit_that_was_changed_is_no_default_and_what_had_no_say_is_not_told():
    assessed = make_assessed()
    limits = replace(assessed.incident.limits, tailwind_m_s=1.0, hover_circle_m=30.0)
    keys = {d.key for d in compose(replace(assessed, incident=replace(assessed.incident, limits=limits))).defaults}
    assert "limits.reserve" in keys
    assert not {"limits.tailwind", "limits.hover_circle", "UNCERTAIN_CASES", "DIP_SPACING_S", "FLIGHT_DAY_S"} & keys


def test_a_drop_along_a_line_leaves_the_area_searched_unknown():
    assessed = make_assessed()
    along = replace(assessed.incident.drops[0], lat_deg=None, lon_deg=None)
    plan = compose(replace(assessed, incident=replace(assessed.incident, drops=(along,))))
    assert plan.search.area is None
    assert (plan.drops[0].lat, plan.drops[0].lon) == (None, None)


# --- sites ---------------------------------------------------------------------------------------------------


def test_an_arrival_flown_on_a_course_comes_over_the_opposite_bearing(assessed):
    lift_in = np.full(72, 3.0)
    lift_in[36] = 55.0  # a tower south of the water: bearing 180
    clearance = replace(assessed.sites[0].clearance, lift_in_m=lift_in, lift_out_m=np.full(72, 3.0))
    alone = replace(assessed, day=None, doubt=None, fleet=None, duty=None, what_if=None)
    site = one_site(alone, clearance=clearance)
    assert [d.course_deg for d in site.directions if d.arrival_lift_m > 3] == [0.0]  # arrival from the south is 0
    assert [d.course_deg for d in site.directions] == [5.0 * i for i in range(72)]
    (north,) = [d for d in site.directions if d.course_deg == 0.0]
    south = clearance.lift_governing[36]
    assert site.things[north.arrival_thing].distance_m == south.distance_m


def test_magnetic_courses_are_true_less_the_declination(plan):
    for way in (plan.sites[0].arrival, plan.sites[0].departure):
        assert (way.course_deg - way.course_magnetic_deg) % 360 == pytest.approx(plan.declination_deg, abs=0.1)


def test_the_open_share_is_the_share_of_open_directions(plan):
    for site in plan.sites:
        assert site.open_share == pytest.approx(np.mean([d.open for d in site.directions]), abs=1e-3)


def test_no_minus_zero_and_no_course_of_360():
    assessed = make_assessed()
    approach = assessed.sites[0].approach
    arrival = replace(approach.arrival, course_deg=359.97, headwind_m_s=-0.0001)
    flown = one_site(assessed, approach=replace(approach, arrival=arrival)).arrival
    assert flown.course_deg == 0.0
    assert math.copysign(1, flown.headwind_m_s) == 1


def test_what_is_not_known_is_none():
    assessed = make_assessed()
    site = assessed.sites[0]
    point = replace(
        site.point, level_low_m=NAN, level_high_m=NAN,
        water=replace(site.point.water, level_low_m=NAN, level_high_m=NAN, level_spread_m=NAN),
    )  # fmt: skip
    clearance = replace(site.clearance, line_needed_m=NAN, line_governing=None)
    load = replace(site.load, water_l=NAN, water_kg=NAN, hoge_limit_kg=NAN, margin_kg=NAN)
    told = one_site(assessed, point=point, clearance=clearance, load=load, density_altitude_m=NAN)
    assert (told.elevation_m, told.level_low_m, told.level_spread_m) == (None,) * 3
    assert (told.line.needed_m, told.density_altitude_m) == (None,) * 2
    assert (told.load.water_l, told.load.water_kg, told.load.hoge_limit_kg, told.load.margin_kg) == (None,) * 4


def test_the_wind_at_the_site_is_that_of_its_height():
    assessed = make_assessed()
    weather = assessed.incident.weather
    wind = replace(weather.wind, altitude_m=(0.0, 2000.0), from_deg=(240.0, 240.0), speed_m_s=(4.0, 12.0))
    incident = replace(assessed.incident, weather=replace(weather, wind=wind))
    site = compose(replace(assessed, incident=incident)).sites[0]
    assert site.wind.speed_m_s == pytest.approx(4.0 + 8.0 * site.elevation_m / 2000.0, abs=0.01)
    assert (site.wind.from_deg, site.wind.gust_m_s) == (240.0, wind.gust_m_s)


def test_the_line_needed_is_never_rounded_to_a_shorter_one():
    assessed = make_assessed()
    clearance = replace(assessed.sites[0].clearance, line_needed_m=30.01)
    assert one_site(assessed, clearance=clearance).line.needed_m == 30.1
    clearance = replace(assessed.sites[0].clearance, line_needed_m=30.000000001)
    assert one_site(assessed, clearance=clearance).line.needed_m == 30.0


def test_curves_hold_every_pair_of_fill_and_fuel(assessed, plan):
    curve, points = plan.sites[0].curve, assessed.sites[0].curve
    assert [c.fill for c in curve] == [1.0, 0.9, 0.8, 0.7, 0.6]
    assert sum(len(c.fuel_kg) for c in curve) == len(points)
    for c in curve:
        assert [rate is None for rate in c.litres_per_hour] == [cycles == 0 for cycles in c.cycles]


def test_scores_carry_their_reasons(assessed):
    why = Found.of("score-distance", mean_leg_m=3100.0, radius_m=8000.0)
    site = one_site(make_assessed(), criteria=(Criterion("distance", 60.0, 25.0, why),))
    assert site.score.total == 60.0
    assert (
        site.score.criteria[0].because == "3\u202f100 m a leg as flown; 0 points at the search radius of 8\u202f000 m"
    )


# --- hours, uncertainty, fleet, duty -------------------------------------------------------------------------


def test_an_hour_names_the_sites_that_were_flown_and_the_reason_where_one_does_not_work(plan):
    flown = [site.id for site in plan.sites[:4]]  # not the refused one, whose refusal no hour lifts
    assert [[here.site for here in hour.sites] for hour in plan.day.hours] == [flown] * 16
    assert plan.day.hours[0].when.isoformat() == "2026-08-14T05:00:00-10:00"
    assert plan.day.hours[0].best == "caldera-1"
    shut = plan.day.hours[8].sites[2]
    assert [why.because for why in shut.why] == ["no bucket setting can be lifted"]
    assert (shut.litres_per_hour, shut.fill, shut.fuel_kg, shut.margin_kg, shut.line_m) == (None,) * 5
    light = (plan.day.sunrise, plan.day.sunset, plan.day.last_departure)
    assert [f"{moment:%H:%M}" for moment in light] == ["05:47", "19:41", "18:30"]


def test_a_refused_site_that_an_hour_says_more_about_is_told(assessed):
    hours = list(assessed.day.hours)
    sites = list(hours[3].sites)
    sites[4] = replace(sites[4], why=(Found.of("no-lift"),))
    hours[3] = replace(hours[3], sites=tuple(sites))
    day = compose(replace(assessed, day=replace(assessed.day, hours=tuple(hours)))).day
    assert all(len(hour.sites) == 5 for hour in day.hours)


def test_what_the_uncertainty_and_the_fleet_say_of_a_site_goes_by_its_id(plan):
    assert [s.site for s in plan.doubt.sites] == [s.id for s in plan.sites[:4]]  # not the refused one
    assert plan.doubt.sites[2].low_litres_per_hour is None
    assert plan.doubt.sites[0].first_share == 0.86
    assert plan.doubt.because.startswith("Caldera lake stays first in 86 % of the cases; Long reservoir")
    parts = [(part.site, part.helicopter, part.helicopters) for part in plan.fleet.parts]
    assert parts == [("caldera-1", "Demo light", 3), ("reservoir-1", "Demo other", 2)]
    assert plan.fleet.because.startswith("5 helicopters deliver ")
    assert "each waiting 12 s" in plan.fleet.because
    assert plan.duty.because.endswith("4 whole fuel cycles at Caldera lake, 32\u202f800 L")
    assert plan.duty_so_far.flown_before_s == (25000.0,)
    assert (plan.more[0].helicopter.fuel_share, plan.more[0].bucket.fill_asked) == (0.8, 0.9)


def test_idle_helicopters_are_counted_and_a_rival_that_is_never_first_is_not_named(assessed):
    fleet = replace(assessed.fleet, sites=assessed.fleet.sites[:1])
    never = tuple(one if one is None else replace(one, first=0.0) for one in assessed.doubt.sites[1:])
    doubt = replace(assessed.doubt, sites=(assessed.doubt.sites[0], *never))
    plan = compose(replace(assessed, fleet=fleet, doubt=doubt))
    assert plan.fleet.because.endswith("; 2 would add nothing and stay out")
    assert "is first in" not in plan.doubt.because


# --- legs ----------------------------------------------------------------------------------------------------


def test_ferries_are_kept_once_and_sites_name_them():
    assessed = make_assessed()
    home = assessed.sites[0].route.to_base
    sites = tuple(s if s.route is None else replace(s, route=replace(s.route, to_base=home)) for s in assessed.sites)
    plan = compose(replace(assessed, sites=sites))
    told = [site.ferry for site in plan.suitable]
    assert len({ferry.to_base for ferry in told}) == 1
    assert len(plan.ferries) == len({ferry.from_base for ferry in told}) + 1
    assert all(plan.ferry(ferry.from_base).leg == "ferry" for ferry in told)
    assert all(leg.drop is None for leg in plan.ferries)


def test_what_a_leg_says_of_itself():
    along = np.linspace(0, 2000, 201)
    height = 200.0 + np.clip(along - 1000, 0, 500) * 0.1
    leg = flat_leg(along, height, hanging_m=40.0, waypoints=(0, 100, 200))
    told = compose_leg(leg, "x", FRAME)
    assert (told.steepest.gradient, told.steepest.from_m, told.steepest.over_m) == (0.1, 1000.0, 200.0)
    assert told.slope_known
    assert told.under_known
    assert [point.index for point in told.waypoints] == [0, told.along_m.index(1000.0), len(told.path) - 1]
    assert [point.course_deg for point in told.waypoints] == [pytest.approx(90.0, abs=0.2)] * 2 + [None]
    assert told.lowest is None  # it only rises: lowest at its start
    sag = compose_leg(replace(leg, altitude_m=200.07 + np.abs(along - 800.0) / 100), "x", FRAME)
    assert (sag.lowest.clearance_m, sag.lowest.along_m) == (60.0, 800.0)  # 60.07 m, never rounded up
    hop = compose_leg(replace(leg, altitude_m=200.0 - np.abs(along - 800.0) / 100), "x", FRAME)
    assert hop.lowest is None  # up and down again: lowest at its ends
    unknown = replace(leg, top_m=np.where(along > 900, NAN, 100.0))
    assert not compose_leg(unknown, "x", FRAME).under_known


def test_a_wire_stands_where_the_leg_crosses_it(plan):
    leg = plan.sites[1].routes[0]
    (wire,) = leg.wires_crossed
    at = np.interp(wire.along_m, leg.along_m, [point[1] for point in leg.path])
    assert at == pytest.approx(wire.lat, abs=0.02)
    assert 0 < wire.along_m < leg.length_m


# --- ground --------------------------------------------------------------------------------------------------


def test_what_blocks_is_geojson_where_it_stands(assessed, plan):
    blocked = plan.sites[-1].blocked
    ring = shapely.geometry.shape(blocked.model_dump()).exterior
    assert ring.is_ccw  # RFC 7946, section 3.1.6
    back = shapely.Polygon(np.column_stack(FRAME.to_xy(*np.array(ring.coords).T)))
    assert back.hausdorff_distance(assessed.sites[-1].blocked) < 0.2  # written to a tenth of a metre


@pytest.mark.parametrize(
    ("shape", "type_"),
    [
        (shapely.Point(10, 20), "Point"),
        (shapely.LineString([(0, 0), (10, 20)]), "LineString"),
        (shapely.LinearRing([(0, 0), (10, 20), (20, 0)]), "LineString"),
        (shapely.MultiLineString([[(0, 0), (10, 20)], [(5, 5), (6, 9)]]), "MultiLineString"),
        (shapely.MultiPolygon([shapely.box(0, 0, 9, 9), shapely.box(20, 20, 30, 30)]), "MultiPolygon"),
        (shapely.Polygon([(0, 0, 5), (100, 0, 5), (0, 100, 5)]), "Polygon"),
        (shapely.GeometryCollection([shapely.Point(1, 1), shapely.box(0, 0, 9, 9)]), "Polygon"),
        (shapely.GeometryCollection([shapely.box(0, 0, 9, 9), shapely.box(20, 20, 30, 30)]), "MultiPolygon"),
    ],
)
def test_every_kind_of_shape_is_taken(shape, type_):
    assert geometry(shape, FRAME).type == type_


def test_nothing_and_an_empty_shape_are_none():
    assert geometry(None, FRAME) is None
    assert geometry(shapely.Polygon(), FRAME) is None


def heights_of(plan, which):
    packed = plan.terrain.heights
    cells = np.frombuffer(zlib.decompress(base64.b64decode(getattr(packed, which))), dtype="<i4")
    return cells.reshape(packed.rows, packed.cols)


def test_the_coarse_heights_hold_every_peak_and_every_hole(assessed, plan):
    grid, packed = assessed.ground.grid, plan.terrain.heights
    south, west, north, east = packed.bounds
    rows, cols = np.mgrid[2 : grid.rows - 2 : 3, 2 : grid.cols - 2 : 3]
    lon, lat = FRAME.to_lonlat(*grid.xy(rows, cols))
    mercator = [np.arctanh(np.sin(np.radians(value))) for value in (north, south, lat)]
    r = ((mercator[0] - mercator[2]) / (mercator[0] - mercator[1]) * packed.rows).astype(int)
    c = ((lon - west) / (east - west) * packed.cols).astype(int)
    for which in ("ground", "top"):
        coarse = heights_of(plan, which)[r, c]
        fine = getattr(assessed.ground, which)[rows, cols]
        known = coarse != UNKNOWN_DM
        assert known.mean() > 0.6
        assert not known[np.isnan(fine)].any()
        assert (coarse[known] / 10 >= fine[known] - 1e-3).all()


def test_spot_heights_are_high_apart_and_clear_of_what_is_drawn(plan):
    summits = plan.terrain.summits
    assert 5 <= len(summits) <= 12
    assert [s.elevation_m for s in summits] == sorted((s.elevation_m for s in summits), reverse=True)
    places = [FRAME.to_xy(s.lon, s.lat) for s in summits]
    taken = [FRAME.to_xy(s.lon, s.lat) for s in plan.sites]
    for i, (x, y) in enumerate(places):
        assert all(math.hypot(x - a, y - b) > 1900 for a, b in places[:i])
        assert all(math.hypot(x - a, y - b) > 600 for a, b in taken)


def test_contours_are_round_in_the_units_of_the_reader():
    assert make_plan(display="metric").terrain.contour_m in (5, 10, 20, 50, 100, 200, 500)
    assert make_plan(display="us").terrain.contour_m / 0.3048 == pytest.approx(500)


def test_an_area_at_a_price_keeps_its_reason_and_its_height(assessed):
    area = AvoidArea("Camp", Found.of("area-costs"), False, 3.0, shapely.box(0, 0, 90, 90), 100.0, 900.0)
    (told,) = compose(replace(assessed, avoid=(area,))).avoid
    assert (told.code, told.because, told.hard, told.floor_m, told.ceiling_m) == (
        "area-costs", "costs extra", False, 100.0, 900.0,
    )  # fmt: skip
