"""Kill a process at random moments while it writes over an old set, and see what lies in the folder.

By hand: ``python tests/kill/kill.py --times 200``. A few kills run with the tests. Needs a system with ``fork``.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from plan_fixture import make_plan

from diproute.document import read_plan
from diproute.document.run import is_as_written
from diproute.errors import PlanError
from diproute.writing import swap
from diproute.writing.folder import MAP, PLAN, check_folder, set_of
from diproute.writing.swap import write_set

LONGEST_S = 0.2  # from the first write to the kill
NOTES = "mine\n" * 100
WAYS = ("in one call", "one by one")

Files = Mapping[str, bytes]


@dataclass(frozen=True, slots=True)
class Kill:
    """One kill: the way of writing, how long after the first write, what was found."""

    way: str
    after_s: float
    in_the_middle: bool  # files on their way lay there
    found: tuple[str, ...]  # "whole", "unfinished" (and told), or what went wrong


def two_sets() -> tuple[Files, Files]:
    """Give the files of two runs."""
    one, other = (
        {name: text.encode("utf-8") for name, text in set_of(plan).items()}
        for plan in (make_plan(), make_plan(display="metric"))
    )
    return one, other


def kill_once(sets: Sequence[Files], folder: Path, way: str, after_s: float) -> Kill:
    """Let a child write the sets in turn, kill it, look, and write over what it left."""
    write_set(sets[0], folder)
    (folder / "notes.txt").write_text(NOTES)
    ready, told = os.pipe()
    child = os.fork()
    if child == 0:
        _write_until_killed(sets, folder, way, told)
    os.close(told)
    os.read(ready, 1)
    os.close(ready)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    found = look(sets, folder)
    in_the_middle = _on_their_way(folder) > 0
    write_set(sets[0], folder)
    if look(sets, folder) != ("whole",) or _on_their_way(folder):
        found = (*found, "left over after the next write")
    return Kill(way, after_s, in_the_middle, found)


def _on_their_way(folder: Path) -> int:
    return sum(path.name.startswith(".diproute-") for place in (folder, folder.parent) for path in place.iterdir())


def _write_until_killed(sets: Sequence[Files], folder: Path, way: str, told: int) -> None:
    """Never come back: this is the child."""
    try:
        if way == "one by one":
            swap.renameat2 = lambda: None
        os.write(told, b"1")
        while True:
            for files in sets[::-1]:
                write_set(files, folder)
    finally:
        os._exit(1)


def look(sets: Sequence[Files], folder: Path) -> tuple[str, ...]:
    """Say what lies in the folder."""
    there = {name: (folder / name).read_bytes() for name in (PLAN, MAP) if (folder / name).exists()}
    found = [f"half of {name}" for name, data in there.items() if data not in [files[name] for files in sets]]
    if PLAN in there:
        try:
            if not is_as_written(read_plan(folder / PLAN), folder / PLAN):
                found.append("a plan that is not of its run")
        except PlanError:
            found.append("a plan that cannot be read")
    whole = there in [dict(files) for files in sets]
    unfinished = check_folder(folder) is not None
    if not whole and not unfinished:
        found.append("an undetected mixture")
    if whole and unfinished:
        found.append("a false alarm")
    if not (folder / "notes.txt").exists() or (folder / "notes.txt").read_text() != NOTES:
        found.append("another file lost")
    return tuple(found) or ("whole" if whole else "unfinished",)


def kill_often(times: int, seed: int, folder: Path) -> list[Kill]:
    """Kill so many times, in each way in turn."""
    chance = random.Random(seed)
    sets = two_sets()
    return [kill_once(sets, folder / "out", WAYS[n % len(WAYS)], chance.uniform(0, LONGEST_S)) for n in range(times)]


def main() -> int:
    """Kill and count; 1 when anything but whole or told sets was found."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        kills = kill_often(given.times, given.seed, Path(folder))
    for (way, found), count in sorted(Counter((kill.way, found) for kill in kills for found in kill.found).items()):
        print(f"{count:6}  {way:12} {found}")
    middle = sum(kill.in_the_middle for kill in kills)
    print(f"{len(kills)} kills in {time.monotonic() - start:.0f} s, {middle} of them with files on their way")
    return int(any(found not in ("whole", "unfinished") for kill in kills for found in kill.found))


if __name__ == "__main__":
    sys.exit(main())
