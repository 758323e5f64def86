"""Time of the sample's plan in every exchange format, one after another.

Run by hand, with or without the path of a ``plan.json``. Bar: all of them in 2 s on two idle cores, without imports.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from diproute import make_plan, read_incident, read_plan
from diproute.writing.exchange.formats import FORMATS, exchange

ROOT = Path(__file__).parents[2]


def main() -> None:
    """Print the figures."""
    if len(sys.argv) > 1:
        plan = read_plan(sys.argv[1])
    else:
        plan = make_plan(read_incident(ROOT / "sample_geo" / "incident.toml")).document
    for name in FORMATS:  # imports
        exchange(plan, name)
    whole = 0.0
    for name, one in FORMATS.items():
        took = []
        for _ in range(3):
            start = time.perf_counter()
            data = exchange(plan, name)
            took.append(time.perf_counter() - start)
        whole += min(took)
        print(f"{one.file:14} {min(took):5.2f} s {len(data) / 1000:6.0f} kB")
    print(f"together {whole:.2f} s; load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
