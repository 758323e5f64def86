"""Time of the sample plan on the very first run (everything is compiled) and after it, its memory, and the help.

Run by hand: ``python tests/bench/first_run.py``. Bars: first run under 14 s, later ones under 3.5 s, under 1.5 GB, help
under 0.15 s, on two idle cores.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
RUN = "import sys; from diproute.cli import main; main(sys.argv[1:])"


def timed(arguments: list[str], cache: str) -> float:
    """Run the command line in a process of its own and give its wall time [s]."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": cache, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", RUN, *arguments], env=environment, check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as scratch:
        cache = f"{scratch}/cache"
        plan = ["plan", str(ROOT / "sample_geo" / "incident.toml"), "--out", f"{scratch}/out"]
        help_s = min(timed(["--help"], cache) for _ in range(3))
        first, again = timed(plan, cache), min(timed(plan, cache) for _ in range(2))
    peak_gb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6
    times = f"help {help_s:.2f} s; first plan {first:.1f} s, later {again:.1f} s"
    print(f"{times}; peak {peak_gb:.2f} GB; load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
