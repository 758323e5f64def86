"""Speed of the flight: a whole field against scikit-image, the choice a point, the final path a leg, on one thread.

Run with ``python tests/bench/legs.py [side in cells]``. The ground is made up: rough hills with closed blobs, cells of
10 m. scikit-image's solver runs on the same cells without wind, heights or gates. For the legs it also says how much
longer they are than straight ways at cruise with the same gates.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from leg_scene import Scene, gates_s, straight_m  # noqa: E402
from route_scene import USUAL, make_ground  # noqa: E402

from diproute.records import Wind  # noqa: E402
from diproute.routing.blocked import Blocked  # noqa: E402
from diproute.routing.choice import choose  # noqa: E402
from diproute.routing.flown import fly  # noqa: E402
from diproute.routing.leg import make_leg  # noqa: E402
from diproute.routing.speed_model import Flying, build, fill_times  # noqa: E402
from diproute.routing.travel_time import seeds, solve  # noqa: E402

FLYING = Flying(41.0, 2.5, 2.5)
WIND = Wind((0.0, 3000.0), (240.0, 260.0), (5.0, 10.0))


def hills(rng: np.random.Generator, side: int, relief_m: float) -> np.ndarray:
    """Smooth noise of several wavelengths, blown up from a small grid so that it is made quickly."""
    from scipy.ndimage import gaussian_filter, zoom

    small = side // 8
    field = sum(gaussian_filter(rng.standard_normal((small, small)), s, mode="wrap") * s for s in (4, 10, 25))
    field = zoom(field, 8, order=1)[:side, :side]
    shut = zoom(gaussian_filter(rng.standard_normal((small // 2, small // 2)), 4), 16, order=1)[:side, :side]
    field = ((field - field.min()) / np.ptp(field) * relief_m).astype(np.float32)
    shut = shut > np.quantile(shut, 0.95)
    middle = side // 2
    shut[middle - 150 : middle + 150, middle - 150 : middle + 150] = False
    field[shut] = np.nan
    return field


def main(side: int) -> None:
    """Print the table."""
    from skimage.graph import MCP_Geometric

    rng = np.random.default_rng(11)
    Scene(make_ground(np.zeros((256, 256)), 10.0), wind=WIND, flying=FLYING, rules=USUAL).fly(
        (900.0, 900.0)
    )  # compiles
    top = hills(rng, side, 800.0)
    start = time.perf_counter()
    scene = Scene(make_ground(top, 10.0), wind=WIND, flying=FLYING, rules=USUAL, lift_limit_m=120.0)
    print(f"airspace, heights and the field with its rungs          {time.perf_counter() - start:7.2f} s")
    fine = scene.airspace.fine
    model = build(scene.airspace, fine, FLYING, WIND, float(np.nanmax(scene.far.z_m)), towards=True)
    begun = seeds(model, scene.far, USUAL.cruise_clearance_m - USUAL.turn_clearance_m)
    start = time.perf_counter()
    fill_times(model, begun)
    ours = time.perf_counter() - start
    costs = np.where(np.isnan(fine.floor), -1.0, 1.0)
    start = time.perf_counter()
    MCP_Geometric(costs).find_costs([(side // 2, side // 2)])
    theirs = time.perf_counter() - start
    print(f"one fine field with wind, climb and gates {ours:.2f} s; scikit-image without {theirs:.2f} s")
    print(f"faster by {theirs / ours:.1f}")
    known = np.argwhere(np.isfinite(scene.airspace.fine.floor))
    pick = known[rng.choice(len(known), 4000)]
    x, y = (pick[:, 1] - side / 2 + 0.5) * 10.0, (side / 2 - pick[:, 0] - 0.5) * 10.0
    away = np.hypot(x, y)
    some = np.flatnonzero((away > 1500) & (away < min(9000.0, side * 5.0 - 1500.0)))[:150]
    x, y = x[some], y[some]
    near = scene.gates(x, y, scene.top(x, y), "dip", departure=True)
    start = time.perf_counter()
    choice = choose(scene.field, near)
    each_s = (time.perf_counter() - start) / len(x)
    print(f"choice, every direction worked in full: {each_s * 1e3:.2f} ms a point and kind")
    field = solve(scene.airspace, FLYING, WIND, scene.far, towards=True)
    took, over, lost = [], [], 0
    for i in range(len(x)):
        start = time.perf_counter()
        found = fly(field, near, choice, i)
        took.append(time.perf_counter() - start)
        if isinstance(found, Blocked):
            lost += 1
            continue
        leg = make_leg(scene.airspace, found[0], 30.0, "Head", "loaded")
        direct = np.hypot(leg.x_m[-1] - leg.x_m[0], leg.y_m[-1] - leg.y_m[0])
        over.append(leg.seconds - gates_s(leg) - (direct - straight_m(leg)) / FLYING.airspeed_m_s)
    low, middle, high = np.quantile(took, (0.1, 0.5, 0.9)) * 1e3
    print(f"a leg searched and flown: {middle:.1f} ms at the median, {low:.1f} to {high:.1f} ms for eight in ten")
    print(f"{lost} of {len(x)} not flyable; over the straight way at cruise {np.median(over):.0f} s at the median")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
