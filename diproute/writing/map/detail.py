"""One site in full: its numbers, its ways in and out, its drawings, its score and its cautions; and its popup."""

from __future__ import annotations

import math

from diproute.physics.coordinates import format_ddm
from diproute.physics.wind import wind_at
from diproute.records import Assessed, AssessedSite, Course, Sector
from diproute.units import show, show_course, show_share, show_time
from diproute.writing.drawings.curves import curves
from diproute.writing.drawings.cycle_bar import cycle_bar
from diproute.writing.drawings.load_stair import load_stair
from diproute.writing.drawings.profile import profile
from diproute.writing.drawings.rose import rose, summary
from diproute.writing.map import tables
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.map.outlook import between, stray_of
from diproute.writing.map.panel import findings

Pair = tuple[str, str]


def detail(site: AssessedSite, plan: Assessed) -> Markup:
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
    display = plan.incident.display
    point = site.point
    where = (
        f"{format_ddm(point.lat_deg, point.lon_deg)}; water at {show(point.level_m, 'height', display)} AMSL; "
        f"{point.water.kind}{', salt' if point.water.salt else ''}, {point.chosen_for}"
    )
    drawings = _legs(site, plan)
    if site.cycle is not None and math.isfinite(site.cycle.seconds):
        drawings.append(tag("figure", Markup(cycle_bar(site.cycle))))
    if site.load is not None:
        drawings.append(tag("figure", Markup(load_stair(site.load, display))))
    if site.curve:
        hourly = site.sortie.litres_per_hour if site.sortie else None
        drawings.append(tag("figure", Markup(curves(site.curve, site.load, hourly, display))))
    told = [found for found in (tables.loads(site, plan), tables.hours(site, plan)) if found is not None]
    return tag(
        "section",
        tag("h2", tag("span", "" if site.rank is None else str(site.rank),
                      class_="disc hollow" if site.rank is None else "disc"), " ", site.name),
        tag("p", where, class_="where"),
        join(tag("h3", "Refused because"), findings(site.refused)) if site.refused else None,
        _definitions(_numbers(site, plan)),
        tag("h3", "TravelFields in and out"),
        tag(
            "div",
            tag("figure", Markup(_rose(site, plan)), class_="round"),
            tag("div", _ways(site, plan), tag("p", _reading(plan), class_="quiet")),
            class_="ways",
        ),
        _courses(site, plan),
        *drawings,
        *told,
        tables.lines(site, plan),
        _score(site),
        join(tag("h3", "Cautions"), findings(site.cautions)) if site.cautions else None,
        class_="detail",
        id=f"detail-{site.id}",
        data_site=site.id,
        tabindex="-1",
        hidden=True,
    )  # fmt: skip


def _legs(site: AssessedSite, plan: Assessed) -> list[Markup]:
    """Draw each leg from the side, with its reading and its waypoints; the ferry has waypoints alone."""
    route, display = site.route, plan.incident.display
    if route is None:
        return []
    found = []
    for i, leg in enumerate((*route.loaded, *route.empty)):
        picture = tag("figure", Markup(profile(leg, display)), tag("figcaption", class_="probe"),
                      class_="leg", data_leg=i)  # fmt: skip
        found += [picture, tag("p", tables.reading(leg, display), class_="reading"), tables.waypoints(leg, plan)]
    for way, flown in (("from the base", route.from_base), ("to the base", route.to_base)):
        if flown is not None:
            found.append(tables.waypoints(flown, plan, way))
    return found


def popup(site: AssessedSite, plan: Assessed) -> Markup:
    """Give the few numbers and reasons that a pointer on the map brings up; the script puts the rose in."""
    display = plan.incident.display
    head = site.name if site.rank is None else f"{site.rank}. {site.name}"
    rows = _numbers(site, plan)[:6]
    reasons = site.refused or site.cautions
    word = "Refused" if site.refused else "Cautions"
    return tag(
        "template",
        tag(
            "div",
            tag("h3", head),
            tag("p", f"{format_ddm(site.point.lat_deg, site.point.lon_deg)}; "
                     f"{show(site.point.level_m, 'height', display)} AMSL", class_="where"),
            tag("div", tag("div", class_="rose-here"), _definitions(rows), class_="pop-row"),
            tag("ul", *(tag("li", tag("b", f"{c.name} {c.points:.0f}"), f" {c.because}") for c in site.criteria),
                class_="because") if not site.refused else None,
            join(tag("b", word), findings(reasons[:3])) if reasons else None,
            tag("p", f"and {len(reasons) - 3} more beside the map", class_="quiet") if len(reasons) > 3 else None,
            class_="pop",
        ),
        id=f"popup-{site.id}",
    )  # fmt: skip


def _rose(site: AssessedSite, plan: Assessed) -> str:
    wind = plan.incident.weather.wind
    level = 0.0 if math.isnan(site.point.level_m) else site.point.level_m
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, level)
    return rose(
        site.clearance, site.approach, lift_limit_m=plan.incident.limits.lift_limit_m, wind_from_deg=float(from_deg),
        wind_m_s=float(speed), declination_deg=plan.declination_deg, display=plan.incident.display,
    )  # fmt: skip


def _reading(plan: Assessed) -> str:
    limit = show(plan.incident.limits.lift_limit_m, "height", plan.incident.display)
    return (
        f"A wedge is as long as the lift that its direction takes before moving off; the ring is the limit, {limit}. "
        "Pale: open. Dark: closed. Hatched: not known. Dashed: in, empty. Solid: out, loaded. True north up."
    )


def _numbers(site: AssessedSite, plan: Assessed) -> list[Pair]:
    display = plan.incident.display
    needed = show(site.clearance.line_needed_m, "line", display)
    found: list[Pair] = []
    if site.sortie is not None:
        name = "Water an hour" if site.rank is not None else "Water an hour, were it not refused"
        found.append((name, show(site.sortie.litres_per_hour, "volume", display)))
    if site.load is not None:
        load = site.load
        found += [
            ("A load", f"{show(load.water_l, 'volume', display)}, {show(load.water_kg, 'mass', display)}"),
            ("Fill", show_share(load.fill)),
        ]
    carried = "none is long enough" if site.line is None else show(site.line.length_m, "line", display)
    found.append(("Line", f"{carried} ({needed} needed)"))
    if site.cycle is not None:
        found.append(("Cycle", _time(site.cycle.seconds)))
    found.append(("Density altitude", show(site.density_altitude_m, "height", display)))
    if site.load is not None:
        load = site.load
        found += [
            ("Fuel at the start", show(load.fuel_kg, "mass", display)),
            ("Decided by", f"{load.governed_by}, at {load.place}"),
            ("Margin left", show(load.margin_kg, "mass", display)),
        ]
    if site.sortie is not None:
        found += [
            ("Cycles on the fuel", f"{site.sortie.cycles} in {_time(site.sortie.seconds)}"),
            ("First drop after", _time(site.sortie.first_drop_s)),
        ]
        stray = stray_of(site, plan)
        if stray is not None:
            shares = f"first in {show_share(stray.first)}, works in {show_share(stray.works)} of the draws"
            found += [("Nine draws in ten give", between(stray, plan)), ("In doubt", shares)]
        if site.sortie.note:
            found.append(("Note", site.sortie.note))
    found += [
        ("Pressure altitude", show(site.pressure_altitude_m, "height", display)),
        ("Temperature", show(site.temperature_k, "temperature", display)),
        ("Shore", f"{show(site.point.shore_clearance_m, 'line', display)} away"),
        ("Depth", show(site.point.water.depth_m, "line", display)),
    ]
    governing = site.clearance.line_governing
    if governing is not None and site.clearance.line_needed_m > 0:
        bearing = show_course(governing.bearing_deg - plan.declination_deg)
        far = show(governing.distance_m, "line", display)
        found.append(("Asks for the line", f"{governing.what}, {far} out on {bearing} magnetic"))
    return found


def _time(seconds: float) -> str:
    return show_time(seconds) if math.isfinite(seconds) else "not known"


def _definitions(pairs: list[Pair]) -> Markup:
    return tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs))


def _ways(site: AssessedSite, plan: Assessed) -> Markup:
    approach = site.approach
    if approach is None:
        return tag("p", summary(None, plan.declination_deg) + ".")
    sectors = ", ".join(_sector(s, plan) for s in approach.sectors)
    return join(
        tag("p", summary(approach, plan.declination_deg) + "."),
        tag("p", f"Open sectors, seen from the water, magnetic: {sectors}.") if sectors else None,
    )


def _sector(sector: Sector, plan: Assessed) -> str:
    if (sector.to_deg - sector.from_deg) % 360 == 0:
        return "the whole circle"
    first, last = (show_course(edge - plan.declination_deg) for edge in (sector.from_deg, sector.to_deg))
    return f"{first} to {last}"


def _courses(site: AssessedSite, plan: Assessed) -> Markup | None:
    approach = site.approach
    if approach is None or (approach.arrival is None and approach.departure is None):
        return None
    heads = ("", "Magnetic", "True", "Lift", "Headwind", "Crosswind", f"{plan.incident.limits.surface} surface")
    rows = [
        _way(name, course, plan) for name, course in (("In", approach.arrival), ("Out", approach.departure)) if course
    ]
    head = tag("thead", tag("tr", *(tag("th", h, scope="col") for h in heads)))
    return tag("div", tag("table", head, tag("tbody", *rows), class_="plain"), class_="wide")


def _way(name: str, course: Course, plan: Assessed) -> Markup:
    display = plan.incident.display
    surface = course.surface_8_to_1_m
    if math.isnan(surface):
        clear = "not known"
    elif surface <= 0:
        clear = "clear"
    else:
        clear = f"{show(surface, 'height', display)} into it, {show(course.surface_at_m, 'height', display)} out"
    side = "" if abs(course.crosswind_m_s) < 0.26 else " right" if course.crosswind_m_s > 0 else " left"
    along = show(abs(course.headwind_m_s), "wind", display) + (" tail" if course.headwind_m_s < -0.26 else "")
    cells = (
        show_course(course.course_deg - plan.declination_deg),
        show_course(course.course_deg),
        show(course.lift_m, "height", display),
        along,
        show(abs(course.crosswind_m_s), "wind", display) + side,
        clear,
    )
    return tag("tr", tag("th", name, scope="row"), *(tag("td", c) for c in cells))


def _score(site: AssessedSite) -> Markup | None:
    if not site.criteria:
        return None
    rows = [
        tag("tr", tag("th", c.name, scope="row"), tag("td", f"{c.points:.0f}"), tag("td", f"× {c.weight:.0f}"),
            tag("td", c.because, class_="text"))
        for c in site.criteria
    ]  # fmt: skip
    return join(
        tag("h3", f"Score {site.score:.0f} of 100"),
        tag("table", tag("tbody", *rows), class_="plain"),
    )
