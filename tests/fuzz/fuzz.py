"""Spoil inputs of every kind at random and count what a user must never see.

    python tests/fuzz/fuzz.py --cases 10000 --seed 1

Each case runs the command in a child of one loaded and armed parent. Counted: tracebacks, children that die, runs of
over 60 s, runs of over 4 GB, refusals that are not one plain line, files written outside the output folder. What is
counted is kept in --keep, one folder a case, to be run again by hand.
"""

import argparse
import contextlib
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

MOST_S = 60
MOST_BYTES = 4_000_000_000
OURS = re.compile(r"^wrote |^left out|was changed after it was written")  # what a run that goes well says on stderr
HARD_BYTES = 12_000_000_000  # of address space: keeps the machine alive


@dataclass(frozen=True)
class Result:
    """What came of one case."""

    kind: str
    number: int
    code: int  # exit code; negative: the signal that ended it
    seconds: float
    memory: int  # bytes
    said: str
    wrote: tuple[str, ...]

    @property
    def faults(self) -> list[str]:
        """What a user must never see; empty when all is well."""
        lines = self.said.splitlines()
        found = []
        if self.code == -signal.SIGKILL and self.seconds >= MOST_S:
            found.append("hang")
        elif self.code not in (0, 2, 3):
            found.append("traceback" if "Traceback" in self.said else f"died of {self.code}")
        if self.code == 2 and (len(lines) != 1 or not lines[0].isprintable() or len(lines[0]) > 1000):
            found.append("more than one plain line")
        if self.code in (0, 3) and any(not OURS.search(line) or not line.isprintable() for line in lines):
            found.append("a library spoke")
        if self.memory > MOST_BYTES:
            found.append("over 4 GB")
        if self.wrote:
            found.append("wrote elsewhere")
        return found


def child(words: list[str], folder: Path) -> None:
    """Run the command with its output in files; never returns."""
    code = 1
    try:
        resource.setrlimit(resource.RLIMIT_AS, (HARD_BYTES, HARD_BYTES))
        for number, name in ((1, "stdout"), (2, "stderr")):
            os.dup2(os.open(folder / name, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600), number)
        sys.stdout, sys.stderr = open(1, "w", closefd=False), open(2, "w", closefd=False)  # noqa: SIM115
        from diproute.cli import main

        main(words)
    except SystemExit as left:
        code = int(left.code or 0)
    except BaseException:
        traceback.print_exc()
    finally:
        with contextlib.suppress(Exception):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


def run(kind: str, number: int, words: list[str], folder: Path) -> tuple[int, float, int]:
    """Exit code, seconds and bytes of a forked run."""
    begun = time.monotonic()
    pid = os.fork()
    if pid == 0:
        child(words, folder)
    while True:
        done, status, used = os.wait4(pid, os.WNOHANG)
        seconds = time.monotonic() - begun
        if done:
            return os.waitstatus_to_exitcode(status), seconds, used.ru_maxrss * 1024
        if seconds > MOST_S:
            os.kill(pid, signal.SIGKILL)
        time.sleep(0.005)


def one(kind: str, number: int, seed: int, base: Path, made: dict[str, Path], room: Path) -> Result:
    """Spoil one file of a kind in a copy of the good folder and run the command over it; number -1 spoils nothing."""
    from base import KINDS

    draw = random.Random(f"{seed} {kind} {number}")
    how = KINDS[kind]
    folder = room / "fire"
    folder.mkdir()
    for file in base.iterdir():
        os.link(file, folder / file.name)
    name = draw.choice(how.files)
    name = made[kind].name if name in ("incident.toml", "plan.json") else name
    data = (folder / name).read_bytes()
    (folder / name).unlink()
    for _ in range(0 if number < 0 else draw.choice((1, 1, 2, 3))):
        data = how.spoil(data, draw) if data else data
    (folder / name).write_bytes(data)
    out = room / "out"
    words = ["plan", str(folder / made[kind].name), "--out", str(out)]
    if how.verb == "map":
        words = ["map", str(folder / made[kind].name), "--out", str(out / "map.html")]
    before = {path.name for path in folder.iterdir()}
    code, seconds, memory = run(kind, number, words, room)
    wrote = tuple(sorted({path.name for path in folder.iterdir()} - before))
    said = (room / "stderr").read_text(encoding="utf-8", errors="backslashreplace")
    return Result(kind, number, code, seconds, memory, said, wrote)


def warm(made: dict[str, Path], room: Path) -> None:
    """Load all that a run loads, and compile it, in this process."""
    from diproute.cli import main

    for kind in ("incident", "taf", "wires", "plan"):
        words = ["plan", str(made[kind]), "--out", str(room / "warm")]
        if kind == "plan":
            words = ["map", str(made[kind]), "--out", str(room / "w.html")]
        with (
            open(os.devnull, "w") as nowhere,  # noqa: PTH123
            contextlib.redirect_stdout(nowhere),
            contextlib.redirect_stderr(nowhere),
            contextlib.suppress(SystemExit),
        ):
            main(words)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--cases", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--kind", action="append", help="only this kind; may be given again")
    asked.add_argument("--keep", type=Path, help="folder for the cases that are counted")
    asked.add_argument("--good", type=Path, help=argparse.SUPPRESS)  # where the good inputs are written
    given = asked.parse_args()
    if given.good is not None:
        from base import make

        for kind, path in make(given.good).items():
            print(f"{kind}\t{path}")
        return 0
    os.environ["DIPROUTE_THREADS"] = "1"  # a child has none of its parent's threads
    with tempfile.TemporaryDirectory(prefix="fuzz-") as top:
        base = Path(top) / "base"
        told = subprocess.run(
            [sys.executable, __file__, "--good", base], check=True, capture_output=True, text=True
        ).stdout  # fmt: skip
        made = {kind: Path(path) for kind, path in (line.split("\t") for line in told.splitlines())}
        from diproute.reading.drivers import arm

        assert arm()
        warm(made, Path(top))
        kinds = given.kind or list(made)
        for kind in kinds:
            room = Path(top) / "case"
            room.mkdir()
            good = one(kind, -1, given.seed, base, made, room)
            assert good.code == 0, good
            assert not good.faults, good
            shutil.rmtree(room)
        counted: Counter[str] = Counter()
        codes: Counter[int] = Counter()
        most = [0.0, 0.0]
        begun = time.monotonic()
        with contextlib.suppress(KeyboardInterrupt):  # what was done is told
            for number in range(given.cases):
                room = Path(top) / "case"
                room.mkdir()
                result = one(kinds[number % len(kinds)], number, given.seed, base, made, room)
                codes[result.code] += 1
                most = [max(most[0], result.seconds), max(most[1], result.memory / 1e9)]
                for fault in result.faults:
                    counted[fault] += 1
                    last = result.said.splitlines()[-1][:200] if result.said else ""
                    print(f"{result.kind} {number}: {fault}: {last}", flush=True)
                    if given.keep is not None:
                        shutil.copytree(
                            room, given.keep / f"{number}-{result.kind.replace(' ', '-')}", dirs_exist_ok=True
                        )
                shutil.rmtree(room)
        seconds = time.monotonic() - begun
    print(f"{codes.total()} cases, seed {given.seed}, {seconds:.0f} s; exit codes {dict(sorted(codes.items()))}")
    print(f"longest {most[0]:.1f} s, most memory {most[1]:.2f} GB; counted: {dict(counted) or 'nothing'}")
    return 1 if counted else 0


if __name__ == "__main__":
    sys.exit(main())
