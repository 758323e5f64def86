"""The page's text: title, the frames of ranking and lists, legend, cautions, layers."""

from __future__ import annotations

from collections.abc import Sequence

from diproute.document.asked import Bucket, Helicopter
from diproute.document.findings import Finding
from diproute.document.plan import Plan
from diproute.units import show, show_course, show_share, unit_name
from diproute.wording import label
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.map import outlook, sources, words
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.map.scene import MOST_OBSTACLES
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
        tag("h1", tag("bdi", plan.title)),
        tag("p", f"Dip sites, {_when(plan)}", class_="when"),
        tag("p", weather),
        *(tag("p", kind) for kind in kinds),
    )


def _craft(plan: Plan, craft: Helicopter, bucket: Bucket) -> str:
    several = f"{craft.count} × " if craft.count > 1 else ""
    fuelled = "fuel planned" if craft.fuel_share is None else f"{show_share(craft.fuel_share)} fuel"
    return f"{several}{craft.name}, {bucket.name}, crew {show(craft.crew_kg, 'mass', plan.display)}, {fuelled}"


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
    """Give search, filter and the frame of the ranking; the script fills in the sites of the moment that is shown."""
    display = plan.display
    units = {
        "rate": unit_name("volume", display), "line": unit_name("line", display), "cycle": "min:s",
        "far": unit_name("distance", display), "dense": unit_name("height", display),
    }  # fmt: skip
    heads = [
        tag(
            "th",
            tag(
                "button", name or "Rank", tag("small", units[key]) if key in units else None, type="button", title=hint
            ),
            scope="col",
            class_=key,
            data_key=key,
            aria_sort="ascending" if key == "rank" else None,
        )
        for key, name, hint in COLUMNS
    ]
    pick = tag("th", tag("span", "Compare", class_="sr"), scope="col", class_="pick", title="Compare")
    banded = bool(plan.suitable) and plan.suitable[0].rank_band is not None
    return tag(
        "section",
        tag("h2", "Ranking, by water delivered in an hour"),
        tag("p", id="said", class_="quiet"),
        _filters(),
        tag("p", "No dip site passes every limit. Each one and the reason stand below.", class_="none", id="none",
            hidden=True),
        tag(
            "div",
            tag("table", tag("thead", tag("tr", *heads, pick)), tag("tbody"), id="ranking"),
            class_="wide tall",
            tabindex="0",
            role="region",
            aria_label="Ranking",
        ),
        tag("p", BANDS, class_="quiet") if banded else None,
        outlook.uncertainty(plan),
        id="ranking-part",
    )  # fmt: skip


BANDS = (
    "Between two rules stand sites that the cases of the uncertainty cannot tell apart, the one with the most in hand "
    "and the fewest hazards first."
)


def _filters() -> Markup:
    """Give the search and the filters of the ranking and of the discs on the map."""
    return tag(
        "div",
        tag("label", "Find ", tag("input", type="search", id="find", autocomplete="off"), class_="find"),
        tag(
            "details",
            tag("summary", "Filter"),
            tag("div",
                tag("label", "Line ", tag("select", tag("option", "any", value=""), id="filter-line")),
                tag("label", tag("input", type="checkbox", id="filter-fresh"), " fresh water only"),
                tag("label", tag("input", type="checkbox", id="filter-depth"), " depth known"),
                tag("label", "Without the caution ", tag("select", tag("option", "any", value=""), id="filter-care")),
                class_="filters"),
            class_="filter",
        ),
        tag("p", id="counted", class_="quiet", aria_live="polite"),
        class_="search",
    )  # fmt: skip


def refused() -> Markup:
    """Give the frame of the list of unsuitable sites; the script fills it."""
    return tag(
        "section",
        tag("h2", "Unsuitable: refused because"),
        tag("ul", class_="refused", id="refused-list"),
        id="refused",
        hidden=True,
    )


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
                tag("input", type="checkbox", data_layer=layer, checked=layer not in words.AT_FIRST_OFF),
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
            f"minutes.{hidden} Magnetic north (M): {' '.join(declination(plan))}.",
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
    """Give the plan's own cautions and the standing ones."""
    own = list({told(f, plan): f for f in (*plan.cautions, *plan.ground.cautions, *plan.air.cautions)}.values())
    return join(
        tag("section", tag("h2", "Cautions of this plan"), findings(own, plan), class_="care") if own else None,
        tag(
            "section",
            tag("h2", "Before anyone flies by it"),
            tag("ol", *(tag("li", tag("b", head), " ", text) for head, text in CAUTIONS), class_="standing"),
            class_="care",
        ),
    )


def layers(plan: Plan) -> Markup:
    """Give where the data come from: the table of layers, waters left out, sources, what it was made with."""
    ground = plan.ground
    left = [tag("li", tag("b", tag("bdi", w.name or "unnamed")), f": {told(w, plan)}") for w in plan.left_out]
    error = (
        "vertical error not stated"
        if ground.vertical_error_m is None
        else f"vertical error {show(ground.vertical_error_m, 'height', plan.display)}"
    )
    kind = "bare ground" if ground.elevation_is == "ground" else "a surface with trees in it"
    trees = "" if ground.canopy_known or ground.elevation_is == "surface" else "; trees are not known"
    origins = [
        *ground.sources,
        *sorted({w.source for w in plan.waters} | {o.source for o in plan.obstacles}),
        f"helicopter: {plan.helicopter.source}",
        f"bucket: {plan.bucket.source}",
        *(f"{c.helicopter.name}: {c.helicopter.source}" for c in plan.more),
        *(f"{c.bucket.name}: {c.bucket.source}" for c in plan.more),
    ]
    origins = list(dict.fromkeys(origins))
    return join(
        tag("section", tag("h2", "Layers"), sources.table(plan)),
        tag(
            "section",
            tag("h2", "From what"),
            tag("p", f"Elevation is {kind}, {error}{trees}. {'; '.join(origins)}."),
            tag("p", f"Made with {plan.made_with}; drawn with Leaflet 1.9.4 (BSD 2-Clause)."),
            tag("p", f"run {plan.run}") if plan.run else None,
            class_="quiet",
        ),
        tag("section", tag("h2", "Waters left out"), tag("ul", *left)) if left else None,
    )


def unknown() -> Markup:
    """Give the frame of the list of what is not known; the script fills it."""
    return tag(
        "section",
        tag("h2", "What is not known"),
        tag("p", "Each with its place: select one to go there.", class_="quiet"),
        tag("ul", id="unknown-list", class_="because"),
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
