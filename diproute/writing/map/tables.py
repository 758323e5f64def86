"""The tables of one site: the lines compared, load by load, hour by hour, and the waypoints of a leg."""

from __future__ import annotations

from itertools import groupby

from diproute.document.legs import Leg
from diproute.document.outlook import SiteHour
from diproute.document.plan import Plan
from diproute.document.site import LineChoice, Site
from diproute.physics.coordinates import format_ddm
from diproute.physics.geodesy import beside
from diproute.units import show, show_course, show_share, show_up, unit_name
from diproute.wording import label
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.reader import told


def lines(site: Site, plan: Plan) -> Markup | None:
    """Compare the carried lines, each with its reason; None where there was nothing to compare."""
    display = plan.display
    if len(site.lines) < 2:
        return None

    def row(choice: LineChoice) -> Markup:
        rate, seconds, margin = choice.litres_per_hour, choice.cycle_s, choice.margin_kg
        return tag(
            "tr",
            tag("th", show(choice.length_m, "line", display), scope="row"),
            tag("td", "–" if rate is None else show(rate, "volume", display, unit=False)),
            tag("td", "–" if seconds is None else clock(seconds)),
            tag("td", "–" if seconds is None else show(margin, "mass", display, unit=False)),
            tag("td", told(choice, plan), class_="text"),
            class_="taken" if choice.chosen else None,
        )

    heads = ("Line", f"Water/h, {unit_name('volume', display)}", "Cycle, min:s",
             f"Margin, {unit_name('mass', display)}", "")  # fmt: skip
    return join(tag("h3", "Lines compared"), table(heads, [row(choice) for choice in site.lines]))


def loads(site: Site, plan: Plan) -> Markup | None:
    """Give the fuel cycle load by load, in one sentence that opens to a table."""
    sortie, display = site.sortie, plan.display
    if sortie is None or not sortie.loads_l:
        return None
    runs = [(show(litres, "volume", display), len(list(same))) for litres, same in groupby(sortie.loads_l)]
    words = ", ".join(f"{count} × {litres}" for litres, count in runs[:4]) + (" and on" if len(runs) > 4 else "")
    margins = sortie.margins_kg
    if not margins:
        return tag("p", f"Load by load: {words}.")
    ends = f"margin {show(margins[0], 'mass', display)} at the first lift"
    if len(margins) > 1:
        ends += f", {show(margins[-1], 'mass', display)} at the last"
    heads = ("Lift", f"Load, {unit_name('volume', display)}", f"Margin, {unit_name('mass', display)}")
    rows = [
        _row(str(i + 1), show(litres, "volume", display, unit=False), show(kg, "mass", display, unit=False))
        for i, (litres, kg) in enumerate(zip(sortie.loads_l, margins, strict=False))
    ]
    return folded(f"Load by load: {words}; {ends}", table(heads, rows))


def hours(site: Site, plan: Plan) -> Markup | None:
    """Give the day of one site: its bucket setting by the hour in one sentence that opens to a table."""
    day, display = plan.day, plan.display
    if day is None:
        return None
    zone = plan.when.tzinfo
    found = [
        (f"{hour.when.astimezone(zone):%H:%M}", here)
        for hour in day.hours
        for here in hour.sites
        if here.site == site.id
    ]
    rates = [here.litres_per_hour for _, here in found if here.litres_per_hour is not None]
    if not rates:
        return tag("p", "By the hour: it works in none of them.")
    settings = ["unsuitable" if here.litres_per_hour is None else _setting(here) for _, here in found]
    runs = [(word, next(same)[1]) for word, same in groupby(zip(settings, found, strict=True), lambda pair: pair[0])]
    told_ = ", ".join(f"{word} from {when}" for word, (when, _) in runs) if len(runs) > 1 else f"{settings[0]} in all"
    range_ = f"{show(min(rates), 'volume', display, unit=False)} to {show(max(rates), 'volume', display)} an hour"
    heads = ("", f"Water/h, {unit_name('volume', display)}", "Bucket setting", f"Line, {unit_name('line', display)}",
             f"Fuel, {unit_name('mass', display)}", f"Margin, {unit_name('mass', display)}",
             f"Density altitude, {unit_name('height', display)}")  # fmt: skip
    rows = []
    for when, here in found:
        dense = show(here.density_altitude_m, "height", display, unit=False)
        if here.litres_per_hour is None:
            why = "; ".join(told(one, plan) for one in here.why) or "not known"
            cell = tag("td", why, class_="text", colspan=5)
            rows.append(tag("tr", tag("th", when, scope="row"), cell, tag("td", dense)))
            continue
        rows.append(
            _row(when, show(here.litres_per_hour, "volume", display, unit=False), _setting(here),
                 show(here.line_m, "line", display, unit=False), show(here.fuel_kg, "mass", display, unit=False),
                 show(here.margin_kg, "mass", display, unit=False), dense)
        )  # fmt: skip
    return folded(f"By the hour: {range_}; bucket setting {told_}", table(heads, rows))


def waypoints(leg: Leg, plan: Plan, way: str | None = None) -> Markup:
    """Give the turning points of a leg, folded: place, distance, course to the next, height, time.

    ``way`` names a ferry; other legs name themselves.
    """
    display = plan.display
    rows = []
    for n, point in enumerate(leg.waypoints):
        lon, lat, _ = leg.path[point.index]
        course = "–" if point.course_deg is None else show_course(point.course_deg - plan.declination_deg)
        rows.append(
            _row(str(n + 1), format_ddm(lat, float(beside(lon, 0.0))),
                 show(point.along_m, "distance", display, unit=False), course,
                 show_up(point.altitude_m, "height", display), clock(point.time_s))
        )  # fmt: skip
    heads = ("", "Place", f"Along, {unit_name('distance', display)}", "Course, magnetic",
             f"Height {label('altitude', display)}", "Time, min:s")  # fmt: skip
    if way is None:
        way = f"loaded leg, to {leg.drop}" if leg.leg == "loaded" else f"empty leg, from {leg.drop}"
    return folded(f"{len(rows)} waypoints, {way}", table(heads, rows))


def clock(seconds: float) -> str:
    """Print a duration as minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def folded(summary: str, inside: Markup) -> Markup:
    """Put something under a line that opens it; paper shows it open."""
    return tag("details", tag("summary", summary), inside)


def _setting(here: SiteHour) -> str:
    return "not known" if here.fill is None else show_share(here.fill)


def _row(head: str, *cells: str) -> Markup:
    return tag("tr", tag("th", head, scope="row"), *(tag("td", cell) for cell in cells))


def table(heads: tuple[str, ...], rows: list[Markup]) -> Markup:
    """Give a table with one heading a column."""
    head = tag("thead", tag("tr", *(tag("th", h, scope="col") for h in heads)))
    return tag("div", tag("table", head, tag("tbody", *rows), class_="plain"), class_="wide")
