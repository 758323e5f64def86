"""Tables for the terminal. They print what they are given and compute nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from diproute.cli.console import Column, print_table, terminal
from diproute.document.findings import Finding
from diproute.document.outlook import Day, Hour
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import Display, show, show_course, show_share, show_time, unit_name
from diproute.wording import Reader, label, say
from diproute.writing.reader import altitude, sentence, told

if TYPE_CHECKING:
    from diproute.planning.air import AirAt
    from diproute.planning.load_here import LoadHere
    from diproute.records import Air, Incident

CAUTION = (
    "An estimate for planning, not for dispatch: compare with the flight manual; the operator, local rules and the "
    "pilot in command decide. No marked hazard does not mean none."
)


def air_table(rows: Sequence[AirAt], station: Air, display: Display) -> None:
    """Print the air at several heights."""
    console = terminal()
    height, warm = unit_name("height", display), unit_name("temperature", display)
    console.print(
        f"Station: {show(station.temperature_k, 'temperature', display)} at "
        f"{altitude(station.measured_at_m, display)}, {label('qnh', display)} "
        f"{show(station.qnh_pa, 'pressure', display)}"
        + ("" if station.dew_point_k is None else f", dew point {show(station.dew_point_k, 'temperature', display)}")
    )
    columns = (
        Column(f"elevation {height}"),
        Column(f"temperature {warm}"),
        Column("pressure", goes=2),
        Column(f"pressure altitude {height}", goes=1),
        Column(f"density altitude {height}"),
        Column("lapse K/km", goes=3),
    )
    cells = [
        (
            show(row.elevation_m, "height", display, unit=False),
            show(row.temperature_k, "temperature", display, unit=False),
            show(row.pressure_pa, "pressure", display),
            show(row.pressure_altitude_m, "height", display, unit=False),
            show(row.density_altitude_m, "height", display, unit=False),
            "on the spot" if row.elevation_m == station.measured_at_m else f"{row.lapse_k_per_m * 1000:.1f}",
        )
        for row in rows
    ]
    print_table(console, columns, cells)


def load_table(answer: LoadHere, incident: Incident) -> None:
    """Print a load calculation line by line."""
    console, display = terminal(), incident.display
    console.print(f"{incident.helicopter.name}: {incident.helicopter.source}")
    console.print(
        f"Hovering at {altitude(answer.elevation_m, display)}: "
        f"{show(answer.temperature_k, 'temperature', display)}, pressure altitude "
        f"{show(answer.pressure_altitude_m, 'height', display)}, density altitude "
        f"{show(answer.density_altitude_m, 'height', display)}"
    )
    why = say(answer.why, Reader(display))
    if answer.load is None:
        console.print(f"No answer: {why}", style="bold")
    else:
        columns = (Column("load sheet", "left"), Column(unit_name("mass", display)), Column("", "left"))
        rows = [
            (
                label(line.name, display),
                show(line.mass_kg, "mass", display, unit=False),
                "" if line.note is None else say(line.note, Reader(display)),
            )
            for line in answer.load.lines
        ]
        print_table(console, columns, rows)
        console.print(f"{why[0].upper()}{why[1:]}", style="bold")
    console.print(CAUTION, style="dim")


def ranking_table(plan: Plan) -> None:
    """Print the ranking, the unsuitable sites with their reasons, the day, and the cautions."""
    console, display = terminal(), plan.display
    if plan.invented:
        console.print("Invented demo data: no real place, no real helicopter.", style="bold")
    columns = (
        Column("#"),
        Column("dip site", "left"),
        Column(f"{unit_name('volume', display)}/h"),
        Column("bucket", goes=1),
        Column(f"fuel {unit_name('mass', display)}", goes=7),
        Column(f"line {unit_name('line', display)}", goes=2),
        Column("cycle", goes=3),
        Column("loads", goes=8),
        Column(f"mean leg {unit_name('distance', display)}", goes=9),
        Column(f"density alt. {unit_name('height', display)}", goes=5),
        Column("approach / departure true", goes=4),
        Column("score", goes=10),
        Column("cautions", goes=6),
    )
    if plan.suitable:
        print_table(console, columns, [_row(site, display) for site in plan.suitable])
    else:
        console.print("No suitable dip site: every one is refused.", style="bold")
    refused = [site for site in plan.sites if site.rank is None]
    if refused:
        console.print("\nUnsuitable: refused because", style="bold")
        for site in refused:
            console.print(f"{site.name}: {'; '.join(told(finding, plan) for finding in site.refused)}")
    if plan.day is not None:
        _day(console, plan, plan.day)
    parts = [part for part in (plan.doubt, plan.fleet, plan.duty) if part is not None]
    if parts:
        console.print("\nHow it holds", style="bold")
        for part in parts:
            console.print(sentence(part, plan))
    if plan.suitable:
        _cautions(console, f"Cautions at {plan.suitable[0].name}", plan.suitable[0].cautions, plan)
    _cautions(console, "Cautions for the whole plan", plan.cautions, plan)
    console.print(CAUTION, style="dim")


def changes_told(found: Sequence[Finding], plan: Plan) -> None:
    """Print what a changed plan has otherwise than the incident as it stands."""
    if found:
        console = terminal()
        console.print("\nWhat changes against the incident as it stands", style="bold")
        for finding in found:
            console.print(sentence(finding, plan))


def _row(site: Site, display: Display) -> list[str]:
    load, sortie, cycle = site.load, site.sortie, site.cycle
    courses = " / ".join(
        "not known" if way is None else show_course(way.course_deg) for way in (site.arrival, site.departure)
    )
    mean = sum(leg.length_m for leg in site.routes) / len(site.routes) if site.routes else None
    return [
        str(site.rank),
        site.name,
        show(None if sortie is None else sortie.litres_per_hour, "volume", display, unit=False),
        "not known" if load is None else show_share(load.fill),
        show(None if load is None else load.fuel_kg, "mass", display, unit=False),
        show(site.line.carried_m, "line", display, unit=False),
        "not known" if cycle is None else show_time(cycle.seconds),
        "not known" if sortie is None else str(sortie.cycles),
        show(mean, "distance", display, unit=False),
        show(site.density_altitude_m, "height", display, unit=False),
        courses,
        f"{site.score.total:.0f}",
        str(len(site.cautions)),
    ]


def _day(console: Console, plan: Plan, day: Day) -> None:
    """Print the hours, the first place in each, and what changes."""
    display = plan.display
    console.print("\nThrough the day", style="bold")
    columns = (
        Column("hour", "left"),
        Column(f"station {unit_name('temperature', display)}", goes=2),
        Column("wind true"),
        Column("first", "left"),
        Column(f"{unit_name('volume', display)}/h"),
        Column("bucket", goes=1),
        Column(f"density alt. {unit_name('height', display)}", goes=3),
        Column("suitable sites", goes=4),
    )
    print_table(console, columns, [_hour(hour, plan) for hour in day.hours])
    for found in day.story:
        console.print(sentence(found, plan))
    moments = (
        ("sunrise", day.sunrise),
        ("sunset", day.sunset),
        ("last departure that is home in daylight", day.last_departure),
    )
    light = ", ".join(f"{name} {_clock(when, plan)}" for name, when in moments if when is not None)
    if day.sun_stays is not None:
        light = f"the sun does not {'rise' if day.sun_stays == 'down' else 'set'} on this day"
    console.print(f"{light[:1].upper()}{light[1:]}." if light else "No daylight is given.")
    short = day.last_short
    if short is not None:
        name = next((site.name for site in plan.sites if site.id == short.site), short.site)
        fuel = show(short.fuel_kg, "mass", plan.display)
        loads = f"{short.cycles} load{'s' if short.cycles != 1 else ''}"
        console.print(f"Last shortened fuel cycle: {_clock(short.departure, plan)} to {name} with {fuel}, {loads}.")


def _hour(hour: Hour, plan: Plan) -> list[str]:
    display = plan.display
    name = next((site.name for site in plan.sites if site.id == hour.best), "none")
    best = next((here for here in hour.sites if here.site == hour.best), None)
    direction = "" if hour.wind_from_deg is None else f"{show_course(hour.wind_from_deg)} "
    gust = "" if hour.gust_m_s is None else f", gusts {show(hour.gust_m_s, 'wind', display)}"
    return [
        _clock(hour.when, plan),
        show(hour.temperature_k, "temperature", display, unit=False),
        f"{direction}{show(hour.wind_m_s, 'wind', display)}{gust}",
        name,
        "" if best is None else show(best.litres_per_hour, "volume", display, unit=False),
        "" if best is None or best.fill is None else show_share(best.fill),
        "" if best is None else show(best.density_altitude_m, "height", display, unit=False),
        str(sum(here.litres_per_hour is not None for here in hour.sites)),
    ]


def _clock(when: datetime, plan: Plan) -> str:
    return f"{when.astimezone(plan.when.tzinfo):%H:%M}"


def _cautions(console: Console, heading: str, found: Sequence[Finding], plan: Plan) -> None:
    if found:
        console.print(Text(f"\n{heading}", style="bold"))
        for finding in found:
            console.print(told(finding, plan))
