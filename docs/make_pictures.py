"""Make the pictures of these pages from the sample: ``python docs/make_pictures.py``, by hand, after a change.

Plans ``sample_geo/incident.toml`` and writes beside this file ``rose-*.svg``, each with its colours for a light and a
dark page, and ``map.jpg``, a screenshot of the map taken with Debian's chromium and no network.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from pathlib import Path

from diproute import Plan, Site, draw_map, make_plan, read_incident
from diproute.files import write_atomically
from diproute.writing.drawings.palette import ROLES
from diproute.writing.drawings.rose import rose
from diproute.writing.reader import told

HERE = Path(__file__).parent
ROSES = {"reservoir": "Weir Reservoir", "pond": "Lantern Pond", "gorge": "Gannet River"}
WIDE, HIGH, QUALITY = 1400, 950, 80


def picked(plan: Plan, water: str) -> Site:
    """Pick the site of a water with the fewest open directions, the one that has most to show."""
    of_it = [site for site in plan.sites if site.water == water and site.open_share is not None]
    if not of_it:
        raise SystemExit(f"the plan has no site on {water}")
    return min(of_it, key=lambda site: site.open_share or 0.0)


def self_contained(svg: str) -> str:
    """Give a drawing the page's colours and ground, so that it stands alone."""
    used = {name: role for name, role in ROLES.items() if f"var(--{name}," in svg} | {"page": ROLES["page"]}
    light = "".join(f"--{name}:{role.light};" for name, role in used.items())
    dark = "".join(f"--{name}:{role.dark};" for name, role in used.items())
    style = f"<style>:root{{{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}</style>"
    box = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', svg)
    if box is None:
        raise SystemExit("the drawing has no view box")
    x, y, width, height = box.groups()
    ground = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="var(--page)"/>'
    sized = svg.replace(box[0], f'{box[0]} width="{width}" height="{height}"', 1)
    return sized.replace(">", f">{style}{ground}", 1) + "\n"


def draw_roses(plan: Plan) -> None:
    """Write the roses of the three places."""
    for name, water in ROSES.items():
        site = picked(plan, water)
        path = write_atomically(HERE / f"rose-{name}.svg", self_contained(rose(site, plan)))
        asks = site.line.governed_by
        print(f"{path.name}: {site.name}, rank {site.rank}, line {site.line.needed_m} m"
              f"{f' for {asks.what}' if asks else ''}, {site.open_share or 0:.0%} open, "
              f"{'; '.join(told(f, plan) for f in site.refused) or 'suitable'}")  # fmt: skip


def shoot_map(plan: Plan) -> None:
    """Write a screenshot of the map as it opens."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("no chromium; install Debian's package chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        page_file = draw_map(plan, Path(folder) / "map.html")
        browser = playwright.chromium.launch(executable_path=chromium)
        page = browser.new_context(viewport={"width": WIDE, "height": HIGH}, offline=True).new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector(".mark.site")
        shot = page.screenshot(type="jpeg", quality=QUALITY)
        browser.close()
    path = write_atomically(HERE / "map.jpg", shot)
    print(f"{path.name}: {len(shot) / 1000:.0f} kB")


if __name__ == "__main__":
    the_plan = make_plan(read_incident(HERE.parent / "sample_geo" / "incident.toml")).document
    draw_roses(the_plan)
    shoot_map(the_plan)
