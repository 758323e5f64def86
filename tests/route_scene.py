"""Small made-up grounds for the tests of routes."""

import numpy as np

from diproute.records import Grid, Ground, Obstacle, Wind
from diproute.routing.airspace import RouteRules

CALM = Wind((0.0,), (0.0,), (0.0,))
PLAIN = RouteRules(
    cruise_clearance_m=45.0, lateral_clearance_m=0.0, load_margin_m=5.0, wire_margin_m=10.0, corridor_start_m=15.0,
    corridor_spread=0.1, corridor_length_m=0.0, turn_clearance_m=15.0, hanging_m=40.0,
)  # fmt: skip
USUAL = RouteRules(
    cruise_clearance_m=45.0, lateral_clearance_m=60.0, load_margin_m=5.0, wire_margin_m=10.0, corridor_start_m=15.0,
    corridor_spread=0.1, corridor_length_m=1220.0, turn_clearance_m=15.0, hanging_m=40.0,
)  # fmt: skip


def make_ground(top, cell_m, obstacles: tuple[Obstacle, ...] = (), ground=None) -> Ground:
    top = np.asarray(top, np.float32)
    rows, cols = top.shape
    grid = Grid(42.0, -160.0, -cols * cell_m / 2, rows * cell_m / 2, cell_m, rows, cols)
    bare = top if ground is None else np.asarray(ground, np.float32)
    cause = np.zeros(top.shape, np.uint16)
    return Ground(grid, bare, top, cause, obstacles, "made up", None, "ground", True, ("made up",))


def flat(rows: int, cols: int, cell_m: float, height_m: float = 0.0) -> Ground:
    return make_ground(np.full((rows, cols), height_m), cell_m)


def rough(rng: np.random.Generator, rows: int, cols: int, smooth: float, relief_m: float):
    from scipy.ndimage import gaussian_filter

    field = gaussian_filter(rng.standard_normal((rows, cols)), smooth, mode="wrap")
    return (field / field.std() * relief_m / 2 + relief_m).astype(np.float32)
