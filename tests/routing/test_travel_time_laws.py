"""What must hold for every leg, looked at point by point with plain arithmetic on the raw surface."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from route_scene import CALM, USUAL, make_ground, rough

from diproute.records import AvoidArea, Finding, Leg, Obstacle, Wind
from diproute.routing.airspace import prepare
from diproute.routing.leg import fly_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve

CELL = 20.0
FLYING = Flying(airspeed_m_s=40.0, climb_m_s=4.0, descent_m_s=3.0)


def scene(seed):
    rng = np.random.default_rng(seed)
    size = 260
    ground = rough(rng, size, size, 14.0, 250.0)
    top = ground + np.where(rng.random(ground.shape) < 0.3, 25.0, 0.0).astype(np.float32)
    top[rng.integers(20, 240), rng.integers(20, 240)] = np.nan
    areas = tuple(
        AvoidArea(
            f"Camp {i}",
            Finding.of("area-said", text="people"),
            i < 3,
            2.0,
            shapely.Point(*rng.uniform(-2000, 2000, 2)).buffer(250.0 + 100 * i),
        )
        for i in range(4)
    )
    wire_x = float(rng.uniform(-500, 500))
    wire = Obstacle("power line", "wire", 40.0, True, None, None,
                    shapely.LineString([(wire_x, -2600.0), (wire_x + 300.0, 2600.0)]), "made up", True)  # fmt: skip
    for y in np.arange(-2590.0, 2600.0, 2.0):
        row, col = int((2600.0 - y) / CELL), int((wire_x + 300.0 * (y + 2600.0) / 5200.0 + 2600.0) / CELL)
        top[row, col] = max(top[row, col], ground[row, col] + 40.0)
    return rng, make_ground(top, CELL, (wire,), ground), areas


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 2**31), towards=st.booleans())
def test_no_point_of_a_leg_is_closed_or_below_its_floor(seed, towards):
    rng, ground, areas = scene(seed)
    airspace = prepare(ground, areas, USUAL)
    wind = Wind((0.0, 800.0), (200.0, 250.0), (3.0, 12.0))
    x, y = rng.uniform(-2200, 2200, (2, 6))
    top_at = ground.top[((2600 - y) / CELL).astype(int), ((x + 2600) / CELL).astype(int)]
    if np.isnan(top_at).any():
        return
    bottom = top_at + 6.0
    field = solve(airspace, FLYING, wind, Sources.of(x[0], y[0], bottom[0]), towards=towards)
    asks = [Ask(float(x[i]), float(y[i]), float(bottom[i]), 35.0) for i in range(1, 6)]
    rows, cols = np.mgrid[0 : ground.grid.rows, 0 : ground.grid.cols]
    cx, cy = -2600 + (cols + 0.5) * CELL, 2600 - (rows + 0.5) * CELL
    for leg in fly_legs(field, asks, "Head", "loaded"):
        if not isinstance(leg, Leg):
            continue
        path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
        assert not any(path.intersects(area.geometry) for area in areas if area.hard)
        assert (leg.altitude_m >= leg.floor_m - 1e-6).all()
        # the rates and the wind triangle
        dt, dz = np.diff(leg.time_s), np.diff(leg.altitude_m)
        assert (dz <= 4.0 * dt + 1e-6).all()
        assert (-dz <= 3.0 * dt + 1e-6).all()
        assert (np.diff(leg.distance_m) <= (40.0 + 12.0) * dt + 1e-6).all()
        # between the points too, against everything within the lateral clearance
        at = np.arange(0.0, leg.length_m, 37.0)
        px, py = np.interp(at, leg.distance_m, leg.x_m), np.interp(at, leg.distance_m, leg.y_m)
        low = np.interp(at, leg.distance_m, leg.altitude_m) - 35.0
        for d, qx, qy, z in zip(at, px, py, low, strict=True):
            gap = np.hypot(np.maximum(abs(cx - qx) - CELL / 2, 0), np.maximum(abs(cy - qy) - CELL / 2, 0))
            from_end = min(d, leg.length_m - d)
            assert not np.isnan(ground.top[gap <= 60.0]).any()
            cruise = ground.top[gap <= 60.0].max() + 45.0
            corridor = np.nanmax(ground.top[gap <= 15.0 + 0.1 * from_end]) + 5.0
            if from_end > 1220.0:
                assert z >= cruise - 1e-3
            elif from_end > 2 * CELL:
                assert z >= min(cruise, corridor) - 1e-3


def test_every_wire_crossed_is_listed():
    for seed in range(6):
        _, ground, areas = scene(seed)
        high = float(np.nanmax(ground.top))
        field = solve(prepare(ground, areas, USUAL), FLYING, CALM, Sources.of(1500.0, 900.0, high), towards=True)
        legs = fly_legs(field, [Ask(-1500.0, y, high, 35.0) for y in (-900.0, 0.0)], "Head", "loaded")
        for leg in legs:
            if isinstance(leg, Leg):
                side = np.sign(
                    leg.x_m - np.interp(leg.y_m, *shapely.get_coordinates(ground.obstacles[0].geometry).T[::-1])
                )
                assert len(leg.crossings) == np.count_nonzero(np.diff(side[side != 0])) > 0
                for crossing in leg.crossings:
                    assert crossing.clearance_m >= 45.0 - 1e-3
                assert {"wire-height-assumed"} <= {c.code for c in leg.cautions}


def test_several_sources_serve_the_one_that_suits_best():
    ground = make_ground(np.zeros((300, 300)), CELL)
    airspace = prepare(ground, (), USUAL)
    edge = np.linspace(-2000, 2000, 41)
    field = solve(airspace, FLYING, CALM, Sources.of(edge, np.full(41, 1500.0), 15.0), towards=True)
    for x in (-1500.0, 0.0, 777.0):
        (leg,) = fly_legs(field, [Ask(x, -1500.0, 5.0, 30.0)], "Flank", "loaded")
        assert leg.x_m[-1] == pytest.approx(edge[np.argmin(abs(edge - x))], abs=101.0)
        assert leg.length_m == pytest.approx(3000.0, rel=2e-3)
