"""Vector files: what lies nowhere on earth is said."""

import json

import pytest
from layer_scene import FRAME, LAT, LON, write_vector
from shapely import Point

from diproute.reading.vectors import read_features
from diproute.wording import say

HERE = (-5000.0, -5000.0, 5000.0, 5000.0)


def points(path, *places):
    features = [
        {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": list(place)}}
        for place in places
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")
    return path, None


def test_a_swapped_point_beside_a_good_one_is_said(tmp_path):
    entry = points(tmp_path / "masts.geojson", (LON, LAT), (LAT, LON), (LAT + 0.01, LON))
    features, cautions = read_features(entry, FRAME, HERE, "layers.obstacles")
    assert len(features) == 1
    (found,) = cautions
    assert (found.code, found.values) == ("places-impossible", {"file": "masts.geojson", "count": 2})
    assert say(found).startswith("masts.geojson: 2 features lie beyond a pole")


@pytest.mark.parametrize("place", [(LON, 90.0), (LON, -90.0), (-179.9, 10.0)])
def test_the_poles_themselves_are_places(tmp_path, place):
    entry = points(tmp_path / "masts.geojson", (LON, LAT), place)
    features, cautions = read_features(entry, FRAME, HERE, "layers.obstacles")
    assert len(features) == 1
    assert cautions == ()


def test_metres_are_no_degrees(tmp_path):
    path = write_vector(tmp_path / "masts.gpkg", [Point(100, 900), Point(200, -900)])
    features, cautions = read_features((path, None), FRAME, HERE, "layers.obstacles")
    assert len(features) == 2
    assert cautions == ()
