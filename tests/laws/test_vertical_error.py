"""The vertical error of the layers counts in the line, in the lift and in the floor of a route."""

import json

import numpy as np
import pytest
import shapely
from layer_scene import FRAME
from small_incident import FLOOR_M, LAKE, POND, hill, ring

ERROR_M = 8.0
STATED = {"layers.elevation_error": f"{ERROR_M} m"}
TREES = ring(POND, 25.0)
# one line, and one place on the pond, whatever the error
LONG = {"lines.carried": ["60 m"], "limits.shore_clearance": "39.5 m", "limits.corridor_length": "400 m"}


@pytest.fixture(scope="module")
def plans(made_plan):
    return made_plan(LONG, trees=TREES), made_plan({**LONG, **STATED}, trees=TREES)


def reserve(area, **levels):
    """A closed area as GeoJSON."""
    corners = [[float(lon), float(lat)] for lon, lat in zip(*FRAME.to_lonlat(*area.exterior.xy), strict=True)]
    properties = {"name": "Reserve", "because": "a reserve", "hard": "yes", **levels}
    feature = {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [corners]}}
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


def pond(plan):
    return next(site for site in plan.sites if site.point.water.name == POND.name)


def level_m(site):
    """Water level that the site reckons with, which may lie the lower the larger the error."""
    leg = site.route.loaded[0]
    return leg.altitude_m[0] - leg.hanging_m


def hook_m(plan):
    """Height above the sea that the hook needs over the pond, but for the bucket's length."""
    return pond(plan).clearance.line_needed_m + level_m(pond(plan))


def lifted_m(plan, lift):
    """Height above the sea to which the bucket's bottom is lifted over the pond, each way."""
    return getattr(pond(plan).clearance, lift) + level_m(pond(plan))


def test_the_line_is_longer_by_the_error(plans):
    without, stated = plans
    assert pond(without).clearance.line_needed_m > 0
    assert level_m(pond(stated)) <= level_m(pond(without)) + 1e-3
    assert hook_m(stated) == pytest.approx(hook_m(without) + ERROR_M, abs=1e-3)


@pytest.mark.parametrize("lift", ["lift_out_m", "lift_in_m"])
def test_every_lift_that_something_asks_for_is_higher_by_the_error(plans, lift):
    without, stated = (lifted_m(plan, lift) for plan in plans)
    np.testing.assert_allclose(stated, without + ERROR_M, atol=1e-3)  # the water asks for 5 m, more than the least


def en_route(leg):
    """Points that belong to no gate."""
    inside = np.ones(leg.distance_m.size, bool)
    for piece in leg.pieces:
        if piece.gate:
            inside[piece.first : piece.last + 1] = False
    return inside


def test_the_floor_of_every_leg_is_higher_by_the_error(plans):
    lowest = []
    for plan, error in zip(plans, (0.0, ERROR_M), strict=True):
        rooms = []
        for site in plan.usable:
            for leg in (*site.route.loaded, *site.route.empty, site.route.from_base, site.route.to_base):
                middle = en_route(leg)
                room = (leg.floor_m - leg.hanging_m - leg.top_m)[middle]
                assert (room >= 45.0 + error - 1e-3).all()
                assert (leg.clearance_m[middle] >= 45.0 + error - 1e-3).all()
                rooms.append(room.min(initial=np.inf))
        lowest.append(min(rooms))
    assert lowest[0] < 60.0
    assert lowest[1] == pytest.approx(lowest[0] + ERROR_M, abs=1.0)


def test_the_load_is_clear_by_margin_and_error_all_along_the_way(plans):
    for plan, error in zip(plans, (0.0, ERROR_M), strict=True):
        for site in plan.usable:
            for leg in (*site.route.loaded, *site.route.empty):
                between = (leg.distance_m > 0) & (leg.distance_m < leg.length_m)  # lift and lower stand over the ends
                # the top is the highest up to the points before and after, where the height is another one
                step = np.abs(np.diff(leg.altitude_m, prepend=leg.altitude_m[0]))
                step = np.maximum(step, np.append(step[1:], 0.0))
                assert (leg.clearance_m >= 5.0 + error - step - 1e-3)[between].all()


def ridge(x, y):
    """The hill under the fire, and a ridge of 80 m between it and the lake, 500 m from the water."""
    return hill(x, y) + 80.0 * np.exp(-((x - 1450.0) ** 2) / (2 * 60.0**2))


def test_a_ridge_near_the_dip_is_passed_by_margin_and_error(made_plan):
    for keys, error in (({}, 0.0), (STATED, ERROR_M)):
        plan = made_plan(keys, ground=ridge, waters=[LAKE])
        for leg in plan.usable[0].route.loaded:
            over = (leg.x_m > 1390) & (leg.x_m < 1510)
            assert over.any()
            room = (leg.floor_m - leg.hanging_m)[over].max() - leg.top_m[over].max()
            corridor = next(piece for piece in leg.pieces if piece.kind == "corridor")
            in_corridor = np.flatnonzero(over).max() <= corridor.last
            margin = 5.0 if in_corridor else 15.0  # of the corridor, and of a turn after it
            assert margin + error - 0.5 <= room < margin + error + 2.0
            # the top is the highest up to the points before and after, where the height is another one
            assert leg.clearance_m[over].min() >= 5.0 + error - 0.5


def test_a_wire_s_own_margin_has_the_error_as_well(made_plan):
    wire = {"name": "line", "kind": "power line", "height_m": 40.0, "line": [(-1350, -2500), (-1350, 800)]}
    without, stated = (made_plan({**LONG, **keys}, waters=[POND], wires=[wire]) for keys in ({}, STATED))
    by_wire = [found is not None and found.obstacle is not None for found in pond(without).clearance.lift_governing]
    before, after = (lifted_m(plan, "lift_out_m")[by_wire] for plan in (without, stated))
    assert max(before) > FLOOR_M + 40.0 - 0.125 * 150 + 9.0  # 10 m over a wire, 5 over anything else
    np.testing.assert_allclose(after, before + ERROR_M, atol=1e-3)


def test_errors_of_ground_and_trees_add_as_squares(made_plan):
    both = {"layers.elevation_error": "6 m", "layers.canopy_error": "8 m"}
    without, stated = (made_plan({**LONG, **keys}, trees=TREES) for keys in ({}, both))
    assert hook_m(stated) == pytest.approx(hook_m(without) + 10.0, abs=1e-3)


@pytest.mark.parametrize("corridor", ["400 m", "1220 m"])
@pytest.mark.parametrize(("keys", "error"), [({}, 0.0), (STATED, ERROR_M)])
def test_an_area_is_flown_over_at_its_ceiling_and_the_error(made_plan, keys, error, corridor):
    wall = shapely.box(700, -4500, 1000, 4500)  # from end to end between the fire and the lake
    files = {"reserve.geojson": reserve(wall, ceiling="800 m")}
    changes = {**keys, "layers.avoid": ["reserve.geojson"], "limits.corridor_length": corridor}
    plan = made_plan(changes, texts=files, waters=[LAKE])
    assert plan.usable
    for site in plan.usable:
        for leg in (*site.route.loaded, *site.route.empty):
            inside = shapely.contains_xy(wall, leg.x_m, leg.y_m)
            assert inside.any()
            assert (leg.floor_m - leg.hanging_m)[inside].max() == pytest.approx(800.0 + error, abs=0.1)
            assert (leg.altitude_m - leg.hanging_m)[inside].min() >= 800.0 + error - 0.1


@pytest.mark.parametrize("place", [(-1200, 0), (3300, 0)], ids=["the fire", "the lake"])
def test_an_end_inside_an_area_below_its_ceiling_is_refused(made_plan, place):
    """A leg that begins or ends inside what is closed has not kept out of it, however high it flies between."""
    x, y = place
    files = {"reserve.geojson": reserve(shapely.box(x - 1500, y - 1500, x + 1500, y + 1500), ceiling="800 m")}
    plan = made_plan({"layers.avoid": ["reserve.geojson"]}, texts=files, waters=[LAKE])
    assert not plan.usable
    assert {found.code for site in plan.sites for found in site.refused} >= {"blocked-area"}
