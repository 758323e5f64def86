"""GeoPackage: sound by its own rules, equal to the tables by GDAL, and styled so that nothing stays hidden."""

import math
import re
import sqlite3
from contextlib import closing
from functools import cache
from xml.etree import ElementTree as Tree

import pandas as pd
import pyogrio
import pytest
import shapely
from composed import plain
from disk import full_disk
from exchange_scene import on_disk, plans
from exchange_variants import variants
from hypothesis import given, settings

from diproute.document.frames import NAMES, to_geodataframe
from diproute.errors import OutputError
from diproute.writing.drawings.palette import ROLES
from diproute.writing.exchange.formats import exchange
from diproute.writing.exchange.styles import STYLES

ENDS = ("", "_points", "_lines", "_areas")
COLOURS = {role.light.lower() for role in ROLES.values()}
S, O = "{http://www.opengis.net/sld}", "{http://www.opengis.net/ogc}"  # noqa: E741
# OGC 02-070, Styled Layer Descriptor 1.0: what may stand in what, in this order
SLD_ORDER = {
    "StyledLayerDescriptor": "Name Title Abstract NamedLayer",
    "NamedLayer": "Name LayerFeatureConstraints NamedStyle UserStyle",
    "UserStyle": "Name Title Abstract IsDefault FeatureTypeStyle",
    "FeatureTypeStyle": "Name Title Abstract FeatureTypeName SemanticTypeIdentifier Rule",
    "Rule": "Name Title Abstract LegendGraphic Filter ElseFilter MinScaleDenominator MaxScaleDenominator "
    "LineSymbolizer PolygonSymbolizer PointSymbolizer",
    "LineSymbolizer": "Geometry Stroke",
    "PolygonSymbolizer": "Geometry Fill Stroke",
    "PointSymbolizer": "Geometry Graphic",
    "Graphic": "ExternalGraphic Mark Opacity Size Rotation",
    "Mark": "WellKnownName Fill Stroke",
}


@cache
def made(name):
    return exchange(plans()[name], "gpkg")


def asked(name, *statements):
    with on_disk(made(name), "gpkg") as path, closing(sqlite3.connect(path)) as base:
        return [base.execute(statement).fetchall() for statement in statements]


def read(data):
    with on_disk(data, "gpkg") as path:
        names = [layer for layer, shape in pyogrio.list_layers(path) if shape is not None]
        return {layer: pyogrio.read_dataframe(path, layer=layer) for layer in names}


@cache
def layers(name):
    return read(made(name))


def value(told):
    """A cell as a plain value, whatever the reader keeps it in."""
    if told is None or pd.isna(told):
        return None
    if isinstance(told, pd.Timestamp):
        return told.tz_convert("UTC")
    return told if isinstance(told, str) else float(told)


def cells(frame):
    columns = [name for name in frame.columns if name != "geometry"]
    shapes = [sorted(part.wkt for part in shapely.get_parts([shape])) if shape else [] for shape in frame.geometry]
    told = [[value(cell) for cell in row] for row in frame[columns].astype(object).itertuples(index=False)]
    return columns, sorted(zip(told, shapes, strict=True), key=repr)


@pytest.mark.parametrize("name", list(plans()))
def test_the_same_plan_gives_the_same_bytes(name):
    assert exchange(plans()[name], "gpkg") == made(name)


@pytest.mark.parametrize("name", list(plans()))
def test_it_is_a_sound_geopackage(name):
    sound, foreign, magic, version, contents, shapes, columns, trees = asked(
        name,
        "PRAGMA integrity_check",
        "PRAGMA foreign_key_check",
        "PRAGMA application_id",
        "PRAGMA user_version",
        "SELECT table_name, data_type, identifier, description, last_change, srs_id FROM gpkg_contents",
        "SELECT table_name, column_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns",
        "SELECT name FROM sqlite_master WHERE type = 'table'",
        "SELECT table_name, column_name, extension_name FROM gpkg_extensions",
    )
    assert sound == [("ok",)]
    assert foreign == []
    # OGC 12-128r14 (GeoPackage 1.2), requirement 2: "GPKG" in ASCII, and the version
    assert magic == [(int.from_bytes(b"GPKG", "big"),)]
    assert version == [(10200,)]
    tables = {table for (table,) in columns}
    features = {row[0] for row in contents if row[1] == "features"}
    assert {row[0] for row in contents if row[1] == "attributes"} == {"layer_styles"}
    assert set(NAMES) <= features
    assert (
        features == {row[0] for row in shapes} == {table for table, column, what in trees if what == "gpkg_rtree_index"}
    )
    assert {f"rtree_{table}_geom" for table in features} <= tables
    assert {row[0] for row in contents} <= tables
    assert len({row[2] for row in contents}) == len(contents)
    assert {row[4] for row in contents} == {"2026-08-15T01:00:00.000Z"}
    for _, column, _, srs, lifted, measured in shapes:
        assert (column, srs, measured) == ("geom", 4326, 0)
        assert lifted in (0, 1)
    assert {row[0] for row in shapes if row[4]} == {"legs"}


@pytest.mark.parametrize("name", list(plans()))
def test_every_shape_is_of_the_type_that_its_layer_says(name):
    allowed = dict(asked(name, "SELECT table_name, geometry_type_name FROM gpkg_geometry_columns")[0])
    for layer, frame in layers(name).items():
        assert {shape.geom_type.upper() for shape in frame.geometry if shape} <= {allowed[layer]}


@pytest.mark.parametrize("name", list(plans()))
@pytest.mark.parametrize("kind", NAMES)
def test_gdal_reads_every_table_as_it_is(kind, name):
    frame = to_geodataframe(plans()[name], kind)
    parts = [layers(name)[kind + end] for end in ENDS if kind + end in layers(name)]
    columns = list(parts[0].columns)
    assert all(list(part.columns) == columns for part in parts)
    whole = [cells(part) for part in parts]
    read_back = (whole[0][0], sorted((row for _, rows in whole for row in rows), key=repr))
    assert read_back == cells(frame)


@given(variants())
@settings(max_examples=8)
def test_whatever_the_names_and_values_gdal_reads_them(plan):
    data = exchange(plan, "gpkg")
    assert data == exchange(plan, "gpkg")
    found = read(data)
    for kind in ("sites", "legs", "places"):
        assert cells(found[kind]) == cells(to_geodataframe(plan, kind))


# ------------------------------------------------------------------------------------------------- styles
def styled(name):
    (rows,) = asked(name, "SELECT f_table_name, f_geometry_column, styleQML, styleSLD, useAsDefault FROM layer_styles")
    return {table: (qml, sld) for table, column, qml, sld, default in rows if column == "geom" and default == 1}


@pytest.mark.parametrize("name", list(plans()))
def test_every_layer_that_can_be_drawn_has_its_style(name):
    assert set(styled(name)) == {layer for layer in layers(name) if layer in STYLES}
    unstyled = set(layers(name)) - set(STYLES)
    assert unstyled <= {"areas_points", "areas_lines", "waters_points"}  # drawn as a GIS draws by itself


def rules_of(qml, sld):
    """The rules of both styles: column and value that each asks for, None for all rows."""
    from_qml = []
    for rule in Tree.fromstring(qml).iter("rule"):
        asks = rule.get("filter")
        column, told = (None, None) if asks is None else re.fullmatch(r'"(\w+)" = (\w+|\'\w+\')', asks).groups()
        from_qml.append((column, told and told.strip("'")))
    from_sld = [
        (rule.findtext(f".//{O}PropertyName"), rule.findtext(f".//{O}Literal"))
        for rule in Tree.fromstring(sld).iter(f"{S}Rule")
    ]
    return from_qml, from_sld


def fitting(cell, column, told):
    return column is None or (cell == told if isinstance(cell, str) else cell == {"true": 1, "false": 0}[told])


@pytest.mark.parametrize("name", list(plans()))
def test_each_thing_is_drawn_by_one_rule_of_both_styles(name):
    for layer, (qml, sld) in styled(name).items():
        rules, same = rules_of(qml, sld)
        assert rules == same
        frame = layers(name)[layer]
        for column, told in rules:
            assert column is None or column in frame.columns
            if column is not None and frame[column].dtype == bool:
                assert told in ("true", "false")
        for row in frame.to_dict("records"):
            assert sum(fitting(row[column] if column else None, column, told) for column, told in rules) == 1


def test_every_value_that_a_rule_asks_for_occurs():
    seen = {layer: pd.concat([layers(name)[layer] for name in plans() if layer in layers(name)]) for layer in STYLES}
    for layer, style in STYLES.items():
        for look in style.looks:
            if look.column is not None:
                assert any(fitting(cell, look.column, look.value) for cell in seen[layer][look.column]), look.label


def test_both_styles_are_whole_and_of_the_palette():
    for layer, (qml, sld) in styled("all shapes").items():
        q, s = Tree.fromstring(qml), Tree.fromstring(sld)
        painted = [
            option.get("value") for option in q.iter("Option") if option.get("name", "").endswith(("color", "Color"))
        ]
        painted += [found.get(key) for found in q.iter() for key in ("textColor", "bufferColor") if found.get(key)]
        assert painted
        for rgba in painted:
            red, green, blue, opacity = map(int, rgba.split(","))
            assert opacity == 0 or f"#{red:02x}{green:02x}{blue:02x}" in COLOURS
        css = [found.text for found in s.iter(f"{S}CssParameter") if found.get("name") in ("fill", "stroke")]
        assert css
        assert {colour.lower() for colour in css} <= COLOURS
        assert s.findtext(f"{S}NamedLayer/{S}Name") == layer
        for element in s.iter():
            order = SLD_ORDER.get(element.tag.split("}")[1], "").split()
            places = [order.index(child.tag.split("}")[1]) for child in element if order]
            assert places == sorted(places)
        symbols = {symbol.get("name") for symbol in q.iter("symbol")}
        assert {rule.get("symbol") for rule in q.iter("rule")} == symbols
        named = [found.get("fieldName") for found in q.iter("text-style")]
        assert set(named) <= set(layers("all shapes")[layer].columns)


def test_a_style_draws_what_can_hurt_in_its_colour_and_the_refused_hollow():
    hazard = ROLES["hazard"].light
    for layer in ("obstacles", "obstacles_lines", "obstacles_areas", "areas"):
        for rule in Tree.fromstring(styled("all shapes")[layer][1]).iter(f"{S}Rule"):
            assert hazard in [found.text for found in rule.iter(f"{S}CssParameter")]
    suitable, refused = Tree.fromstring(styled("full")["sites"][1]).iter(f"{S}Rule")
    assert suitable.find(f".//{S}Fill") is not None
    assert refused.find(f".//{S}Fill") is None


# ------------------------------------------------------------------------------------------------- the disk
@pytest.mark.parametrize("share", [0.0, 0.1, 0.6, 0.99])
def test_a_full_disk_is_told_in_one_line(share):
    room = math.floor(len(made("plain")) * share)
    with full_disk(room), pytest.raises(OutputError) as caught:
        exchange(plain(), "gpkg")
    assert str(caught.value).startswith("cannot write ")
    assert str(caught.value).isprintable()


def test_layers_of_a_plan_without_a_suitable_site_are_there_without_rows():
    found = layers("none suitable")
    assert found["legs"].empty
    assert found["waypoints"].empty
    assert len(found["sites"]) == len(plans()["none suitable"].sites) > 0
