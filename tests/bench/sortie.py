"""Time the sortie stage: 200 sites, 5 fill settings, all fuel loads, 12 hours. Bar: under 1 s warm.

python tests/bench/sortie.py
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from demo_flight import LIGHT, RIG, TASK, changed  # noqa: E402

from diproute.sortie.cycle import Cost  # noqa: E402
from diproute.sortie.fill_and_fuel import best_of_many  # noqa: E402
from diproute.sortie.fuel_cycle import site_terms  # noqa: E402
from diproute.sortie.hover_chart import hover_limit  # noqa: E402
from diproute.sortie.rig import Ferry  # noqa: E402


def run(sites: int = 200, hours: int = 12) -> int:
    rng = np.random.default_rng(1)
    heights = rng.uniform(0.0, 3500.0, (sites, 1))
    kelvins = 305.0 + 8.0 * np.sin(np.linspace(0.0, np.pi, hours)) - 0.0065 * heights
    dip, drop = (hover_limit(LIGHT.hoge, heights + up, kelvins) for up in (30.0, 300.0))
    cycle_s = rng.uniform(150.0, 600.0, (sites, hours))
    ferry = Ferry(rng.uniform(60.0, 900.0, (sites, 1)), rng.uniform(60.0, 900.0, (sites, 1)), 720.0)
    cost = Cost(cycle_s, 0.04 * cycle_s, np.zeros(1), np.zeros(1))
    terms = site_terms(RIG, changed(TASK, ferry=ferry), np.minimum(dip, drop), cost)
    return int((best_of_many(terms).cycles > 0).sum())


if __name__ == "__main__":
    run()
    begun = time.perf_counter()
    flown = run()
    print(f"200 sites x 5 fills x all fuel loads x 12 hours: {time.perf_counter() - begun:.3f} s, {flown} of 2400 fly")
