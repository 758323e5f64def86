"""Run the property tests with many seeds, and print which fail with which: ``python tests/many_seeds.py``.

Each seed draws other examples (profile "many" of conftest.py), while the suite tries the same ones in every run. A
failure is found again with ``pytest -m property --hypothesis-profile=many --hypothesis-seed=N TEST``.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from pathlib import Path

HOME = Path(__file__).parent.parent
NO_TEST_CHOSEN = 5  # pytest's exit code


def main() -> int:
    """Run every seed; the exit code is 0 when none failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("paths", nargs="*", default=["tests"], help="tests to choose from (tests)")
    parser.add_argument("--seeds", type=int, default=20, help="how many (20)")
    parser.add_argument("--first", type=int, default=1, help="the first one (1)")
    asked = parser.parse_args()
    failed: dict[str, list[int]] = {}
    for seed in range(asked.first, asked.first + asked.seeds):
        start = time.perf_counter()
        ran, wrong = run(asked.paths, seed)
        for test in wrong:
            failed.setdefault(test, []).append(seed)
        print(f"seed {seed}: {ran} tests, {len(wrong)} failed, {time.perf_counter() - start:.0f} s", file=sys.stderr)
    for test, seeds in sorted(failed.items()):
        print(f"{test}: seed {', '.join(map(str, seeds))}")
    print(f"{asked.seeds} seeds from {asked.first}: {len(failed)} tests failed")
    return int(bool(failed))


def run(paths: list[str], seed: int) -> tuple[int, list[str]]:
    """Run the property tests with one seed; how many ran, and which failed."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        options = ["-m", "property", "--hypothesis-profile=many", f"--hypothesis-seed={seed}"]
        command = [sys.executable, "-m", "pytest", *options, f"--junit-xml={report}", *paths]
        answer = subprocess.run(command, cwd=HOME, capture_output=True, text=True, check=False)
        if answer.returncode not in (0, 1):
            hint = "no property test there" if answer.returncode == NO_TEST_CHOSEN else answer.stdout + answer.stderr
            raise SystemExit(f"pytest did not run: {hint}")
        cases = list(ElementTree.parse(report).getroot().iter("testcase"))
    wrong = [case for case in cases if case.find("failure") is not None or case.find("error") is not None]
    return len(cases), [f"{case.get('classname')}.{case.get('name')}" for case in wrong]


if __name__ == "__main__":
    sys.exit(main())
