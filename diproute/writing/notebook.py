"""A plan in a notebook: the ranking as a table, and the map in a frame of its own below it."""

from __future__ import annotations

from typing import Final

from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_course, show_share, unit_name
from diproute.writing.map.draw import map_page
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.reader import told

FRAME_PX: Final = 640
ESTIMATE: Final = (
    "An estimate for planning: the flight manual, the operator, local rules and the pilot in command decide."
)


def notebook(plan: Plan) -> str:
    """Give a plan as HTML for a notebook.

    The map stands in a frame whose scripts cannot reach the notebook.
    """
    frame = tag(
        "iframe", srcdoc=map_page(plan), title=f"Map of {plan.title}", sandbox="allow-scripts", width="100%",
        height=FRAME_PX, style="border:0",
    )  # fmt: skip
    invented = (
        tag("p", tag("strong", "Invented demo data: no real place, no real helicopter.")) if plan.invented else None
    )
    return tag("div", tag("h3", plan.title), invented, _ranking(plan), _refused(plan), tag("p", ESTIMATE), frame)


def _ranking(plan: Plan) -> Markup:
    if not plan.suitable:
        return tag("p", "No suitable dip site: every one is refused.")
    display = plan.display
    heads = ("", "Dip site", f"Water an hour, {unit_name('volume', display)}", "Bucket setting",
             f"Fuel, {unit_name('mass', display)}", f"Line, {unit_name('line', display)}",
             "Approach / departure, true", "Cautions")  # fmt: skip
    return tag(
        "table",
        tag("thead", tag("tr", *(tag("th", head, scope="col") for head in heads))),
        tag("tbody", *(_row(site, plan) for site in plan.suitable)),
    )


def _row(site: Site, plan: Plan) -> Markup:
    display, load, sortie = plan.display, site.load, site.sortie
    courses = " / ".join(
        "not known" if way is None else show_course(way.course_deg) for way in (site.arrival, site.departure)
    )
    cells = (
        site.name,
        show(None if sortie is None else sortie.litres_per_hour, "volume", display, unit=False),
        "not known" if load is None else show_share(load.fill),
        show(None if load is None else load.fuel_kg, "mass", display, unit=False),
        show(site.line.carried_m, "line", display, unit=False),
        courses,
        str(len(site.cautions)),
    )
    return tag("tr", tag("th", str(site.rank), scope="row"), *(tag("td", cell) for cell in cells))


def _refused(plan: Plan) -> Markup | None:
    refused = [site for site in plan.sites if site.rank is None]
    if not refused:
        return None
    told_of = [tag("li", f"{site.name}: {'; '.join(told(why, plan) for why in site.refused)}") for site in refused]
    return tag("details", tag("summary", f"{len(refused)} unsuitable"), tag("ul", join(*told_of)))
