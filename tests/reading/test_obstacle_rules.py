"""What an obstacle is, by its tags and words, and how high it is taken."""

import pytest

from diproute.reading.obstacle_rules import Hidden, name_obstacle


@pytest.mark.parametrize(
    ("tags", "dimension", "kind", "height"),
    [
        ({"power": "line", "voltage": "110000"}, 1, "power line", 45),
        ({"power": "line", "voltage": "400000;110000"}, 1, "power line", 80),
        ({"power": "line", "voltage": "220 kV"}, 1, "power line", 65),
        ({"power": "line", "voltage": "20000"}, 1, "power line", 20),
        ({"power": "line"}, 1, "power line", 65), ({"power": "minor_line"}, 1, "minor power line", 20),
        ({"power": "minor_line", "voltage": "400"}, 1, "minor power line", 20),
        ({"power": "tower"}, 0, "power tower", 65),
        ({"power": "pole"}, 0, "power pole", 20),
        ({"power": "portal"}, 0, "portal", 40),
        ({"aerialway": "cable_car"}, 1, "cable car", 100), ({"aerialway": "gondola"}, 1, "gondola", 60),
        ({"aerialway": "chair_lift"}, 1, "chair lift", 40), ({"aerialway": "goods"}, 1, "goods cableway", 100),
        ({"aerialway": "zip_line"}, 1, "zip line", 100), ({"aerialway": "t-bar"}, 1, "drag lift", 20),
        ({"aerialway": "something_new"}, 1, "cableway", 100), ({"aerialway": "pylon"}, 0, "cableway pylon", 60),
        ({"man_made": "mast"}, 0, "mast", 150),
        ({"man_made": "chimney"}, 0, "chimney", 200),
        ({"man_made": "crane"}, 0, "crane", 120),
        ({"man_made": "communications_tower"}, 0, "communications tower", 300),
        ({"man_made": "tower"}, 2, "tower", 120),
        ({"power": "generator", "generator:source": "wind"}, 0, "wind turbine", 250),
        ({"highway": "primary", "bridge": "yes"}, 1, "bridge", 30),
        ({"railway": "rail", "bridge": "viaduct", "bridge:structure": "cable-stayed"}, 1, "suspension bridge", 150),
        ({"waterway": "dam"}, 1, "dam", 15),
        ({"natural": "tree"}, 0, "tree", 50),
        ({"building": "yes"}, 2, "building", 20),
        ({"railway": "rail", "electrified": "contact_line"}, 1, "railway contact line", 15),
    ],
)  # fmt: skip
def test_openstreetmap_obstacles_without_a_height(tags, dimension, kind, height):
    # heights: planning assumptions of this project (`constants.ASSUMED_HEIGHT_M`)
    found = name_obstacle(tags, dimension, osm=True)
    assert (found.kind, found.height_m, found.assumed) == (kind, height, True)


@pytest.mark.parametrize(
    ("tags", "metres"),
    [
        ({"man_made": "mast", "height": "48.5"}, 48.5), ({"man_made": "mast", "height": "48.5 m"}, 48.5),
        ({"man_made": "mast", "height": "125 ft"}, 38.1), ({"man_made": "mast", "height": "40'"}, 12.192),
        ({"man_made": "mast", "height": "7'6\""}, 2.286), ({"man_made": "mast", "height": "20-25 m"}, 25),
        ({"man_made": "mast", "height": "20;35"}, 35), ({"man_made": "mast", "height": "12,5"}, 12.5),
        ({"man_made": "mast", "height_ft": 100}, 30.48), ({"man_made": "mast", "agl_m": 60.0}, 60),
        ({"power": "generator", "generator:source": "wind", "height:hub": "100 m", "rotor:diameter": "120"}, 160),
        ({"power": "generator", "generator:source": "wind", "height": "100 m", "height:hub": "100",
          "rotor:diameter": "80"}, 140),
        ({"building": "yes", "building:levels": "5"}, 26),
    ],
)  # fmt: skip
def test_heights_as_they_are_written(tags, metres):
    found = name_obstacle(tags, 0, osm=True)
    assert not found.assumed
    assert found.height_m == pytest.approx(metres)


@pytest.mark.parametrize("height", ["tall", "", "-5", "0", "12 furlongs", "nan"])
def test_a_height_that_cannot_be_read_is_assumed(height):
    found = name_obstacle({"man_made": "mast", "height": height}, 0, osm=True)
    assert (found.height_m, found.assumed) == (150, True)


def test_a_hub_without_blades_is_no_height():
    found = name_obstacle(
        {"power": "generator", "generator:source": "wind", "height": "90", "height:hub": "90"}, 0, osm=True
    )
    assert (found.height_m, found.assumed) == (250, True)


@pytest.mark.parametrize(
    "tags",
    [
        {"power": "cable"}, {"power": "line", "location": "underground"}, {"power": "line", "location": "underwater"},
        {"railway": "rail", "electrified": "contact_line", "tunnel": "yes"}, {"man_made": "mast", "demolished": "yes"},
    ],
)  # fmt: skip
def test_what_does_not_stand_up(tags):
    assert isinstance(name_obstacle(tags, 1, osm=True), Hidden)


def test_what_is_no_obstacle():
    assert name_obstacle({"highway": "track"}, 1, osm=True) is None
    assert name_obstacle({"landuse": "forest"}, 2, osm=True) is None
    assert name_obstacle({"man_made": "wire"}, 0, osm=True) is None


@pytest.mark.parametrize(
    ("tags", "dimension", "kind"),
    [
        ({"kind": "wire"}, 1, "wire"), ({}, 1, "wire"), ({}, 0, "obstacle"), ({"kind": "gizmo"}, 0, "obstacle"),
        ({"type": "Transmission_Line"}, 1, "power line"),
        ({"type": "T-L TWR"}, 0, "power tower"),
        ({"kind": "Towers"}, 0, "tower"),
        ({"type": "STACK"}, 0, "chimney"),
        ({"kind": "wind turbine"}, 0, "wind turbine"),
        ({"kind": "building"}, 2, "building"),
    ],
)  # fmt: skip
def test_plain_columns(tags, dimension, kind):
    assert name_obstacle(tags, dimension, osm=False).kind == kind


def test_every_wire_names_its_voltage():
    assert (
        name_obstacle({"power": "line", "voltage": "110000", "name": "Ridge"}, 1, osm=True).words
        == "power line, 110 kV Ridge"
    )
    assert name_obstacle({"kind": "power line", "voltage_kv": 66}, 1, osm=False).words == "power line, 66 kV"
