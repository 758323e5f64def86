"""One site in full: its numbers, approach and departure, its drawings, its score and its cautions; and its popup."""

from __future__ import annotations

from diproute.document.plan import Plan
from diproute.document.site import Sector, Site, Thing, Way
from diproute.physics.coordinates import format_ddm
from diproute.units import Units, show, show_course, show_share, show_time
from diproute.wording import label
from diproute.writing.drawings.curves import curves
from diproute.writing.drawings.cycle_bar import cycle_bar
from diproute.writing.drawings.load_stair import load_stair
from diproute.writing.drawings.profile import profile
from diproute.writing.drawings.rose import rose, summary
from diproute.writing.map import flown, tables
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.map.outlook import between, range_of
from diproute.writing.map.panel import findings
from diproute.writing.reader import altitude, told

Pair = tuple[str, str]


def detail(site: Site, plan: Plan) -> Markup:
    """Give a site's own part of the panel.

    Parameters
    ----------
    site
        The site.
    plan
        The plan it belongs to.

    Returns
    -------
    Markup
        A section, hidden until the site is selected.
    """
    display = plan.display
    where = (
        f"{format_ddm(site.lat, site.lon)}; water at {_level(site, display)}; "
        f"{site.water_kind}{', salt' if site.salt else ''}, {site.chosen_for}"
    )
    drawings = _legs(site, plan)
    if site.cycle is not None:
        drawings.append(tag("figure", Markup(cycle_bar(site.cycle, display))))
    if site.load is not None:
        drawings.append(tag("figure", Markup(load_stair(site.load, display))))
    if site.curve:
        drawings.append(tag("figure", Markup(curves(site, display))))
    opened = [found for found in (tables.loads(site, plan), tables.hours(site, plan)) if found is not None]
    return tag(
        "section",
        tag("h2", tag("span", "" if site.rank is None else str(site.rank),
                      class_="disc hollow" if site.rank is None else "disc"), " ", site.name),
        tag("p", where, class_="where"),
        join(tag("h3", "Unsuitable: refused because"), findings(site.refused, plan)) if site.refused else None,
        _definitions(_numbers(site, plan)),
        tag("h3", "Approach and departure"),
        tag(
            "div",
            tag("figure", Markup(rose(site, plan)), class_="round"),
            tag("div", _open(site, plan), tag("p", _reading(plan), class_="quiet")),
            class_="ways",
        ),
        _courses(site, plan),
        flown.gates(site, plan),
        *drawings,
        flown.go_no_go(site, plan),
        *opened,
        tables.lines(site, plan),
        _score(site, plan),
        join(tag("h3", "Cautions"), findings(site.cautions, plan)) if site.cautions else None,
        class_="detail",
        id=f"detail-{site.id}",
        data_site=site.id,
        tabindex="-1",
        hidden=True,
    )  # fmt: skip


def _level(site: Site, display: Units) -> str:
    """Print the water level, both ends of it where they differ in print."""
    low, high = (show(value, "height", display) for value in (site.level_low_m, site.elevation_m))
    told_high = altitude(site.elevation_m, display)
    return told_high if site.level_low_m is None or low == high else f"{low} to {told_high}"


def _legs(site: Site, plan: Plan) -> list[Markup]:
    """Draw each leg from the side, with its reading and its waypoints; the ferry has waypoints alone."""
    found = []
    for i, leg in enumerate(site.routes):
        picture = tag("figure", Markup(profile(leg, plan.display)), tag("figcaption", class_="probe"),
                      class_="leg", data_leg=i)  # fmt: skip
        reading = tag("p", flown.reading(leg, plan.display), class_="reading")
        found += [picture, reading, tables.waypoints(leg, plan)]
    if site.ferry is not None:
        ways = (("from the helibase", site.ferry.from_base), ("to the helibase", site.ferry.to_base))
        for way, ferry in ((way, plan.ferry(id_)) for way, id_ in ways):
            if ferry is not None:
                found.append(tables.waypoints(ferry, plan, way))
    return found


def popup(site: Site, plan: Plan) -> Markup:
    """Give the few numbers and reasons that a pointer on the map brings up; the script puts the rose in."""
    head = site.name if site.rank is None else f"{site.rank}. {site.name}"
    reasons = site.refused or site.cautions
    word = "Unsuitable: refused because" if site.refused else "Cautions"
    criteria = [
        tag("li", tag("b", f"{label(c.code, plan.display)} {c.points:.0f}"), f" {told(c, plan)}")
        for c in site.score.criteria
    ]
    return tag(
        "template",
        tag(
            "div",
            tag("h3", head),
            tag("p", f"{format_ddm(site.lat, site.lon)}; {_level(site, plan.display)}", class_="where"),
            tag("div", tag("div", class_="rose-here"), _definitions(_numbers(site, plan)[:6]), class_="pop-row"),
            tag("ul", *criteria, class_="because") if not site.refused else None,
            join(tag("b", word), findings(reasons[:3], plan)) if reasons else None,
            tag("p", f"and {len(reasons) - 3} more beside the map", class_="quiet") if len(reasons) > 3 else None,
            class_="pop",
        ),
        id=f"popup-{site.id}",
    )


def _reading(plan: Plan) -> str:
    limit = show(plan.limits.lift_limit_m, "height", plan.display)
    return (
        f"A wedge is as long as the lift that its direction takes before moving off; the ring is the limit, {limit}. "
        "Pale: open. Dark: closed. Hatched: not known. Dashed: approach, empty. Solid: departure, loaded. True north "
        "up; courses on it are magnetic."
    )


def _numbers(site: Site, plan: Plan) -> list[Pair]:
    display, load, sortie = plan.display, site.load, site.sortie
    found: list[Pair] = []
    if sortie is not None:
        name = "Water an hour" if site.rank is not None else "Water an hour, were it not refused"
        found.append((name, show(sortie.litres_per_hour, "volume", display)))
    if load is not None:
        found += [
            ("A load", f"{show(load.water_l, 'volume', display)}, {show(load.water_kg, 'mass', display)}"),
            ("Bucket setting", show_share(load.fill)),
        ]
    carried = "none is long enough" if site.line.carried_m is None else show(site.line.carried_m, "line", display)
    found.append(("Line", f"{carried} ({show(site.line.needed_m, 'line', display)} needed)"))
    if site.cycle is not None:
        found.append(("Cycle", show_time(site.cycle.seconds)))
    found.append(("Density altitude", show(site.density_altitude_m, "height", display)))
    if load is not None:
        found += [
            ("Fuel at the start", show(load.fuel_kg, "mass", display)),
            ("Decided by", f"{label(load.governed_by, display)}, at {label(load.place, display)}"),
            ("Margin", show(load.margin_kg, "mass", display)),
        ]
    if sortie is not None:
        found += [
            ("Cycles on the fuel", f"{sortie.cycles} in {show_time(sortie.seconds)}"),
            ("First drop after", show_time(sortie.first_drop_seconds)),
            *_uncertain(site, plan),
            *([("Note", told(sortie.note, plan))] if sortie.note is not None else []),
        ]
    found += [
        ("Pressure altitude", show(site.pressure_altitude_m, "height", display)),
        ("Temperature", show(site.temperature_k, "temperature", display)),
        ("Shore", f"{show(site.shore_clearance_m, 'line', display)} away"),
        ("Depth", show(site.depth_m, "depth", display)),
    ]
    asks = site.line.governed_by
    if asks is not None and (site.line.needed_m is None or site.line.needed_m > 0):
        found.append(("Asks for the line", _thing(asks, plan)))
    return found


def _uncertain(site: Site, plan: Plan) -> list[Pair]:
    strays = range_of(site, plan)
    if strays is None:
        return []
    shares = f"first in {show_share(strays.first_share)}, works in {show_share(strays.works_share)} of the cases"
    hovers = (
        []
        if strays.hovers_share is None
        else [("First load hovers in", f"{show_share(strays.hovers_share)} of the cases")]
    )
    return [("Nine cases in ten give", between(strays, plan)), ("Uncertainty", shares), *hovers]


def _thing(thing: Thing, plan: Plan) -> str:
    bearing = show_course(thing.bearing_deg - plan.declination_deg)
    return f"{thing.what}, {show(thing.distance_m, 'line', plan.display)} out on {bearing} magnetic"


def _definitions(pairs: list[Pair]) -> Markup:
    return tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs))


def _open(site: Site, plan: Plan) -> Markup:
    sectors = ", ".join(_sector(s, plan) for s in site.sectors)
    return join(
        tag("p", summary(site, plan.declination_deg) + "."),
        tag("p", f"Open sectors, seen from the water, magnetic: {sectors}.") if sectors else None,
    )


def _sector(sector: Sector, plan: Plan) -> str:
    if (sector.to_deg - sector.from_deg) % 360 == 0:
        return "the whole circle"
    first, last = (show_course(edge - plan.declination_deg) for edge in (sector.from_deg, sector.to_deg))
    return f"{first} to {last}"


def _courses(site: Site, plan: Plan) -> Markup | None:
    ways = [(name, way) for name, way in (("Approach", site.arrival), ("Departure", site.departure)) if way is not None]
    if not ways:
        return None
    heads = ("", "Magnetic", "True", "Lift", "Headwind", "Crosswind", f"{plan.limits.surface} surface")
    head = tag("thead", tag("tr", *(tag("th", h, scope="col") for h in heads)))
    rows = tag("tbody", *(_way(name, way, plan) for name, way in ways))
    return tag("div", tag("table", head, rows, class_="plain"), class_="wide")


def _way(name: str, way: Way, plan: Plan) -> Markup:
    display = plan.display
    surface = way.surface_8_to_1_m
    if surface is None:
        clear = "not known"
    elif surface <= 0:
        clear = "clear"
    else:
        clear = f"{show(surface, 'height', display)} into it, {show(way.surface_at_m, 'height', display)} out"
    along = show(abs(way.headwind_m_s), "wind", display) + (" tail" if way.headwind_m_s < -flown.CALM_M_S else "")
    cells = (
        show_course(way.course_magnetic_deg),
        show_course(way.course_deg),
        show(way.lift_m, "height", display),
        along,
        show(abs(way.crosswind_m_s), "wind", display) + flown.side(way.crosswind_m_s),
        clear,
    )
    return tag("tr", tag("th", name, scope="row"), *(tag("td", c) for c in cells))


def _score(site: Site, plan: Plan) -> Markup | None:
    if not site.score.criteria:
        return None
    rows = [
        tag("tr", tag("th", label(c.code, plan.display), scope="row"), tag("td", f"{c.points:.0f}"),
            tag("td", f"× {c.weight:.0f}"), tag("td", told(c, plan), class_="text"))
        for c in site.score.criteria
    ]  # fmt: skip
    return join(
        tag("h3", f"Score {site.score.total:.0f} of 100"),
        tag("table", tag("tbody", *rows), class_="plain"),
    )
