"""Break the safety rules one mistake at a time and list the mistakes that no test notices: ``python tests/mutants.py``.

Works in a copy of the package and its tests in a temporary folder, never in the working tree. What is broken, and
which tests are asked, stands in `mutant_table.py`; what a mistake is, in `mutation.py`. With one test process at a time
a mutant takes a second or two. The exit code is 0 when every mutant was noticed.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from mutant_table import HARMLESS, TARGETS, Target
from mutation import Mutant, mutants

HOME = Path(__file__).parent.parent
COPIED = ("diproute", "tests", "sample_geo", "docs", "pyproject.toml", "README.md")
LEAST_S = 30.0  # a mutant that takes this long, and five times the time of the sound package, hangs


class Bench:
    """A copy of the package in which one module at a time is broken."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for name in COPIED:
            source = HOME / name
            if source.is_dir():
                # compiled kernels come along, compiled modules do not
                shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("*.pyc", "browser", "bench"))
            elif source.exists():
                shutil.copy2(source, folder / name)

    def run(
        self, tests: Sequence[str], timeout_s: float | None = None, fresh_kernels: bool = False
    ) -> tuple[bool, str]:
        """Run some tests on the copy; whether all passed, and what pytest said."""
        environment = {**os.environ, "PYTHONPATH": str(self.folder), "HYPOTHESIS_PROFILE": "mutants"}
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--tb=line", *tests]
        with tempfile.TemporaryDirectory() as kernels:
            if fresh_kernels:
                environment["NUMBA_CACHE_DIR"] = kernels
            try:
                answer = subprocess.run(
                    command, cwd=self.folder, env=environment, capture_output=True, text=True, check=False,
                    timeout=timeout_s,
                )  # fmt: skip
            except subprocess.TimeoutExpired:
                return False, "hangs"
        if answer.returncode > 2:
            raise SystemExit(f"pytest did not run {' '.join(tests)}:\n{answer.stdout}{answer.stderr}")
        return answer.returncode == 0, answer.stdout

    def survives(self, module: str, mutant: Mutant, tests: Sequence[str], timeout_s: float) -> bool:
        """Tell whether the tests pass with one mistake in a module."""
        path = self.folder / module
        sound, kept = path.read_bytes(), path.stat()
        try:
            path.write_text(mutant.source, encoding="utf-8")
            for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
                compiled.unlink()  # a mistake of the same length in the same second would pass unseen
            passed, _ = self.run(tests, timeout_s, fresh_kernels="njit" in mutant.source)
            return passed
        finally:
            path.write_bytes(sound)
            os.utime(path, ns=(kept.st_atime_ns, kept.st_mtime_ns))
            for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
                compiled.unlink()


def main() -> int:
    """Break, test, list."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--module", default="", help="only modules whose path holds this")
    parser.add_argument("--function", default="", help="only functions whose name holds this")
    parser.add_argument("--most", type=int, help="at most so many mutants a target, spread evenly")
    parser.add_argument("--list", action="store_true", help="list the mutants, run nothing")
    asked = parser.parse_args()
    targets = [target for target in TARGETS if asked.module in target.module]
    if not targets:
        parser.error(f"no target with {asked.module!r}; there are {', '.join(target.module for target in TARGETS)}")
    left: list[str] = []
    count = 0
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        bench = None if asked.list else Bench(Path(folder))
        for target in targets:
            made = [mutant for mutant in of_target(target) if asked.function in mutant.function]
            if asked.most and len(made) > asked.most:
                made = [made[i * len(made) // asked.most] for i in range(asked.most)]
            count += len(made)
            if bench is None:
                left += [f"{target.module} {mutant}" for mutant in made]
            else:
                left += broken(bench, target, made)
    print("\n".join(left))
    if asked.list:
        return 0
    print(f"{count} mutants, {count - len(left)} noticed, {len(left)} survive")
    return int(bool(left))


def of_target(target: Target) -> list[Mutant]:
    """Make the mutants of one target, without those known to do no harm."""
    source = (HOME / target.module).read_text(encoding="utf-8")
    harmless = HARMLESS.get(target.module, {})
    return [mutant for mutant in mutants(source, target.functions) if mutant.reads not in harmless]


def broken(bench: Bench, target: Target, made: Sequence[Mutant]) -> list[str]:
    """Try the mutants of one target; the survivors as lines."""
    start = time.perf_counter()
    passed, said = bench.run(target.tests)
    if not passed:
        raise SystemExit(f"{target.module}: the tests fail without any mistake:\n{said}")
    sound_s = time.perf_counter() - start
    print(f"{target.module}: {len(made)} mutants, {sound_s:.1f} s without one", file=sys.stderr)
    left = []
    for i, mutant in enumerate(made, 1):
        start = time.perf_counter()
        lives = bench.survives(target.module, mutant, target.tests, LEAST_S + 5 * sound_s)
        said = "SURVIVES" if lives else "noticed"
        print(f"[{i}/{len(made)}] {mutant}  {said}, {time.perf_counter() - start:.1f} s", file=sys.stderr, flush=True)
        if lives:
            left.append(f"{target.module} {mutant}")
    return left


if __name__ == "__main__":
    sys.exit(main())
