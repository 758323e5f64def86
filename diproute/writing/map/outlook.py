"""What the page says beyond one hour and one helicopter: the day, the doubt, the sharing out, the duty."""

from __future__ import annotations

import math
from datetime import datetime

from diproute.records import Assessed, AssessedSite, Uncertainty
from diproute.units import show, show_time, unit_name
from diproute.writing.drawings.day import day_picture
from diproute.writing.drawings.whisker import whisker
from diproute.writing.map.markup import Markup, join, tag


def through_the_day(plan: Assessed) -> Markup | None:
    """Give the day's picture, its story in sentences, and the light; None without hourly weather."""
    day = plan.day
    if day is None:
        return None
    story = day.story or ("Nothing changes the first place in the hours of the table, and no site closes.",)
    return tag(
        "section",
        tag("h2", "Through the day"),
        tag("ul", *(tag("li", sentence) for sentence in story), class_="because"),
        tag("figure", Markup(day_picture(plan.sites, day, plan.incident.when, plan.incident.display))),
        tag("p", _light(plan), class_="light"),
        id="day",
    )


def _light(plan: Assessed) -> str:
    day = plan.day
    assert day is not None
    zone = plan.incident.when.tzinfo

    def clock(when: datetime) -> str:
        return f"{when.astimezone(zone):%H:%M}"

    if day.sunrise is None or day.sunset is None:
        return "The sun does not rise or set on this day: no daylight limit is counted."
    last = "Last departure for a whole fuel cycle: not known, no site is usable."
    if day.last_departure is not None and plan.usable:
        last = f"Last departure for a whole fuel cycle at {plan.usable[0].name}: {clock(day.last_departure)}."
    return f"Sunrise {clock(day.sunrise)}, sunset {clock(day.sunset)}. {last}"


def stray_of(site: AssessedSite, plan: Assessed) -> Uncertainty | None:
    """Give the doubt about one site; None where none was worked out."""
    if plan.doubt is None:
        return None
    return next((s for one, s in zip(plan.sites, plan.doubt.sites, strict=True) if one is site), None)


def doubt_cell(site: AssessedSite, plan: Assessed) -> Markup | None:
    """Draw the range of a site's water an hour, on the scale of all sites."""
    stray = stray_of(site, plan)
    if plan.doubt is None or stray is None:
        return None
    values = [v for s in plan.doubt.sites if s is not None for v in (s.low, s.high)]
    values += [s.sortie.litres_per_hour for s in plan.usable if s.sortie is not None]
    known = [v for v in values if math.isfinite(v)]
    if not known or min(known) == max(known):
        return None
    value = site.sortie.litres_per_hour if site.sortie else math.nan
    return Markup(whisker(stray.low, value, stray.high, (min(known), max(known)), f"range {between(stray, plan)}"))


def between(stray: Uncertainty, plan: Assessed) -> str:
    """Say a range of water an hour."""
    display = plan.incident.display
    if not (math.isfinite(stray.low) and math.isfinite(stray.high)):
        return "not known"
    return f"{show(stray.low, 'volume', display, unit=False)} to {show(stray.high, 'volume', display)}"


def doubt(plan: Assessed) -> Markup | None:
    """Say under the ranking whether it holds."""
    if plan.doubt is None:
        return None
    return join(
        tag("p", f"{plan.doubt.because}.", class_="doubt"),
        tag("p", "The bar under each number holds nine draws in ten, its tick is the plan; all are on one scale.",
            class_="quiet"),
    )  # fmt: skip


def together(plan: Assessed) -> Markup | None:
    """Say where several helicopters go; None for one."""
    fleet, display = plan.fleet, plan.incident.display
    if fleet is None:
        return None
    heads = ("Dip site", "Helicopter", "Number", f"Water an hour, {unit_name('volume', display)}", "Wait a cycle")
    rows = [
        tag(
            "tr",
            tag("th", plan.sites[part.site].name, scope="row"),
            tag("td", part.helicopter, class_="text"),
            tag("td", str(part.helicopters)),
            tag("td", show(part.litres_per_hour, "volume", display, unit=False)),
            tag("td", "none" if 0 <= part.wait_s < 0.5 else show_time(part.wait_s)),
        )
        for part in fleet.sites
    ]
    head = tag("thead", tag("tr", *(tag("th", h, scope="col", class_="text" if i == 1 else None)
                                    for i, h in enumerate(heads))))  # fmt: skip
    return tag(
        "section",
        tag("h2", "Several helicopters"),
        tag("p", f"{fleet.because}."),
        tag("div", tag("table", head, tag("tbody", *rows), class_="plain"), class_="wide"),
        id="together",
    )


def duty(plan: Assessed) -> Markup | None:
    """Say what still fits into the pilot's day."""
    if plan.duty is None:
        return None
    return tag("section", tag("h2", "The pilot's day"), tag("p", f"{plan.duty.because}."), id="duty")
