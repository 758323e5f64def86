import json
import math
from dataclasses import replace
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
import shapely
from outlook_fixture import full_plan
from plan_fixture import make_plan

from diproute.errors import OutputError
from diproute.physics.geodesy import LocalFrame
from diproute.files import write_atomically
from diproute.writing.geojson import geometry
from diproute.writing.plan_file import plan_document, plan_text, write_plan


@pytest.fixture(scope="module")
def schema():
    return json.loads(files("diproute").joinpath("plan.schema.json").read_text(encoding="utf-8"))


def check(document, schema):
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(document, schema, cls=jsonschema.Draft202012Validator)


def test_a_plan_meets_the_schema(schema):
    check(plan_document(make_plan()), schema)
    check(plan_document(make_plan(usable=False)), schema)
    check(plan_document(full_plan()), schema)


def test_the_schema_closes_every_object(schema):
    def objects(node):
        if isinstance(node, dict):
            if node.get("type") == "object":
                yield node
            for value in node.values():
                yield from objects(value)
        elif isinstance(node, list):
            for value in node:
                yield from objects(value)

    found = list(objects(schema))
    assert len(found) > 20
    for node in found:
        assert node["additionalProperties"] is False
        assert set(node["required"]) == set(node["properties"])


def test_an_unknown_key_a_missing_one_and_a_wrong_format_fail_the_schema(schema):
    for spoil in (
        lambda d: d.update(extra=1),
        lambda d: d["sites"][0].pop("directions"),
        lambda d: d.update(format="diproute-plan/2"),
        lambda d: d["sites"][0]["routes"][0]["path"].append([1.0, 2.0]),
        lambda d: d["day"]["hours"][0]["sites"][0].pop("fill"),
        lambda d: d["doubt"].update(draws=0),
        lambda d: d["sites"][-1]["blocked"].update(type="Polygone"),
        lambda d: d.pop("fleet"),
        lambda d: d["more"][0]["bucket"].update(colour="orange"),
        lambda d: d["limits"].update(surface="icao-d"),
    ):
        document = plan_document(full_plan())
        spoil(document)
        with pytest.raises(jsonschema.ValidationError):
            check(document, schema)


def test_the_shape_of_the_design_page_is_there():
    document = plan_document(make_plan())
    assert {"format", "title", "made_with", "when", "air", "declination_deg", "declination_date", "sites"} <= set(
        document
    )
    site = document["sites"][0]
    # every key of the plan.json shape in the incident-format design page
    for path in [
        "id",
        "name",
        "water",
        "lat",
        "lon",
        "rank",
        "elevation_m",
        "shore_clearance_m",
        "depth_m",
        "temperature_k",
        "pressure_altitude_m",
        "density_altitude_m",
        "line.needed_m",
        "line.carried_m",
        "directions.0.course_deg",
        "directions.0.arrival_lift_m",
        "directions.0.departure_lift_m",
        "directions.0.open",
        "open_share",
        "arrival.course_deg",
        "arrival.course_magnetic_deg",
        "arrival.lift_m",
        "arrival.headwind_m_s",
        "arrival.surface_8_to_1_m",
        "departure.course_deg",
        "load.water_l",
        "load.water_kg",
        "load.fill",
        "load.fuel_kg",
        "load.governed_by",
        "load.place",
        "load.hoge_limit_kg",
        "load.margin_kg",
        "routes.0.drop",
        "routes.0.leg",
        "routes.0.length_m",
        "routes.0.seconds",
        "routes.0.highest_m",
        "routes.0.path",
        "routes.0.wires_crossed",
        "cycle.seconds",
        "cycle.parts.0.name",
        "cycle.parts.0.seconds",
        "sortie.cycles",
        "sortie.seconds",
        "sortie.litres",
        "sortie.litres_per_hour",
        "sortie.first_drop_seconds",
        "score.total",
        "score.criteria.0.name",
        "score.criteria.0.points",
        "score.criteria.0.weight",
        "score.criteria.0.because",
        "refused",
        "cautions",
    ]:
        node = site
        for key in path.split("."):
            node = node[int(key)] if key.isdigit() else node[key]


def test_what_is_not_known_is_null_and_never_nan():
    plan = make_plan()
    text = plan_text(plan)
    assert "NaN" not in text
    assert "Infinity" not in text
    refused = json.loads(text)["sites"][-1]
    assert refused["density_altitude_m"] is None
    assert refused["rank"] is None
    assert refused["line"]["carried_m"] is None
    assert [d["departure_lift_m"] for d in refused["directions"][:14]] == [None] * 14
    assert refused["directions"][3]["known"] is False
    assert refused["directions"][3]["open"] is False


def test_a_load_without_an_answer_is_null_and_still_meets_the_schema(schema):
    plan = make_plan()
    nan = math.nan
    load = replace(plan.sites[0].load, water_l=nan, water_kg=nan, hoge_limit_kg=nan, margin_kg=nan)
    document = plan_document(replace(plan, sites=(replace(plan.sites[0], load=load),)))
    check(document, schema)
    assert document["sites"][0]["load"]["water_l"] is None


def test_day_doubt_fleet_and_duty_are_null_when_the_plan_has_none():
    document = plan_document(make_plan())
    assert [document[key] for key in ("day", "doubt", "fleet", "duty", "more")] == [None, None, None, None, []]
    assert [site["blocked"] for site in document["sites"]] == [None] * 4


def test_every_hour_names_its_sites_and_what_does_not_work_is_null_with_its_reason():
    plan = full_plan()
    day = plan_document(plan)["day"]
    ids = [site.id for site in plan.sites]
    assert [[entry["site"] for entry in hour["sites"]] for hour in day["hours"]] == [ids] * 16
    assert day["hours"][0]["when"] == "2026-08-14T05:00:00-10:00"
    assert day["hours"][0]["best"] == "caldera-1"
    shut = day["hours"][8]["sites"][2]
    assert shut["because"] == "no fill setting can be lifted"
    assert [shut[key] for key in ("litres_per_hour", "fill", "fuel_kg", "margin_kg", "line_m")] == [None] * 5
    assert [day[key][11:16] for key in ("sunrise", "sunset", "last_departure")] == ["05:47", "19:41", "18:30"]


def test_what_the_doubt_and_the_fleet_say_of_a_site_goes_by_its_id():
    plan = full_plan()
    document = plan_document(plan)
    assert [s["site"] for s in document["doubt"]["sites"]] == [s.id for s in plan.sites[:4]]  # not the refused one
    assert document["doubt"]["sites"][2]["low_litres_per_hour"] is None
    assert document["doubt"]["sites"][0]["first_share"] == 0.86
    assert [(p["site"], p["helicopter"], p["helicopters"]) for p in document["fleet"]["parts"]] == [
        ("caldera-1", "Demo light", 3),
        ("reservoir-1", "Demo other", 2),
    ]
    assert document["duty_so_far"] == {"flown_today_s": 7200.0, "on_duty_s": 14400.0, "flown_before_s": [25000.0]}
    assert document["more"][0]["helicopter"]["fuel_share"] == 0.8
    assert document["more"][0]["bucket"]["fill_asked"] == 0.9


def test_lines_compared_and_margins_load_by_load():
    best = plan_document(full_plan())["sites"][0]
    assert [line["chosen"] for line in best["lines"]] == [False, True, False]
    assert [best["lines"][0][key] for key in ("litres_per_hour", "cycle_s", "margin_kg")] == [None, None, None]
    assert best["sortie"]["margins_kg"][:2] == [12.0, 29.0]
    assert len(best["sortie"]["margins_kg"]) == len(best["sortie"]["loads_l"])


def test_what_blocks_is_geojson_where_it_stands():
    plan = full_plan()
    site = plan.sites[-1]
    blocked = plan_document(plan)["sites"][-1]["blocked"]
    assert blocked["type"] == "Polygon"
    ring = shapely.geometry.shape(blocked).exterior
    assert ring.is_ccw  # RFC 7946, section 3.1.6
    frame = LocalFrame(plan.ground.grid.lat_deg, plan.ground.grid.lon_deg)
    back = shapely.Polygon(np.column_stack(frame.to_xy(*np.array(ring.coords).T)))
    assert back.hausdorff_distance(site.blocked) < 0.2  # coordinates are written to a tenth of a metre


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Point(10, 20),
        shapely.LineString([(0, 0), (10, 20)]),
        shapely.MultiLineString([[(0, 0), (10, 20)], [(5, 5), (6, 9)]]),
        shapely.MultiPolygon([shapely.box(0, 0, 9, 9), shapely.box(20, 20, 30, 30)]),
        shapely.Polygon([(0, 0, 5), (100, 0, 5), (0, 100, 5)]),
    ],
)
def test_every_kind_of_shape_meets_the_schema(schema, shape):
    frame = LocalFrame(42.1, -160.05)
    found = geometry(shape, frame)
    assert found["type"] == shape.geom_type
    jsonschema.validate(found, {**schema, "$ref": "#/$defs/geometry", "required": [], "properties": {},
                                "additionalProperties": True, "type": "object"})  # fmt: skip


def test_nothing_and_an_empty_shape_are_null():
    frame = LocalFrame(42.1, -160.05)
    assert geometry(None, frame) is None
    assert geometry(shapely.Polygon(), frame) is None


def test_an_arrival_flown_on_a_course_comes_over_the_opposite_bearing():
    plan = make_plan()
    clearance = plan.sites[0].clearance
    lift_in = np.full(72, 3.0)
    lift_in[36] = 55.0  # a tower south of the water: bearing 180
    site = replace(plan.sites[0], clearance=replace(clearance, lift_in_m=lift_in, lift_out_m=np.full(72, 3.0)))
    entry = plan_document(replace(plan, sites=(site,)))["sites"][0]
    high = [d["course_deg"] for d in entry["directions"] if d["arrival_lift_m"] > 3]
    assert high == [0.0]  # arrival from the south is 0
    assert [d["course_deg"] for d in entry["directions"]] == sorted(d["course_deg"] for d in entry["directions"])


def test_magnetic_courses_are_true_less_the_declination():
    plan = make_plan()
    entry = plan_document(plan)["sites"][0]
    difference = entry["arrival"]["course_deg"] - entry["arrival"]["course_magnetic_deg"]
    assert difference % 360 == pytest.approx(plan.declination_deg, abs=0.1)


def test_the_open_share_is_the_share_of_open_entries():
    for site in plan_document(make_plan())["sites"]:
        assert site["open_share"] == pytest.approx(np.mean([d["open"] for d in site["directions"]]), abs=1e-3)


def test_the_same_plan_gives_the_same_bytes(tmp_path):
    one = write_plan(make_plan(), tmp_path / "a" / "plan.json").read_bytes()
    two = write_plan(make_plan(), tmp_path / "plan.json").read_bytes()
    assert one == two
    assert one.endswith(b"}\n")
    assert json.loads(one) == plan_document(make_plan())


def test_no_minus_zero_and_no_course_of_360():
    plan = make_plan()
    approach = plan.sites[0].approach
    arrival = replace(approach.arrival, course_deg=359.97, headwind_m_s=-0.0001)
    site = replace(plan.sites[0], approach=replace(approach, arrival=arrival))
    flown = plan_document(replace(plan, sites=(site,)))["sites"][0]["arrival"]
    assert flown["course_deg"] == 0.0
    assert math.copysign(1, flown["headwind_m_s"]) == 1


def test_an_unwritable_place_is_one_line_and_leaves_nothing(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OutputError, match=r"cannot write .*plan\.json") as caught:
        write_plan(make_plan(), tmp_path / "file" / "plan.json")
    assert "\n" not in str(caught.value)
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(OutputError, match="choose a folder"):
        write_atomically(folder, "text")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "folder"]
