"""Size and speed of the map page of an invented plan of 300 sites in 40 x 40 km, with hours and a weather grid.

Run by hand: ``python tests/bench/map_page.py``. Bars: at most 6 MB; drawn within 0.8 s, within 2 s on a processor four
times slower; a card within 150 ms, a turn of a dial within 100 ms. Needs Debian's chromium. Each time is told twice: as
the page's own thread used the processor, and as it passed on the machine as it is, whose load stands at the end.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

TURNS = 12
AFTER = "document.body.offsetHeight; await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));"
CARD = f"async (i) => {{ dip.choose(i, {{ card: true }}); {AFTER} }}"
TURN = f"""async ([name, value]) => {{ const input = document.getElementById(name); input.value = value;
  input.dispatchEvent(new Event("input")); {AFTER} }}"""
DRAWN = f"async () => {{ {AFTER} return Number(document.documentElement.dataset.ready); }}"


def told(name: str, pairs: list[tuple[float, float]], bar: float | None = None) -> str:
    """Say the middle of processor times and of wall times [ms], and the bar that they are held to."""
    held = "" if bar is None else f" (bar {bar:g})"
    own, wall = (statistics.median(values) for values in zip(*pairs, strict=True))
    return f"{name} {own:.0f} ms of the page's thread{held}, {wall:.0f} ms passed"


class Page:
    """The page opened with the network cut on a processor so many times slower, and a clock of its thread."""

    def __init__(self, browser: Any, path: Path, slower: float = 1.0) -> None:
        self.page = browser.new_context(offline=True, viewport={"width": 1400, "height": 900}).new_page()
        self.session = self.page.context.new_cdp_session(self.page)
        self.session.send("Performance.enable", {"timeDomain": "threadTicks"})
        self.session.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        self.page.goto(path.as_uri())
        self.drawn = float(self.page.evaluate(DRAWN))
        self.first = self.used()

    def used(self) -> float:
        """Give the processor time of the page's thread since it began [ms]."""
        figures = {one["name"]: one["value"] for one in self.session.send("Performance.getMetrics")["metrics"]}
        return 1000.0 * float(figures["TaskDuration"])

    def timed(self, code: str, given: Any) -> tuple[float, float]:
        """Run a piece of script and give its processor and its wall time [ms]."""
        before, start = self.used(), time.perf_counter()
        self.page.evaluate(code, given)
        return self.used() - before, 1000.0 * (time.perf_counter() - start)


def main() -> None:
    """Print the figures."""
    from page_fixture import many
    from playwright.sync_api import sync_playwright

    from diproute.writing.map.draw import map_page

    plan = many(300)
    start = time.process_time()
    text = map_page(plan)
    made = time.process_time() - start
    print(f"{len(plan.sites)} sites: {len(text.encode()) / 1e6:.2f} MB (bar 6), written in {made:.1f} s")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = Path(folder) / "map.html"
        path.write_text(text, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium")
        for slower, bar in ((1, 800.0), (4, 2000.0)):
            pages = [Page(browser, path, slower) for _ in range(3)]
            print(told(f"drawn, processor {slower} x slower:", [(page.first, page.drawn) for page in pages], bar))
        page = Page(browser, path)
        cards = [page.timed(CARD, i) for i in range(1, TURNS)]
        print(told("card:", cards, 150.0))
        page.page.evaluate("dip.openPart('ranking')")
        print(told("dial:", [page.timed(TURN, ["dial-heat", i % 6]) for i in range(1, TURNS)], 100.0))
        print(told("hour:", [page.timed(TURN, ["hour", i]) for i in range(1, TURNS)]))
        browser.close()
    print(f"load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
