"""Kill a process at random moments while it takes a pack, and see what lies in the store.

By hand: ``python tests/sharing/kill_take.py --times 200``. A few kills run with the tests. Needs ``fork``.
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
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parent))

from said import NOW, record

from diproute.sharing.pack import give, take
from diproute.sharing.store import Store

BEFORE, IN_PACK = 5, 400


@dataclass(frozen=True, slots=True)
class Kill:
    """One kill: how long after the taking began, whether it had ended, what was found."""

    after_s: float
    ended: bool
    found: str  # "nothing", "all", or what went wrong


def prepare(folder: Path) -> Path:
    """Write the pack that is taken over and over."""
    path = folder / "pack.gz"
    give([record(f"Pond {i}", (i / 1000, 42)) for i in range(IN_PACK)], [], path)
    return path


def kill_once(pack: Path, folder: Path, after_s: float) -> Kill:
    """Let a child take the pack, kill it, look, and take it again."""
    path = folder / f"{random.random()}.gpkg"
    with Store(path, make=True) as store:
        store.add([record(f"Old {i}", (i / 1000, 10)) for i in range(BEFORE)])
    ready, told = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            with Store(path) as store:
                os.write(told, b"1")
                take(store, pack, NOW)
                os.write(told, b"2")
        finally:
            os._exit(0)
    os.close(told)
    os.read(ready, 1)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    ended = os.read(ready, 1) == b"2"
    os.close(ready)
    return Kill(after_s, ended, look(path, pack, ended))


def look(path: Path, pack: Path, ended: bool) -> str:
    """Say what lies in the store, and whether the pack can still be taken."""
    with Store(path) as store:
        count, faults = len(store), store.verify()
        if faults:
            return f"a fault: {faults[0].why}"
        if count not in (BEFORE, BEFORE + IN_PACK):
            return f"{count} records"
        if ended and count == BEFORE:
            return "taken, and lost"
        take(store, pack, NOW)
        if len(store) != BEFORE + IN_PACK or store.verify():
            return "not taken again"
    return "nothing" if count == BEFORE else "all"


def kill_often(times: int, seed: int, folder: Path) -> list[Kill]:
    """Kill so many times, spread evenly over a taking and a little longer."""
    pack = prepare(folder)
    start = time.monotonic()
    with Store(folder / "measured.gpkg", make=True) as store:
        take(store, pack, NOW)
    longest_s = 1.2 * (time.monotonic() - start)
    chance = random.Random(seed)
    return [kill_once(pack, folder, (n + chance.random()) / times * longest_s) for n in range(times)]


def main() -> int:
    """Kill and count; 1 when anything but all or nothing was found."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=200)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        kills = kill_often(given.times, given.seed, Path(folder))
    for (found, ended), count in sorted(Counter((kill.found, kill.ended) for kill in kills).items()):
        print(f"{count:6}  {found}{', after its end' if ended else ''}")
    print(f"{len(kills)} kills in {time.monotonic() - start:.0f} s, the last after {kills[-1].after_s:.2f} s")
    return int(any(kill.found not in ("nothing", "all") for kill in kills))


if __name__ == "__main__":
    sys.exit(main())
