"""One engine for tags: a word means the same in every column, packed or not, with OpenStreetMap's ids or without."""

import json

import pytest
from layer_scene import FRAME, grid, write_vector
from shapely import box

from diproute.reading.packed_tags import unpacked
from diproute.reading.water import read_waters
from diproute.reading.water_rules import Unusable, Usable, judge

LEFT_OUT = [
    ({"natural": "wetland"}, "wetland"),
    ({"natural": "wetland", "wetland": "tidalflat"}, "tidal-flat"),
    ({"natural": "water", "wetland": "swamp"}, "wetland"),
    ({"natural": "glacier"}, "ice"),
    ({"leisure": "swimming_pool"}, "swimming-pool"),
    ({"man_made": "reservoir_covered"}, "covered"),
    ({"landuse": "reservoir", "covered": "yes"}, "covered"),
    ({"natural": "water", "water": "reservoir", "location": "roof"}, "covered"),
    ({"natural": "water", "building": "yes"}, "covered"),
    ({"man_made": "water_tank"}, "tank"),
    ({"man_made": "storage_tank", "content": "water"}, "tank"),
    ({"landuse": "salt_pond"}, "salt-pond"),
    ({"natural": "water", "water": "fish_pass"}, "fish-pass"),
    ({"waterway": "fish_pass"}, "fish-pass"),
    ({"amenity": "fountain", "natural": "water"}, "fountain"),
    ({"man_made": "wastewater_plant"}, "sewage"),
    ({"natural": "water", "water": "wastewater"}, "sewage"),
    ({"man_made": "tailings_pond"}, "tailings"),
    ({"natural": "water", "reservoir_type": "tailings"}, "tailings"),
    ({"natural": "water", "water": "lake;intermittent"}, "intermittent"),
]


@pytest.mark.parametrize("osm", [True, False])
@pytest.mark.parametrize(("tags", "code"), LEFT_OUT)
def test_what_is_left_out_is_left_out_with_ids_and_without(tags, code, osm):
    found = judge(tags, osm=osm)
    assert isinstance(found, Unusable)
    assert found.why.code == code


@pytest.mark.parametrize("key", ["kind", "class", "type", "fclass", "subtype", "water", "natural"])
@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("wetland", "wetland"), ("Marsh", "wetland"), ("glacier", "ice"), ("swimming_pool", "swimming-pool"),
        ("Covered reservoir", "covered"), ("tank", "tank"), ("salt_pond", "salt-pond"), ("fish_pass", "fish-pass"),
        ("fountain", "fountain"), ("sewage", "sewage"), ("tailings", "tailings"), ("seasonal lake", "seasonal"),
    ],
)  # fmt: skip
def test_a_word_leaves_a_water_out_in_every_column(key, word, code):
    for osm in (True, False):
        found = judge({key: word}, osm=osm)
        assert isinstance(found, Unusable)
        assert (found.why.code, found.why.values["tag"]) == (code, key)


@pytest.mark.parametrize("column", ["wetland", "glacier", "swimming_pool", "covered", "tailings", "is_intermittent"])
def test_columns_that_say_yes(column):
    assert isinstance(judge({"kind": "lake", column: True}, osm=False), Unusable)
    assert judge({"kind": "lake", column: 0}, osm=False) == Usable("lake", False)


@pytest.mark.parametrize("osm", [True, False])
@pytest.mark.parametrize(
    "tags",
    [
        {"waterway": "dam"}, {"natural": "beach"}, {"natural": "wood"}, {"landuse": "forest"}, {"building": "yes"},
        {"highway": "path"}, {"natural": "coastline"}, {"natural": "spring"}, {"kind": "dam"}, {"fclass": "beach"},
        {"type": "multipolygon", "natural": "scrub"},
    ],
)  # fmt: skip
def test_what_lies_beside_water_is_none(tags, osm):
    assert judge(tags, osm=osm) is None


@pytest.mark.parametrize("osm", [True, False])
@pytest.mark.parametrize(
    ("tags", "kind", "salt", "sure"),
    [
        ({"natural": "water", "water": "lake"}, "lake", False, True),
        ({"fclass": "reservoir"}, "reservoir", False, True),
        ({"fclass": "water"}, "water", False, False),
        ({"waterway": "riverbank"}, "river", False, True),
        ({"natural": "water", "landuse": "reservoir"}, "reservoir", False, True),
        ({"kind": "lake", "tidal": "yes"}, "lake", True, False),
        ({"subtype": "lake", "class": "lake", "is_salt": True}, "lake", True, True),
        ({"type": "multipolygon", "natural": "water"}, "water", False, False),
    ],
)
def test_usable_water_with_ids_and_without(tags, kind, salt, sure, osm):
    found = judge(tags, osm=osm)
    assert isinstance(found, Usable)
    assert (found.kind, found.salt, found.unsure is None) == (kind, salt, sure)


def test_a_name_is_no_word_for_a_kind():
    assert judge({"kind": "lake", "name": "Marsh Lake"}, osm=False) == Usable("lake", False)
    assert judge({"natural": "water", "water": "pond", "name": "Glacier"}, osm=True) == Usable("pond", False)


def test_a_kind_that_no_rule_knows_is_unsure():
    found = judge({"kind": "waterhole"}, osm=False)
    assert (found.kind, found.unsure.code) == ("waterhole", "water-unsure")
    assert judge({"natural": "yes", "name": "Elk Lake"}, osm=False).kind == "water"


# ------------------------------------------------------------------------------------------------------ packed tags
PACKED = [
    '"natural"=>"water","intermittent"=>"yes"',
    '"natural" => "water", "intermittent" => "yes"',
    json.dumps({"natural": "water", "intermittent": "yes"}),
    json.dumps([["natural", "water"], ["intermittent", "yes"]]),
    json.dumps([{"key": "natural", "value": "water"}, {"key": "intermittent", "value": "yes"}]),
]


@pytest.mark.parametrize("packed", PACKED)
@pytest.mark.parametrize("column", ["other_tags", "tags", "all_tags"])
def test_packed_tags_count_like_plain_ones(tmp_path, column, packed):
    wanted = {"intermittent": "yes", "natural": "water", "name": "a"}
    assert unpacked({"name": "a", column: packed}) == wanted
    path = write_vector(tmp_path / "w.gpkg", [box(0, 0, 400, 300)], name=["a"], **{column: [packed]})
    waters, left_out, _ = read_waters([(path, None)], FRAME, grid(2000, 10))
    assert waters == ()
    assert [entry.why.code for entry in left_out] == ["intermittent"]


def test_a_column_of_its_own_counts_before_a_packed_tag():
    assert unpacked({"name": "a", "other_tags": '"name"=>"b","x"=>"1"'}) == {"name": "a", "x": "1"}
    assert unpacked({"tags": {"x": 1}}) == {"x": 1}


@pytest.mark.parametrize("text", ["", "{", "[1, 2]", "blue, deep", "[" * 100_000])
def test_what_is_not_packed_stays_as_it_is(text):
    assert unpacked({"tags": text}) == {"tags": text}
