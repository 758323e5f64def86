"""Time of everything that leaves the screen with the sample's plan: map, PDFs, exchange files, one after another.

Run by hand, with or without the path of a ``plan.json``. Bars on two idle cores, without imports: PDFs and exchange
files 3 s, the exchange files alone 2 s.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from diproute import Plan, make_plan, read_incident, read_plan
from diproute.writing.exchange.formats import FORMATS
from diproute.writing.folder import PARTS, PDFS, set_of

ROOT = Path(__file__).parents[2]


def main() -> None:
    """Print the figures."""
    if len(sys.argv) > 1:
        plan = read_plan(sys.argv[1])
    else:
        plan = make_plan(read_incident(ROOT / "sample_geo" / "incident.toml")).document
    set_of(plan, PARTS)  # imports, fonts
    took = {part: timed(plan, part) for part in PARTS}
    formats = sum(took[name] for name in FORMATS)
    paper = sum(took[name] for name in PDFS)
    print(f"exchange files {formats:.2f} s; with the PDFs {formats + paper:.2f} s; load {os.getloadavg()[0]:.1f}")


def timed(plan: Plan, part: str) -> float:
    """Print a part's least time of three [s] and its size, and give the time."""
    took = []
    for _ in range(3):
        start = time.perf_counter()
        made = set_of(plan, [part])
        took.append(time.perf_counter() - start)
    name, data = list(made.items())[-1]
    print(f"{name:14} {min(took):5.2f} s {len(data) / 1000:6.0f} kB")
    return min(took)


if __name__ == "__main__":
    main()
