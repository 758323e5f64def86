"""KML: valid by the published schema, and read back by GDAL as the plan has it."""

import importlib.util
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as Tree

import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
import xmlschema
from composed import changed, full
from exchange_scene import HOSTILE, as_written, on_disk, plans
from exchange_variants import variants
from hypothesis import given, settings

from diproute.document.frames import legs_of, to_geodataframe
from diproute.document.seam import cut
from diproute.errors import plain as shown
from diproute.physics.geodesy import distance_and_course
from diproute.writing.exchange.formats import exchange

K = "{http://www.opengis.net/kml/2.2}"


@cache
def schema():
    """OGC KML 2.2 (07-147r2) as a package ships it; only its files are used."""
    home = Path(importlib.util.find_spec("fastkml").submodule_search_locations[0]) / "schema"
    return xmlschema.XMLSchema(
        str(home / "ogckml22.xsd"),
        allow="local",
        locations={
            "http://www.w3.org/2005/Atom": str(home / "atom-author-link.xsd"),
            "urn:oasis:names:tc:ciq:xsdschema:xAL:2.0": str(home / "xAL.xsd"),
        },
    )


@cache
def layers(name):
    """The layers that GDAL finds in the file of a plan, by name."""
    return read(exchange(plans()[name], "kml"))


def read(data):
    with on_disk(data, "kml") as path:
        return {layer: pyogrio.read_dataframe(path, layer=layer) for layer, _ in pyogrio.list_layers(path)}


def apart_m(one, other):
    distance, _ = distance_and_course(one.x, one.y, other.x, other.y)
    return distance


@pytest.mark.parametrize("name", list(plans()))
def test_the_file_fits_the_schema(name):
    schema().validate(exchange(plans()[name], "kml").decode())


def test_the_schema_would_tell_of_a_wrong_order():
    text = exchange(full(), "kml").decode()
    wrong = text.replace("<open>1</open>", "", 1).replace("<Style ", "<open>1</open><Style ", 1)
    assert wrong != text
    assert not schema().is_valid(wrong)


@given(variants())
@settings(max_examples=25)
def test_whatever_the_names_and_values_the_file_fits_and_reads_back(plan):
    data = exchange(plan, "kml")
    schema().validate(data.decode())
    frame = read(data)["Dip sites"]
    assert list(frame["Name"]) == [f"{site.rank} {shown(site.name)}" for site in plan.suitable]
    for where, site in zip(frame.geometry, plan.suitable, strict=True):
        assert apart_m(where, shapely.Point(site.lon, site.lat)) < 0.1


@pytest.mark.parametrize("name", ["full", "across 180 from the west", "all shapes", "two drops"])
def test_gdal_reads_the_sites(name):
    plan, found = plans()[name], layers(name)
    suitable, refused = found["Dip sites"], found["Unsuitable dip sites"]
    assert list(suitable["Name"]) == [f"{site.rank} {site.name}" for site in plan.suitable]
    assert list(refused["Name"]) == [f"{site.name} (unsuitable)" for site in plan.sites if not site.suitable]
    for row, site in zip(suitable.itertuples(), plan.suitable, strict=True):
        assert apart_m(row.geometry, shapely.Point(site.lon, site.lat)) < 0.1
        assert float(row.elevation_m_amsl) == site.elevation_m
        assert float(row.litres_per_hour) == site.sortie.litres_per_hour
        assert (row.site, int(row.rank)) == (site.id, site.rank)
    for row in refused.itertuples():
        assert "Refused because:" in row.description
        assert "an hour" not in row.description
    assert suitable["visibility"].eq(1).all()
    assert refused["visibility"].eq(0).all()


@pytest.mark.parametrize("name", ["full", "across 180 from the west", "across 180 from the east", "two drops"])
def test_gdal_reads_the_legs_at_their_heights(name):
    plan, found = plans()[name], layers(name)
    drawn = pd.concat([layer for key, layer in found.items() if key[0].isdigit() or key == "Ferries"])
    expected = [leg for _, _, leg in legs_of(plan)]
    assert sorted(drawn["leg"]) == sorted(leg.id for leg in expected)
    for leg in expected:
        row = drawn[drawn["leg"] == leg.id].iloc[0]
        assert row["altitudeMode"] == "absolute"
        assert float(row["time_s"]) == leg.seconds
        there = shapely.get_coordinates(row.geometry, include_z=True)
        here = shapely.get_coordinates(cut(shapely.LineString(leg.path)), include_z=True)
        np.testing.assert_allclose(there[:, :2], here[:, :2], atol=5e-7 + 1e-9)
        np.testing.assert_allclose(there[:, 2], here[:, 2], atol=0.05 + 1e-9)


@pytest.mark.parametrize("name", ["full", "across 180 from the west", "all shapes", "hostile names"])
def test_gdal_reads_waters_obstacles_and_areas(name):
    plan, found = plans()[name], layers(name)
    for layer, kind in (
        ("Waters", "waters"),
        ("Wires and obstacles", "obstacles"),
        ("Areas closed to a load, or crossed at a price", "areas"),
    ):
        drawn, frame = found[layer], to_geodataframe(plan, kind)
        assert list(drawn["Name"]) == list(frame["name"])
        for there, here in zip(drawn.geometry, frame.geometry, strict=True):
            assert (there is None) == (here is None)
            if here is not None:
                assert shapely.normalize(shapely.force_2d(there)).equals_exact(
                    shapely.normalize(one_of_many(here)), 2e-6
                )
    assert found["Wires and obstacles"]["visibility"].eq(1).all()


def one_of_many(shape):
    """KML has no multi of one part."""
    parts = shapely.get_parts([shape])
    return parts[0] if len(parts) == 1 else shape


def test_nothing_hangs_on_a_clock_and_nothing_is_fetched():
    text = exchange(full(), "kml").decode()
    for tag in ("TimeStamp", "TimeSpan", "href", "NetworkLink", "http-equiv", "<script"):
        assert tag not in text
    assert text.count("http") == 1  # the name of the format


def test_hostile_names_stay_text():
    root = Tree.fromstring(exchange(plans()["hostile names"], "kml"))
    named = {found.text for found in root.iter(f"{K}name")}
    name = as_written(HOSTILE)
    assert {name, f"1 {name}", f"{name} (unsuitable)"} <= named
    for told in root.iter(f"{K}description"):
        assert "<" not in told.text  # a program that takes a description for HTML finds no tag
        assert ">" not in told.text
    assert layers("hostile names")["Dip sites"]["Name"].iloc[0] == f"1 {name}"


def test_a_text_from_a_layer_brings_no_tag_into_a_description():
    avoid = tuple(changed(area, values={"text": HOSTILE}) for area in full().avoid)
    root = Tree.fromstring(exchange(changed(full(), avoid=avoid), "kml"))
    told = "\n".join(found.text for found in root.iter(f"{K}description"))
    assert "‹b›" in told
    assert "<" not in told


def test_every_style_that_is_named_is_there():
    root = Tree.fromstring(exchange(plans()["all shapes"], "kml"))
    styles = {found.get("id") for found in root.iter(f"{K}Style")}
    named = {found.text.removeprefix("#") for found in root.iter(f"{K}styleUrl")}
    assert named == styles
