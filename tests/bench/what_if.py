"""Speed of the what-if grid: processor and wall seconds, what is open, and how far it is from the slow full answer.

Run with ``python tests/bench/what_if.py [incident.toml] [winds]``: the sample by default. For so many winds, spread
over the grid, every site is flown anew by `diproute.planning.scenario_flights`, and both answers are compared.
"""

import resource
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from diproute.planning.assessment import fly_kept, judge  # noqa: E402
from diproute.planning.later import fly_later  # noqa: E402
from diproute.planning.prepared import prepare_ground  # noqa: E402
from diproute.planning.scenario_flights import fly_scenarios  # noqa: E402
from diproute.planning.scenarios import work_scenarios  # noqa: E402
from diproute.planning.shortlist import shortlist  # noqa: E402
from diproute.planning.travel_fields import solve_fields  # noqa: E402
from diproute.planning.what_if import grid_winds, what_if  # noqa: E402
from diproute.reading.incident import read_incident  # noqa: E402


def processor_s() -> float:
    """User seconds of this process."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_utime


def main(path: Path, count: int) -> None:
    """Print the table."""
    prepared = prepare_ground(read_incident(path))
    fields = solve_fields(prepared, prepared.incident.weather)
    flown = fly_kept(fields, shortlist(fields).kept)
    sites = [judge(fields, one) for one in flown]
    flown = fly_later(fields, flown)
    what_if(fields, sites[:1], flown[:1])  # compiles
    cpu, wall = processor_s(), time.perf_counter()
    grid = what_if(fields, sites, flown)
    cpu, wall = processor_s() - cpu, time.perf_counter() - wall
    assert grid is not None
    told = Counter(grid.reasons[why].code if why >= 0 else "open" for one in grid.sites for why in one.why)
    print(f"{len(grid.sites)} sites: {cpu:.1f} s of the processor, {wall:.1f} s of the clock")
    print(", ".join(f"{code} {number / told.total():.1%}" for code, number in told.most_common()))
    if not count:
        return
    winds = grid_winds(fields)
    asked = np.unique(np.linspace(0, len(winds) - 1, count).round().astype(int))
    some, ways = [sites[one.site] for one in grid.sites], [flown[one.site] for one in grid.sites]
    cpu = processor_s()
    slow = fly_scenarios(fields, ways, [replace(fields.weather, wind=winds[w]) for w in asked])
    air = fields.weather.air
    rate = work_scenarios(prepared, some, [air for _ in asked], slow.flights).litres_per_hour
    own = grid.temperature_k.index(air.temperature_k) * len(winds)
    here = np.array([one.litres_per_hour[own + asked] for one in grid.sites])
    fast, full = np.isfinite(here), np.isfinite(rate)
    print(f"slow answer: {(processor_s() - cpu) / len(asked) * len(winds):.0f} s of the processor for all winds")
    print(f"open in both {np.sum(fast & full)}, in the slow one alone {np.sum(full & ~fast)}, in the grid alone "
          f"{np.sum(fast & ~full)}, in none {np.sum(~fast & ~full)}")  # fmt: skip
    share = (here / rate)[fast & full]
    middle, low, high = np.quantile(share, (0.5, 0.05, 0.95))
    print(f"water an hour against the slow answer: {middle:.3f} in the middle, {low:.3f} to {high:.3f} in nine of ten")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(Path(words[0]) if words else ROOT / "sample_geo" / "incident.toml", int(words[1]) if len(words) > 1 else 10)
