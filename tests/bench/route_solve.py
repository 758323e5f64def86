"""Speed of the route stage: the whole field against scikit-image, and the plan of 200 sites from coarse to fine.

Run with ``python tests/bench/route_solve.py [side in cells]``. The ground is made up: rough hills of 40 x 40 km at 10 m
with closed blobs. scikit-image's solver runs on the same cells without wind or heights.
"""

import sys
import time
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from route_scene import make_ground  # noqa: E402

from diproute.records import Wind  # noqa: E402
from diproute.routing.airspace import RouteRules, prepare  # noqa: E402
from diproute.routing.blocked import Blocked  # noqa: E402
from diproute.routing.leg import fly_legs  # noqa: E402
from diproute.routing.speed_model import Flying, build, fill_times  # noqa: E402
from diproute.routing.travel_time import Ask, Sources, solve  # noqa: E402

RULES = RouteRules(
    cruise_clearance_m=45.0, lateral_clearance_m=60.0, load_margin_m=5.0, wire_margin_m=10.0, corridor_start_m=15.0,
    corridor_spread=0.1, corridor_length_m=1220.0, departure_gradient=0.125, arrival_gradient=0.125, hanging_m=40.0,
)  # fmt: skip


def hills(rng, side: int, relief_m: float) -> np.ndarray:
    """Smooth noise of several wavelengths, blown up from a small grid so that it is made quickly."""
    from scipy.ndimage import gaussian_filter, zoom

    small = side // 8
    field = sum(gaussian_filter(rng.standard_normal((small, small)), s, mode="wrap") * s for s in (4, 10, 25))
    field = zoom(field, 8, order=1)[:side, :side]
    return ((field - field.min()) / np.ptp(field) * relief_m).astype(np.float32)


def timed(label: str, function, memory: bool = True):
    """Run and print the seconds and the peak of new memory that NumPy asked for."""
    if memory:
        tracemalloc.start()
    start, work = time.perf_counter(), time.process_time()
    out = function()
    seconds, work = time.perf_counter() - start, time.process_time() - work
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"{label:58s} {seconds:7.2f} s, processor {work:7.2f} s" + (f" {peak:8.0f} MB" if memory else ""))
    return out, seconds, peak, work


def main(side: int) -> None:
    """Print the table."""
    from scipy.ndimage import gaussian_filter, zoom

    rng = np.random.default_rng(11)
    top = hills(rng, side, 1500.0)
    shut = zoom(gaussian_filter(rng.standard_normal((side // 16, side // 16)), 4), 16, order=1)[:side, :side]
    shut = shut > np.quantile(shut, 0.93)
    middle = side // 2
    shut[middle - 150 : middle + 150, middle - 150 : middle + 150] = False
    top[shut] = np.nan
    warm = prepare(make_ground(np.zeros((256, 256)), 10.0), (), RULES)
    flying, wind = Flying(41.0, 2.5, 2.5), Wind((0.0, 3000.0), (240.0, 260.0), (5.0, 10.0))
    first = solve(warm, flying, wind, Sources.of(0.0, 0.0, 15.0), towards=True)
    fly_legs(first, [Ask(900.0, 900.0, 3.0, 30.0)] * 4, "d", "loaded")

    airspace, *_ = timed("floor and coarse grid", lambda: prepare(make_ground(top, 10.0), (), RULES))
    height = float(np.nan_to_num(top[middle, middle])) + 15.0
    cells = np.array([[middle, middle]])

    def whole(towards: bool):
        model = build(airspace, airspace.fine, flying, wind, cells, height, towards)
        return fill_times(model, cells)

    field, one, memory, work = timed("whole fine field, wind by height, climb: one thread", lambda: whole(True))

    def both():
        with ThreadPoolExecutor(2) as pool:
            return list(pool.map(whole, (True, False)))

    _, two, *_ = timed("both directions on two threads", both)

    from skimage.graph import MCP_Geometric

    costs = np.where(np.isnan(airspace.fine.floor), -1.0, 1.0)
    _, theirs, theirs_memory, theirs_work = timed(
        "scikit-image MCP_Geometric, no wind, no heights", lambda: MCP_Geometric(costs).find_costs([(middle, middle)])
    )
    print(
        f"faster by {theirs / one:.1f} on one thread (processor time {theirs_work / work:.1f}), "
        f"{2 * theirs / two:.1f} for two fields on two"
    )
    print(f"memory {memory / theirs_memory:.0%}")

    reach = side * 10.0 / 2 - 2000.0
    known = np.argwhere(np.isfinite(field))
    pick = known[rng.choice(len(known), 4000)]
    x, y = (pick[:, 1] - middle + 0.5) * 10.0, (middle - pick[:, 0] - 0.5) * 10.0
    near = np.flatnonzero(np.hypot(x, y) < min(reach, 15000.0))[:200]
    asks = [Ask(float(x[i]), float(y[i]), float(top[tuple(pick[i])]) + 3.0, 40.0) for i in near]

    def plan():
        def one(way):
            towards, kind = way
            field = solve(airspace, flying, wind, Sources.of(5.0, -5.0, height), towards=towards)
            return fly_legs(field, asks, "d", kind, workers=1)

        with ThreadPoolExecutor(2) as pool:  # as planning does
            return list(pool.map(one, ((True, "loaded"), (False, "empty"))))

    plan()
    legs, *_ = timed(f"coarse to fine, {len(asks)} sites, loaded and empty", plan, memory=False)
    flat = [leg for way in legs for leg in way]
    print(f"{sum(isinstance(leg, Blocked) for leg in flat)} blocked of {len(flat)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)
