"""GeoJSON: the rules of RFC 7946, read by json and by GDAL."""

import json

import pandas as pd
import pyogrio
import pytest
import shapely
from composed import full
from exchange_scene import HOSTILE, as_written, on_disk, plans
from exchange_variants import variants
from hypothesis import given, settings

from diproute.document.frames import NAMES, to_geodataframe
from diproute.writing.exchange.formats import exchange

TYPES = {"Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"}


def read(plan):
    def refuse(constant):
        raise ValueError(constant)

    return json.loads(exchange(plan, "geojson").decode("utf-8"), parse_constant=refuse)


def positions(part):
    if isinstance(part[0], int | float):
        yield part
    else:
        for inner in part:
            yield from positions(inner)


def areas(shape):
    return {"Polygon": [shape["coordinates"]], "MultiPolygon": shape["coordinates"]}.get(shape["type"], [])


def assert_keeps_the_rules(whole):
    assert whole["type"] == "FeatureCollection"
    assert "crs" not in whole  # section 4
    assert "bbox" not in whole
    for feature in whole["features"]:
        assert set(feature) == {"type", "geometry", "properties"}  # section 3.2
        assert feature["properties"]["table"] in NAMES
        shape = feature["geometry"]
        if shape is None:
            continue
        assert set(shape) == {"type", "coordinates"}
        assert shape["type"] in TYPES
        for at in positions(shape["coordinates"]):
            assert len(at) == 2
            assert -180 <= at[0] <= 180
            assert -90 <= at[1] <= 90
        for outer, *holes in areas(shape):  # section 3.1.6
            for ring, left in ((outer, True), *((hole, False) for hole in holes)):
                assert ring[0] == ring[-1]
                assert len(ring) >= 4
                assert shapely.LinearRing(ring).is_ccw == left
        for line in {"LineString": [shape["coordinates"]], "MultiLineString": shape["coordinates"]}.get(
            shape["type"], []
        ):
            assert len(line) >= 2
            west, east = min(at[0] for at in line), max(at[0] for at in line)
            assert east - west < 180  # section 3.1.9: nothing runs round the globe


@pytest.mark.parametrize("name", list(plans()))
def test_the_rules_are_kept(name):
    assert_keeps_the_rules(read(plans()[name]))


@pytest.mark.parametrize("name", list(plans()))
@pytest.mark.parametrize("kind", NAMES)
def test_json_reads_every_table_as_it_is(kind, name):
    frame = to_geodataframe(plans()[name], kind)
    features = [f for f in read(plans()[name])["features"] if f["properties"]["table"] == kind]
    assert len(features) == len(frame)
    columns = [column for column in frame.columns if column != "geometry"]
    for feature, (_, row) in zip(features, frame.iterrows(), strict=True):
        told = feature["properties"]
        assert list(told) == ["table", *columns]
        for column in columns:
            here = row[column]
            if column == "valid_at":
                assert pd.Timestamp(told[column]) == here
            else:
                assert told[column] == (None if pd.isna(here) else here)
        if row["geometry"] is None:
            assert feature["geometry"] is None
        else:
            there = shapely.geometry.shape(feature["geometry"])
            flat = shapely.force_2d(row["geometry"])
            assert shapely.equals_exact(shapely.normalize(there), shapely.normalize(flat), tolerance=1e-6)


@given(variants())
@settings(max_examples=20)
def test_whatever_the_names_and_values_the_rules_are_kept(plan):
    whole = read(plan)
    assert_keeps_the_rules(whole)
    sites = [f for f in whole["features"] if f["properties"]["table"] == "sites"]
    for feature, site in zip(sites, plan.sites, strict=True):
        assert feature["geometry"]["coordinates"] == pytest.approx([site.lon, site.lat], abs=1e-9)
        assert feature["properties"]["elevation_m_amsl"] == site.elevation_m


@pytest.mark.parametrize("name", ["full", "across 180 from the west", "all shapes"])
def test_gdal_reads_it(name):
    plan = plans()[name]
    with on_disk(exchange(plan, "geojson"), "geojson") as path:
        found = pyogrio.read_dataframe(path)
    assert found.crs.to_epsg() == 4326
    assert list(found["table"]) == [kind for kind in NAMES for _ in range(len(to_geodataframe(plan, kind)))]
    legs, here = found[found["table"] == "legs"], to_geodataframe(plan, "legs")
    assert list(legs["time_s"]) == list(here["time_s"])
    for there, leg in zip(legs.geometry, here.geometry, strict=True):
        assert there.length == pytest.approx(leg.length, abs=1e-4)


def test_hostile_names_stay_text():
    text = exchange(plans()["hostile names"], "geojson").decode()
    assert text.isprintable()  # no control characters, nothing that turns the writing
    sites = [f for f in read(plans()["hostile names"])["features"] if f["properties"]["table"] == "sites"]
    assert {f["properties"]["name"] for f in sites} == {as_written(HOSTILE)}


def test_the_whole_says_of_which_plan_it_is():
    whole = read(full())
    assert (whole["title"], whole["run"], whole["invented"]) == (full().title, full().run, True)
