"""Renew what the front page prints: ``python docs/make_outputs.py``, by hand, after a change.

Runs the first command of ``README.md`` on the sample and puts its output in place of the block below it. Of the ranking
the first nine are shown, of the hours two; three dots stand for what is left out.
"""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "README.md"
RUN = "import sys; from diproute.cli import main; main(sys.argv[1:])"
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
PASSED_OVER = re.compile(r"1\d  |(?!08|15)\d\d:00  ")  # ranks from 10, and hours but for two
DOTS = "…"


def output_of(words: list[str]) -> str:
    """Run a command where the sample lies beside it."""
    with tempfile.TemporaryDirectory() as place:
        shutil.copytree(ROOT / "sample_geo", Path(place) / "sample_geo")
        done = subprocess.run(
            [sys.executable, "-c", RUN, *words], cwd=place, stdout=subprocess.PIPE, check=True, encoding="utf-8"
        )
    return done.stdout


def shortened(output: str) -> str:
    """Leave out the lines that are passed over."""
    kept: list[str] = []
    for line in output.strip().splitlines():
        if not PASSED_OVER.match(line):
            kept.append(line.rstrip())
        elif kept[-1] != DOTS:
            kept.append(DOTS)
    return "\n".join(kept) + "\n"


if __name__ == "__main__":
    page = PAGE.read_text(encoding="utf-8")
    fences = list(FENCE.finditer(page))
    command = next(fence[2].partition("diproute ")[2] for fence in fences if fence[1] == "sh")
    block = next(fence for fence in fences if not fence[1])
    printed = shortened(output_of(shlex.split(command)))
    PAGE.write_text(page[: block.start(2)] + printed + page[block.end(2) :], encoding="utf-8", newline="\n")
    print(f"{PAGE.name}: {len(printed.splitlines())} lines of output")
