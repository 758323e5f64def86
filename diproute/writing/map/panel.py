"""The page's text: title, ranking, what is unsuitable and why, legend, cautions, sources."""

from __future__ import annotations

from collections.abc import Sequence

from diproute.document.asked import Bucket, Helicopter
from diproute.document.findings import Finding
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_course, show_share, unit_name
from diproute.wording import label
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.map import flown, outlook, words
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.map.scene import MOST_OBSTACLES
from diproute.writing.map.tables import clock
from diproute.writing.reader import altitude, told


def title(plan: Plan) -> Markup:
    """Give the head of the sheet: what, when, the air, the aircraft."""
    air, display = plan.air, plan.display
    gust = "" if air.gust_m_s is None else f", gusts {show(air.gust_m_s, 'wind', display)}"
    levels = f", {len(air.wind_levels)} levels" if len(air.wind_levels) > 1 else ""
    weather = (
        f"{show(air.temperature_k, 'temperature', display)} at {altitude(air.measured_at_m, display)}, "
        f"{label('qnh', display)} {show(air.qnh_pa, 'pressure', display)}, wind from "
        f"{show_course(air.wind_from_deg)} true {show(air.wind_m_s, 'wind', display)}{gust}{levels} ({air.source})"
    )
    kinds = [_craft(plan, plan.helicopter, plan.bucket), *(_craft(plan, c.helicopter, c.bucket) for c in plan.more)]
    return tag(
        "header",
        tag("p", INVENTED, class_="invented", role="note") if plan.invented else None,
        tag("h1", plan.title),
        tag("p", f"Dip sites, {_when(plan)}", class_="when"),
        tag("p", weather),
        *(tag("p", kind) for kind in kinds),
    )


def _craft(plan: Plan, craft: Helicopter, bucket: Bucket) -> str:
    several = f"{craft.count} × " if craft.count > 1 else ""
    fuelled = "fuel planned" if craft.fuel_share is None else f"{show_share(craft.fuel_share)} fuel"
    return f"{several}{craft.name}, {bucket.name}, crew {show(craft.crew_kg, 'mass', plan.display)}, {fuelled}"


def contents(plan: Plan) -> Markup:
    """Give the way to each part of the page."""
    parts = [
        ("ranking-part", "Ranking", True),
        ("details", "Dip site", bool(plan.sites)),
        ("day", "Through the day", plan.day is not None),
        ("together", "Several helicopters", plan.fleet is not None),
        ("duty", "The pilot's day", plan.duty is not None),
        ("refused", "Unsuitable", any(site.rank is None for site in plan.sites)),
        ("legend", "Legend", True),
        ("notes", "Cautions and sources", True),
    ]
    return tag("nav", *(tag("a", name, href=f"#{key}") for key, name, there in parts if there), aria_label="Parts")


def _when(plan: Plan) -> str:
    text = f"{plan.when:%z}"
    offset = f"{text[:3]}:{text[3:]}".replace("-", "−") if text else " offset not stated"
    return f"{plan.when:%-d %B %Y, %H:%M} (UTC{offset})"


COLUMNS = (
    ("rank", "", "Rank"),
    ("site", "Dip site", "Dip site"),
    ("rate", "Water an hour", "Water delivered in an hour, refuelling included"),
    ("fill", "Bucket setting", "How full the bucket is filled"),
    ("line", "Line", "Line carried; 0 is the bucket on the belly hook"),
    ("cycle", "Cycle", "Time of one round trip"),
    ("far", "Loaded leg", "Length of the loaded leg"),
    ("dense", "Density altitude", "Density altitude at the water"),
    ("care", "Cautions", "Number of cautions"),
)


def ranking(plan: Plan) -> Markup:
    """Give the table of suitable sites, best first; each heading sorts."""
    display = plan.display
    units = {
        "rate": unit_name("volume", display), "line": unit_name("line", display), "cycle": "min:s",
        "far": unit_name("distance", display), "dense": unit_name("height", display),
    }  # fmt: skip
    if not plan.suitable:
        return tag(
            "section",
            tag("h2", "Ranking"),
            tag("p", "No dip site passes every limit. Each one and the reason stand below.", class_="none"),
            id="ranking-part",
        )
    heads = [
        tag(
            "th",
            tag(
                "button", name or "Rank", tag("small", units[key]) if key in units else None, type="button", title=hint
            ),
            scope="col",
            class_=key,
            aria_sort="ascending" if key == "rank" else None,
        )
        for key, name, hint in COLUMNS
    ]
    starts = flown.band_starts(plan.suitable)
    rows = [_row(site, plan, starts) for site in plan.suitable]
    return tag(
        "section",
        tag("h2", "Ranking, by water delivered in an hour"),
        tag(
            "p",
            "Between two rules stand sites that the cases of the uncertainty cannot tell apart, the one with the most "
            "in hand and the fewest hazards first.",
            class_="quiet",
        )
        if plan.suitable[0].rank_band is not None
        else None,
        tag(
            "div",
            tag("table", tag("thead", tag("tr", *heads)), tag("tbody", *rows), id="ranking"),
            class_="wide tall",
            tabindex="0",
            role="region",
            aria_label="Ranking",
        ),
        outlook.uncertainty(plan),
        id="ranking-part",
    )


def _row(site: Site, plan: Plan, starts: frozenset[str]) -> Markup:
    display = plan.display
    far = max((leg.length_m for leg in site.routes if leg.leg == "loaded"), default=None)
    seconds = None if site.cycle is None else site.cycle.seconds
    rate = None if site.sortie is None else site.sortie.litres_per_hour
    fill = None if site.load is None else site.load.fill
    line, dense = site.line.carried_m, site.density_altitude_m

    def cell(key: str, value: float | None, text: str, below: Markup | None = None) -> Markup:
        return tag("td", text, below, class_=key, data_v=None if value is None else f"{value:.3f}")

    return tag(
        "tr",
        tag("td", tag("span", str(site.rank), class_="disc"), class_="rank", data_v=site.rank),
        tag("th", tag("button", site.name, type="button"), scope="row", class_="site", data_t=site.name),
        cell("rate", rate, show(rate, "volume", display, unit=False), outlook.range_cell(site, plan)),
        cell("fill", fill, "not known" if fill is None else show_share(fill)),
        cell("line", line, show(line, "line", display, unit=False)),
        cell("cycle", seconds, "not known" if seconds is None else clock(seconds)),
        cell("far", far, show(far, "distance", display, unit=False)),
        cell("dense", dense, show(dense, "height", display, unit=False)),
        cell("care", len(site.cautions), str(len(site.cautions))),
        data_site=site.id,
        class_="band" if site.id in starts else None,
    )


def refused(plan: Plan) -> Markup | None:
    """List the unsuitable sites with every reason that refuses them."""
    sites = [s for s in plan.sites if s.rank is None]
    if not sites:
        return None
    items = [
        tag(
            "li",
            tag("button", tag("span", class_="disc hollow", aria_hidden="true"), " ", site.name, type="button"),
            findings(site.refused, plan),
            data_site=site.id,
        )
        for site in sites
    ]
    return tag("section", tag("h2", "Unsuitable: refused because"), tag("ul", *items, class_="refused"), id="refused")


def findings(found: Sequence[Finding], plan: Plan) -> Markup:
    """Give reasons or cautions as a list."""
    return tag("ul", *(tag("li", told(f, plan)) for f in found), class_="because")


def legend(plan: Plan) -> Markup:
    """Give the legend, which is the layer switch as well."""
    rows = [
        tag(
            "li",
            tag(
                "label",
                tag("input", type="checkbox", data_layer=layer, checked=True),
                tag("span", class_=f"swatch s-{layer}", aria_hidden="true"),
                text,
            ),
        )
        for layer, text in words.LAYERS
    ]
    interval = show(plan.terrain.contour_m, "height", plan.display)
    datum, level = plan.ground.vertical_datum, label("altitude", plan.display)
    standing = sum(not o.wire for o in plan.obstacles)
    hidden = f" The {MOST_OBSTACLES} tallest of {standing} obstacles are drawn." if standing > MOST_OBSTACLES else ""
    return tag(
        "section",
        tag("h2", "Legend"),
        tag("ul", *rows, class_="legend"),
        tag(
            "p",
            tag("span", class_="swatch s-unknown", aria_hidden="true"),
            f"Hatched: the ground is not known. Contours each {interval}, every fifth stronger. Heights {level}, above "
            f"mean sea level (datum: {datum}), obstacles above ground in brackets, places WGS 84 in degrees and "
            f"minutes.{hidden}",
            class_="quiet",
        ),
        tag(
            "p",
            "+2: so many more sites of the same water stand so close that they are drawn from closer in. A word "
            "that finds no room waits until then too.",
            class_="quiet",
        ),
        id="legend",
    )


def notes(plan: Plan) -> Markup:
    """Give the plan's own cautions, the standing ones, waters left out, and where the data come from."""
    ground = plan.ground
    own = list({told(f, plan): f for f in (*plan.cautions, *ground.cautions, *plan.air.cautions)}.values())
    left = [tag("li", tag("b", w.name or "unnamed"), f": {told(w, plan)}") for w in plan.left_out]
    error = (
        "vertical error not stated"
        if ground.vertical_error_m is None
        else f"vertical error {show(ground.vertical_error_m, 'height', plan.display)}"
    )
    kind = "bare ground" if ground.elevation_is == "ground" else "a surface with trees in it"
    trees = "" if ground.canopy_known or ground.elevation_is == "surface" else "; trees are not known"
    sources = [
        *ground.sources,
        *sorted({w.source for w in plan.waters} | {o.source for o in plan.obstacles}),
        f"helicopter: {plan.helicopter.source}",
        f"bucket: {plan.bucket.source}",
        *(f"{c.helicopter.name}: {c.helicopter.source}" for c in plan.more),
        *(f"{c.bucket.name}: {c.bucket.source}" for c in plan.more),
    ]
    sources = list(dict.fromkeys(sources))
    return join(
        tag("section", tag("h2", "Cautions of this plan"), findings(own, plan), class_="care") if own else None,
        tag(
            "section",
            tag("h2", "Before anyone flies by it", id="notes"),
            tag("ol", *(tag("li", tag("b", head), " ", text) for head, text in CAUTIONS), class_="standing"),
            class_="care",
        ),
        tag("section", tag("h2", "Waters left out"), tag("ul", *left)) if left else None,
        tag(
            "section",
            tag("h2", "From what"),
            tag("p", f"Elevation is {kind}, {error}{trees}. {'; '.join(sources)}."),
            tag("p", f"Made with {plan.made_with}; drawn with Leaflet 1.9.4 (BSD 2-Clause)."),
            tag("p", f"run {plan.run}") if plan.run else None,
            class_="quiet",
        ),
    )


def declination(plan: Plan) -> tuple[str, ...]:
    """Say the declination, its uncertainty and its date, a line each."""
    value = plan.declination_deg
    side = "E" if value >= 0 else "W"
    error = f"{abs(value):.1f}° {side} ± {plan.declination_sigma_deg:.1f}°"
    return "declination", error, f"{plan.declination_date:%-d %b %Y}"


def foot(plan: Plan) -> str:
    """Give the line that stands under a printed map."""
    invented = "Invented data. " if plan.invented else ""
    caution = CAUTIONS[0][0]
    run = f" Run {plan.run}." if plan.run else ""
    return f"{plan.title}. {_when(plan)}. {invented}{caution} WGS 84, web Mercator. {plan.made_with}.{run}"
