"""The page's text: title, ranking, what was refused and why, key, cautions, sources."""

from __future__ import annotations

import math

from diproute.records import Assessed, AssessedSite, Bucket, Finding, Helicopter
from diproute.units import show, show_course, show_share, unit_name
from diproute.writing.map import outlook, words
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.map.scene import MOST_OBSTACLES


def title(plan: Assessed) -> Markup:
    """Give the head of the sheet: what, when, the air, the aircraft."""
    incident, display = plan.incident, plan.incident.display
    air, wind = incident.weather.air, incident.weather.wind
    gust = f", gusts {show(wind.gust_m_s, 'wind', display)}" if wind.gust_m_s is not None else ""
    levels = f", {len(wind.altitude_m)} levels" if len(wind.altitude_m) > 1 else ""
    weather = (
        f"{show(air.temperature_k, 'temperature', display)} at {show(air.measured_at_m, 'height', display)}, "
        f"QNH {show(air.qnh_pa, 'pressure', display)}, wind from {show_course(wind.from_deg[0])} true "
        f"{show(wind.speed_m_s[0], 'wind', display)}{gust}{levels} ({incident.weather.source})"
    )
    kinds = [_craft(plan, incident.helicopter, incident.count, incident.bucket, incident.crew_kg, incident.fuel)]
    kinds += [_craft(plan, c.helicopter, c.count, c.bucket, c.crew_kg, c.fuel) for c in incident.more]
    return tag(
        "header",
        tag("p", words.INVENTED, class_="invented", role="note") if incident.invented else None,
        tag("h1", incident.title),
        tag("p", f"Dip sites, {incident.when:%-d %B %Y, %H:%M} (UTC{_offset(plan)})", class_="when"),
        tag("p", weather),
        *(tag("p", kind) for kind in kinds),
    )


def _craft(plan: Assessed, craft: Helicopter, count: int, bucket: Bucket, crew_kg: float, fuel: float | None) -> str:
    several = f"{count} × " if count > 1 else ""
    fuelled = "fuel planned" if fuel is None else f"{show_share(fuel)} fuel"
    return f"{several}{craft.name}, {bucket.name}, crew {show(crew_kg, 'mass', plan.incident.display)}, {fuelled}"


def contents(plan: Assessed) -> Markup:
    """Give the way to each part of the page."""
    parts = [
        ("ranking-part", "Ranking", True),
        ("details", "Dip site", bool(plan.sites)),
        ("day", "Through the day", plan.day is not None),
        ("together", "Several helicopters", plan.fleet is not None),
        ("duty", "The pilot's day", plan.duty is not None),
        ("refused", "Refused", any(site.rank is None for site in plan.sites)),
        ("key", "Key", True),
        ("notes", "Cautions and sources", True),
    ]
    return tag("nav", *(tag("a", name, href=f"#{key}") for key, name, there in parts if there), aria_label="Parts")


def _offset(plan: Assessed) -> str:
    text = f"{plan.incident.when:%z}"
    return f"{text[:3]}:{text[3:]}".replace("-", "−") if text else " offset not stated"


COLUMNS = (
    ("rank", "", "Rank"),
    ("site", "Dip site", "Dip site"),
    ("rate", "Water an hour", "Water delivered in an hour, refuelling included"),
    ("fill", "Fill", "Fill setting of the bucket"),
    ("line", "Line", "Line carried; 0 is the bucket on the belly hook"),
    ("cycle", "Cycle", "Time of one round trip"),
    ("far", "Loaded leg", "Length of the loaded leg"),
    ("dense", "Density altitude", "Density altitude at the water"),
    ("care", "Cautions", "Number of cautions"),
)


def ranking(plan: Assessed) -> Markup:
    """Give the table of usable sites, best first; each heading sorts."""
    display = plan.incident.display
    units = {
        "rate": unit_name("volume", display), "line": unit_name("line", display), "cycle": "min:s",
        "far": unit_name("distance", display), "dense": unit_name("height", display),
    }  # fmt: skip
    if not plan.usable:
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
    rows = [_row(site, plan) for site in plan.usable]
    return tag(
        "section",
        tag("h2", "Ranking, by water delivered in an hour"),
        tag(
            "div",
            tag("table", tag("thead", tag("tr", *heads)), tag("tbody", *rows), id="ranking"),
            class_="wide tall",
            tabindex="0",
            role="region",
            aria_label="Ranking",
        ),
        outlook.doubt(plan),
        id="ranking-part",
    )


def _row(site: AssessedSite, plan: Assessed) -> Markup:
    display = plan.incident.display
    far = max((leg.length_m for leg in site.route.loaded), default=math.nan) if site.route else math.nan
    seconds = site.cycle.seconds if site.cycle else math.nan
    rate = site.sortie.litres_per_hour if site.sortie else math.nan
    fill = site.load.fill if site.load else math.nan
    line = site.line.length_m if site.line else math.nan
    whole = 0 if math.isnan(seconds) else round(seconds)

    def cell(key: str, value: float, text: str, below: Markup | None = None) -> Markup:
        unknown = "not known" if math.isnan(value) else text
        return tag("td", unknown, below, class_=key, data_v=None if math.isnan(value) else f"{value:.3f}")

    return tag(
        "tr",
        tag("td", tag("span", str(site.rank), class_="disc"), class_="rank", data_v=site.rank),
        tag("th", tag("button", site.name, type="button"), scope="row", class_="site", data_t=site.name),
        cell("rate", rate, show(rate, "volume", display, unit=False), outlook.doubt_cell(site, plan)),
        cell("fill", fill, show_share(fill)),
        cell("line", line, show(line, "line", display, unit=False)),
        cell("cycle", seconds, f"{whole // 60}:{whole % 60:02d}"),
        cell("far", far, show(far, "distance", display, unit=False)),
        cell("dense", site.density_altitude_m, show(site.density_altitude_m, "height", display, unit=False)),
        cell("care", float(len(site.cautions)), str(len(site.cautions))),
        data_site=site.id,
    )


def refused(plan: Assessed) -> Markup | None:
    """List the refused sites with every reason."""
    sites = [s for s in plan.sites if s.rank is None]
    if not sites:
        return None
    items = [
        tag(
            "li",
            tag("button", tag("span", class_="disc hollow", aria_hidden="true"), " ", site.name, type="button"),
            findings(site.refused),
            data_site=site.id,
        )
        for site in sites
    ]
    return tag("section", tag("h2", "Refused"), tag("ul", *items, class_="refused"), id="refused")


def findings(found: tuple[Finding, ...]) -> Markup:
    """Give reasons or cautions as a list."""
    return tag("ul", *(tag("li", f.because) for f in found), class_="because")


def key(plan: Assessed, contour_m: float) -> Markup:
    """Give the key, which is the layer switch as well."""
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
    interval = show(contour_m, "height", plan.incident.display)
    datum = plan.ground.vertical_datum
    standing = sum(not o.is_wire for o in plan.ground.obstacles)
    hidden = f" The {MOST_OBSTACLES} tallest of {standing} obstacles are drawn." if standing > MOST_OBSTACLES else ""
    return tag(
        "section",
        tag("h2", "Key"),
        tag("ul", *rows, class_="key"),
        tag(
            "p",
            tag("span", class_="swatch s-unknown", aria_hidden="true"),
            f"Hatched: the ground is not known. Contours each {interval}, every fifth stronger. Heights above mean "
            f"sea level (datum: {datum}), obstacles above ground in brackets, places WGS 84 in degrees and minutes."
            f"{hidden}",
            class_="quiet",
        ),
        tag(
            "p",
            "+2: so many more sites of the same water stand so close that they are drawn from closer in. A word "
            "that finds no room waits until then too.",
            class_="quiet",
        ),
        id="key",
    )


def notes(plan: Assessed) -> Markup:
    """Give the plan's own cautions, the standing ones, waters left out, and where the data come from."""
    ground = plan.ground
    own = tuple(dict.fromkeys((*plan.cautions, *ground.cautions, *plan.incident.weather.cautions)))
    left = [tag("li", tag("b", w.name or "unnamed"), f": {w.because}") for w in plan.left_out]
    error = (
        "vertical error not stated"
        if ground.vertical_error_m is None
        else f"vertical error {show(ground.vertical_error_m, 'height', plan.incident.display)}"
    )
    kind = "bare ground" if ground.elevation_is == "ground" else "a surface with trees in it"
    trees = "" if ground.canopy_known or ground.elevation_is == "surface" else "; trees are not known"
    sources = [
        *ground.sources,
        *sorted({w.source for w in plan.waters} | {o.source for o in ground.obstacles}),
        f"helicopter: {plan.incident.helicopter.source}",
        f"bucket: {plan.incident.bucket.source}",
        *(f"{c.helicopter.name}: {c.helicopter.source}" for c in plan.incident.more),
        *(f"{c.bucket.name}: {c.bucket.source}" for c in plan.incident.more),
    ]
    sources = list(dict.fromkeys(sources))
    return join(
        tag("section", tag("h2", "Cautions of this plan"), findings(own), class_="care") if own else None,
        tag(
            "section",
            tag("h2", "Before anyone flies by it", id="notes"),
            tag("ol", *(tag("li", tag("b", head), " ", text) for head, text in words.CAUTIONS), class_="standing"),
            class_="care",
        ),
        tag("section", tag("h2", "Waters left out"), tag("ul", *left)) if left else None,
        tag(
            "section",
            tag("h2", "From what"),
            tag("p", f"Elevation is {kind}, {error}{trees}. {'; '.join(sources)}."),
            tag("p", f"Made with {plan.made_with}; drawn with Leaflet 1.9.4 (BSD 2-Clause)."),
            class_="quiet",
        ),
    )


def declination(plan: Assessed) -> tuple[str, ...]:
    """Say the declination, its doubt and its date, a line each."""
    value = plan.declination_deg
    side = "E" if value >= 0 else "W"
    doubt = f"{abs(value):.1f}° {side} ± {plan.declination_sigma_deg:.1f}°"
    return "declination", doubt, f"{plan.incident.when:%-d %b %Y}"


def foot(plan: Assessed) -> str:
    """Give the line that stands under a printed map."""
    when = f"{plan.incident.when:%-d %B %Y, %H:%M} (UTC{_offset(plan)})"
    invented = "Invented data. " if plan.incident.invented else ""
    return f"{plan.incident.title}. {when}. {invented}{words.CAUTIONS[0][0]} WGS 84, web Mercator. {plan.made_with}."
