"""The tables of one site: the lines compared, load by load, hour by hour, and the waypoints of a leg."""

from __future__ import annotations

import math
from itertools import groupby

import numpy as np

from diproute.physics.coordinates import format_ddm
from diproute.physics.geodesy import distance_and_course
from diproute.records import Assessed, AssessedSite, Display, Leg, LineChoice
from diproute.units import show, show_course, show_down, show_share, show_time, show_up, unit_name
from diproute.writing.map.markup import Markup, join, tag

STEEP_M = 200.0  # over what length a leg's steepest part is told


def lines(site: AssessedSite, plan: Assessed) -> Markup | None:
    """Compare the carried lines, each with its reason; None where there was nothing to compare."""
    display = plan.incident.display
    if len(site.line_choices) < 2:
        return None

    def row(choice: LineChoice) -> Markup:
        usable = math.isfinite(choice.litres_per_hour)
        flown = math.isfinite(choice.cycle_s)
        return tag(
            "tr",
            tag("th", show(choice.length_m, "line", display), scope="row"),
            tag("td", show(choice.litres_per_hour, "volume", display, unit=False) if usable else "–"),
            tag("td", clock(choice.cycle_s) if flown else "–"),
            tag("td", show(choice.margin_kg, "mass", display, unit=False) if flown else "–"),
            tag("td", choice.because, class_="text"),
            class_="taken" if choice.chosen else None,
        )

    heads = ("Line", f"Water/h, {unit_name('volume', display)}", "Cycle, min:s",
             f"Left over, {unit_name('mass', display)}", "")  # fmt: skip
    return join(tag("h3", "Lines compared"), _table(heads, [row(choice) for choice in site.line_choices]))


def loads(site: AssessedSite, plan: Assessed) -> Markup | None:
    """Give the fuel cycle load by load, in one sentence that opens to a table."""
    sortie, display = site.sortie, plan.incident.display
    if sortie is None or not sortie.loads_l:
        return None
    runs = [(show(litres, "volume", display), len(list(same))) for litres, same in groupby(sortie.loads_l)]
    told = ", ".join(f"{count} × {litres}" for litres, count in runs[:4]) + (" and on" if len(runs) > 4 else "")
    margins = sortie.margins_kg
    if not margins:
        return tag("p", f"Load by load: {told}.")
    ends = f"{show(margins[0], 'mass', display)} left over at the first lift"
    if len(margins) > 1:
        ends += f", {show(margins[-1], 'mass', display)} at the last"
    heads = ("Lift", f"Load, {unit_name('volume', display)}", f"Left over, {unit_name('mass', display)}")
    rows = [
        _row(str(i + 1), show(litres, "volume", display, unit=False), show(kg, "mass", display, unit=False))
        for i, (litres, kg) in enumerate(zip(sortie.loads_l, margins, strict=True))
    ]
    return folded(f"Load by load: {told}; {ends}", _table(heads, rows))


def hours(site: AssessedSite, plan: Assessed) -> Markup | None:
    """Give the day of one site: its fill by the hour in one sentence that opens to a table."""
    day, display = plan.day, plan.incident.display
    if day is None:
        return None
    index = next(i for i, one in enumerate(plan.sites) if one is site)
    zone = plan.incident.when.tzinfo
    told = [(f"{hour.when.astimezone(zone):%H:%M}", hour.sites[index]) for hour in day.hours]
    if all(math.isnan(here.litres_per_hour) for _, here in told):
        return tag("p", "By the hour: it works in none of them.")
    fills = [_fill(here.fill) if math.isfinite(here.litres_per_hour) else "not usable" for _, here in told]
    runs = [(word, next(same)[1]) for word, same in groupby(zip(fills, told, strict=True), lambda pair: pair[0])]
    sentence = ", ".join(f"{word} from {when}" for word, (when, _) in runs) if len(runs) > 1 else f"{fills[0]} in all"
    rates = [here.litres_per_hour for _, here in told if math.isfinite(here.litres_per_hour)]
    range_told = f"{show(min(rates), 'volume', display, unit=False)} to {show(max(rates), 'volume', display)} an hour"
    heads = ("", f"Water/h, {unit_name('volume', display)}", "Fill", f"Line, {unit_name('line', display)}",
             f"Fuel, {unit_name('mass', display)}", f"Left over, {unit_name('mass', display)}",
             f"Density altitude, {unit_name('height', display)}")  # fmt: skip
    rows = []
    for when, here in told:
        dense = show(here.density_altitude_m, "height", display, unit=False)
        if math.isnan(here.litres_per_hour):
            why = tag("td", here.because, class_="text", colspan=5)
            rows.append(tag("tr", tag("th", when, scope="row"), why, tag("td", dense)))
            continue
        rows.append(
            _row(when, show(here.litres_per_hour, "volume", display, unit=False), _fill(here.fill),
                 show(here.line_m, "line", display, unit=False), show(here.fuel_kg, "mass", display, unit=False),
                 show(here.margin_kg, "mass", display, unit=False), dense)
        )  # fmt: skip
    return folded(f"By the hour: {range_told}; fill {sentence}", _table(heads, rows))


def waypoints(leg: Leg, plan: Assessed, way: str | None = None) -> Markup:
    """Give the turning points of a leg, folded: place, distance, course to the next, height, time.

    ``way`` names a ferry; other legs name themselves.
    """
    display, at = plan.incident.display, list(leg.waypoints)
    lon, lat = leg.lon_deg[at], leg.lat_deg[at]
    _, true_deg = distance_and_course(lon[:-1], lat[:-1], lon[1:], lat[1:])
    courses = [*np.atleast_1d(true_deg).tolist(), math.nan]
    rows = [
        _row(
            str(n + 1),
            format_ddm(float(leg.lat_deg[i]), float(leg.lon_deg[i])),
            show(float(leg.distance_m[i]), "distance", display, unit=False),
            "–" if math.isnan(course) else show_course(course - plan.declination_deg),
            show_up(float(leg.altitude_m[i]), "height", display),
            clock(float(leg.time_s[i])),
        )
        for n, (i, course) in enumerate(zip(at, courses, strict=True))
    ]
    heads = ("", "Place", f"Along, {unit_name('distance', display)}", "Course, magnetic", "Height AMSL", "Time, min:s")
    if way is None:
        way = f"loaded, to {leg.drop}" if leg.leg == "loaded" else f"empty, from {leg.drop}"
    return folded(f"{len(at)} waypoints, {way}", _table(heads, rows))


def reading(leg: Leg, display: Display) -> str:
    """Say where a leg is steepest and where its load comes lowest."""
    told = (_steepest(leg, display), _turned(leg, display), _lowest(leg, display))
    return " ".join(sentence for sentence in told if sentence)


def _steepest(leg: Leg, display: Display) -> str:
    if leg.length_m <= STEEP_M:
        return ""
    start = leg.distance_m[leg.distance_m <= leg.length_m - STEEP_M]
    low, high = (np.interp(start + more, leg.distance_m, leg.altitude_m) for more in (0.0, STEEP_M))
    slope = (high - low) / STEEP_M
    if not np.isfinite(slope).all():
        return "How steep it is is not known."
    i = int(np.argmax(np.abs(slope)))
    way = "up" if slope[i] > 0 else "down"
    over, along = (show(v, "distance", display) for v in (STEEP_M, float(start[i])))
    return f"Steepest over {over}: {show_share(abs(slope[i]))} {way}, from {along} along."


def _turned(leg: Leg, display: Display) -> str:
    """Say what height is won and lost in turns over one place, which no slope along the leg shows."""
    rise = np.diff(leg.altitude_m)[np.diff(leg.distance_m) <= 0]
    up, down = float(rise[rise > 0].sum()), float(-rise[rise < 0].sum())
    parts = [f"{show(m, 'height', display)} {way}" for m, way in ((up, "up"), (down, "down")) if m >= 1]
    return f"In turns over one place: {', '.join(parts)}." if parts else ""


def _lowest(leg: Leg, display: Display) -> str:
    """Say the lowest place between the climb away from one end and the descent to the other."""
    room = leg.clearance_m
    if not np.isfinite(room).all():
        return "What is under the load is not known everywhere."
    falling, rising = np.flatnonzero(np.diff(room) < 0), np.flatnonzero(np.diff(room) > 0)
    first, last = (int(falling[0]), int(rising[-1]) + 1) if len(falling) and len(rising) else (0, -1)
    if first >= last:
        return "The load is lowest at the ends."
    i = first + int(np.argmin(room[first : last + 1]))
    height, along = show_down(float(room[i]), "height", display), show(float(leg.distance_m[i]), "distance", display)
    return f"Between its ends the load comes no closer than {height} to anything below it, {along} along."


def clock(seconds: float) -> str:
    """Print a duration as minutes and seconds; NaN is ``"not known"``."""
    if math.isnan(seconds):
        return show_time(seconds)
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def folded(summary: str, inside: Markup) -> Markup:
    """Put something under a line that opens it; paper shows it open."""
    return tag("details", tag("summary", summary), inside)


def _fill(fill: float) -> str:
    return show_share(fill)


def _row(head: str, *cells: str) -> Markup:
    return tag("tr", tag("th", head, scope="row"), *(tag("td", cell) for cell in cells))


def _table(heads: tuple[str, ...], rows: list[Markup]) -> Markup:
    head = tag("thead", tag("tr", *(tag("th", h, scope="col") for h in heads)))
    return tag("div", tag("table", head, tag("tbody", *rows), class_="plain"), class_="wide")
