"""Tables for the terminal. They print what they are given and compute nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from diproute.records import Assessed, AssessedSite, Day, Display, Finding
from diproute.units import show, show_course, show_share, show_time, unit_name

if TYPE_CHECKING:
    from diproute.planning.air import AirAt
    from diproute.planning.load_here import LoadHere
    from diproute.records import Air, Incident

CAUTION = (
    "An estimate for planning, not for dispatch: compare with the flight manual; the operator, local rules and the "
    "pilot in command decide. No marked hazard does not mean none."
)


def _console() -> Console:
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = 160
    return console


def _table(*columns: tuple[str, str]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", show_edge=False)
    for heading, side in columns:
        table.add_column(heading, justify="right" if side == "right" else "left", no_wrap=side == "right")
    return table


def air_table(rows: Sequence[AirAt], station: Air, display: Display) -> None:
    """Print the air at several heights."""
    console = _console()
    height, warm = unit_name("height", display), unit_name("temperature", display)
    console.print(
        f"Station: {show(station.temperature_k, 'temperature', display)} at "
        f"{show(station.measured_at_m, 'height', display)}, QNH {show(station.qnh_pa, 'pressure', display)}"
        + ("" if station.dew_point_k is None else f", dew point {show(station.dew_point_k, 'temperature', display)}")
    )
    table = _table(
        (f"elevation {height}", "right"),
        (f"temperature {warm}", "right"),
        ("pressure", "right"),
        (f"pressure altitude {height}", "right"),
        (f"density altitude {height}", "right"),
        ("lapse K/km", "right"),
    )
    for row in rows:
        table.add_row(
            show(row.elevation_m, "height", display, unit=False),
            show(row.temperature_k, "temperature", display, unit=False),
            show(row.pressure_pa, "pressure", display),
            show(row.pressure_altitude_m, "height", display, unit=False),
            show(row.density_altitude_m, "height", display, unit=False),
            "on the spot" if row.elevation_m == station.measured_at_m else f"{row.lapse_k_per_m * 1000:.1f}",
        )
    console.print(table)


def load_table(answer: LoadHere, incident: Incident) -> None:
    """Print a load calculation line by line."""
    console, display = _console(), incident.display
    console.print(Text(f"{incident.helicopter.name}: {incident.helicopter.source}"))
    console.print(
        f"Hovering at {show(answer.elevation_m, 'height', display)}: "
        f"{show(answer.temperature_k, 'temperature', display)}, pressure altitude "
        f"{show(answer.pressure_altitude_m, 'height', display)}, density altitude "
        f"{show(answer.density_altitude_m, 'height', display)}"
    )
    if answer.load is None:
        console.print(Text(f"No answer: {answer.because}", style="bold"))
    else:
        table = _table(("line", "left"), (unit_name("mass", display), "right"), ("", "left"))
        for line in answer.load.lines:
            table.add_row(line.name, show(line.mass_kg, "mass", display, unit=False), line.note)
        console.print(table)
        console.print(Text(f"{answer.because}", style="bold"))
    console.print(Text(CAUTION, style="dim"))


def _row(site: AssessedSite, display: Display) -> list[str]:
    if not (site.sortie and site.load and site.line and site.cycle and site.approach and site.route):
        raise ValueError(f"{site.name} is ranked but not flown")
    arrival, departure = site.approach.arrival, site.approach.departure
    courses = " / ".join(show_course(way.course_deg) for way in (arrival, departure) if way)
    legs = (*site.route.loaded, *site.route.empty)
    return [
        str(site.rank),
        site.name,
        show(site.sortie.litres_per_hour, "volume", display, unit=False),
        show_share(site.load.fill),
        show(site.load.fuel_kg, "mass", display, unit=False),
        show(site.line.length_m, "line", display, unit=False),
        show_time(site.cycle.seconds),
        str(site.sortie.cycles),
        show(sum(leg.length_m for leg in legs) / len(legs), "distance", display, unit=False),
        show(site.density_altitude_m, "height", display, unit=False),
        courses,
        f"{site.score:.0f}",
        str(len(site.cautions)),
    ]


def ranking_table(plan: Assessed) -> None:
    """Print the ranking, the refused sites with their reasons, and the plan's own cautions."""
    console, display = _console(), plan.incident.display
    if plan.incident.invented:
        console.print("Invented demo data: no real place, no real helicopter.", style="bold")
    table = _table(
        ("#", "right"),
        ("site", "left"),
        (f"{unit_name('volume', display)}/h", "right"),
        ("fill", "right"),
        (f"fuel {unit_name('mass', display)}", "right"),
        (f"line {unit_name('line', display)}", "right"),
        ("cycle", "right"),
        ("loads", "right"),
        (f"leg {unit_name('distance', display)}", "right"),
        (f"density alt. {unit_name('height', display)}", "right"),
        ("in / out true", "right"),
        ("score", "right"),
        ("cautions", "right"),
    )
    for site in plan.usable:
        table.add_row(*_row(site, display))
    if plan.usable:
        console.print(table)
    else:
        console.print("No usable site: every one is refused.", style="bold")
    refused = [site for site in plan.sites if site.rank is None]
    if refused:
        console.print("\nRefused", style="bold")
        for site in refused:
            console.print(Text(f"{site.name}: {'; '.join(finding.because for finding in site.refused)}"))
    if plan.day is not None:
        _day(console, plan, plan.day)
    told = [part.because for part in (plan.doubt, plan.fleet, plan.duty) if part is not None]
    if told:
        console.print("\nHow it holds", style="bold")
        for sentence in told:
            console.print(Text(f"{sentence[0].upper()}{sentence[1:]}."))
    _findings(console, plan.cautions)
    console.print(Text(CAUTION, style="dim"))


def _day(console: Console, plan: Assessed, day: Day) -> None:
    """Print the hours, the first place in each, and what changes."""
    display = plan.incident.display
    console.print("\nThrough the day", style="bold")
    table = _table(
        ("hour", "left"),
        (f"station {unit_name('temperature', display)}", "right"),
        ("wind true", "right"),
        ("first", "left"),
        (f"{unit_name('volume', display)}/h", "right"),
        ("fill", "right"),
        (f"density alt. {unit_name('height', display)}", "right"),
        ("sites that work", "right"),
    )
    for hour in day.hours:
        best = None if hour.best is None else hour.sites[hour.best]
        table.add_row(
            f"{hour.when:%H:%M}",
            show(hour.temperature_k, "temperature", display, unit=False),
            f"{show_course(hour.wind_from_deg)} {show(hour.wind_m_s, 'wind', display)}",
            "none" if hour.best is None else plan.sites[hour.best].name,
            "" if best is None else show(best.litres_per_hour, "volume", display, unit=False),
            "" if best is None else show_share(best.fill),
            "" if best is None else show(best.density_altitude_m, "height", display, unit=False),
            str(sum(not site.because for site in hour.sites)),
        )
    console.print(table)
    for sentence in day.story:
        console.print(Text(sentence))
    light = ", ".join(
        f"{name} {when:%H:%M}"
        for name, when in (
            ("sunrise", day.sunrise),
            ("sunset", day.sunset),
            ("last departure that is home in daylight", day.last_departure),
        )
        if when is not None
    )
    console.print(Text(f"{light[0].upper()}{light[1:]}." if light else "The sun does not rise or set on this day."))


def _findings(console: Console, findings: Sequence[Finding]) -> None:
    if findings:
        console.print("\nCautions for the whole plan", style="bold")
        for finding in findings:
            console.print(Text(finding.because))
