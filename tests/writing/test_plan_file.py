import json
import math
from dataclasses import replace
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
from plan_fixture import make_plan

from diproute.errors import OutputError
from diproute.writing.files import write_atomically
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
    ):
        document = plan_document(make_plan())
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
