"""How near the kept points come to the best of all points of a water body, each flown in full.

    python tests/bench/shortlist.py [INCIDENT] [WATER ...]

Every point of the 50 m spread (and of the lines along the shore) is judged as a kept one is. The bar of the project is
3 %. Takes a fifth of a second a point.
"""

import sys
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from exhaustive import Everywhere  # noqa: E402

from diproute.reading.incident import read_incident  # noqa: E402


def main() -> None:
    words = sys.argv[1:]
    path = words.pop(0) if words and words[0].endswith(".toml") else ROOT / "sample_geo" / "incident.toml"
    every = Everywhere(read_incident(path))
    names = words or [water.name for water in every.prepared.opened.waters if "sea" not in water.kind]
    print(f"{'water':20s} {'points':>6s} {'best L/h':>9s} {'kept L/h':>9s} {'loss':>7s} {'rough/real':>11s} {'s':>5s}")
    for name in names:
        start = time.perf_counter()
        found = every.compare(name, step=1)
        if found is None:
            print(f"{name:20s} no usable point")
            continue
        print(
            f"{name:20s} {found.points:6d} {found.best:9.0f} {found.kept:9.0f} {found.loss:7.2%} "
            f"{found.rough_to_real:11.2f} {time.perf_counter() - start:5.0f}"
        )


if __name__ == "__main__":
    main()
