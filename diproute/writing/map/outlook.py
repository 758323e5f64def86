"""What the page says beyond one hour and one helicopter: the day, the uncertainty, the sharing out, the duty."""

from __future__ import annotations

from datetime import datetime

from diproute.document.outlook import SiteDoubt
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_time, unit_name
from diproute.writing.drawings.day import day_picture
from diproute.writing.map.markup import Markup, join, tag
from diproute.writing.reader import sentence

NO_CHANGE = "Nothing changes the first place in the hours of the table, and no site closes."


def through_the_day(plan: Plan) -> Markup | None:
    """Give the day's picture, its story in sentences, and the light; None without hourly weather."""
    day = plan.day
    if day is None:
        return None
    story = [sentence(found, plan) for found in day.story] or [NO_CHANGE]
    return tag(
        "section",
        tag("h2", "Through the day"),
        tag("ul", *(tag("li", words) for words in story), class_="because"),
        tag("figure", Markup(day_picture(plan)), class_="bar", tabindex="0") if day.hours else None,
        tag("p", _light(plan), class_="light"),
        id="day",
    )


def _light(plan: Plan) -> str:
    day = plan.day
    if day is None:
        return ""
    if day.sun_stays == "down":
        return "The sun does not rise on this day: it is dark at every hour."
    if day.sun_stays == "up":
        return "The sun does not set on this day: no daylight limit is counted."
    last = last_departure(plan) or ""
    short = day.last_short
    if short is not None:
        loads = f"{short.cycles} load{'s' if short.cycles != 1 else ''}"
        fuel = show(short.fuel_kg, "mass", plan.display)
        last += f" A shortened one, to {plan.site(short.site).name}: "
        last += f"{_clock(short.departure, plan)} with {fuel} of fuel, {loads}."
    rise = "no sunrise" if day.sunrise is None else f"sunrise {_clock(day.sunrise, plan)}"
    sets = "no sunset" if day.sunset is None else f"sunset {_clock(day.sunset, plan)}"
    return f"{rise[0].upper()}{rise[1:]}, {sets}. {last}"


def last_departure(plan: Plan) -> str | None:
    """Say when the last whole fuel cycle leaves; None where no daylight limit is counted."""
    day = plan.day
    if day is None or day.sun_stays is not None:
        return None
    if day.last_departure is None or day.last_site is None:
        return "Last departure for a whole fuel cycle: not known, no site is suitable."
    name = plan.site(day.last_site).name
    return f"Last departure for a whole fuel cycle, to {name}: {_clock(day.last_departure, plan)}."


def _clock(when: datetime, plan: Plan) -> str:
    return f"{when.astimezone(plan.when.tzinfo):%H:%M}"


def range_of(site: Site, plan: Plan) -> SiteDoubt | None:
    """Give how far a site's water an hour may stray; None where that was not worked out."""
    if plan.doubt is None:
        return None
    return next((found for found in plan.doubt.sites if found.site == site.id), None)


def between(strays: SiteDoubt, plan: Plan) -> str:
    """Say a range of water an hour."""
    low, high, display = strays.low_litres_per_hour, strays.high_litres_per_hour, plan.display
    if low is None or high is None:
        return "not known"
    return f"{show(low, 'volume', display, unit=False)} to {show(high, 'volume', display)}"


def uncertainty(plan: Plan) -> Markup | None:
    """Say under the ranking whether it holds."""
    if plan.doubt is None:
        return None
    return join(
        tag("p", sentence(plan.doubt, plan), class_="doubt"),
        tag("p", "The bar under each number holds nine cases in ten, its tick is the plan; all are on one scale.",
            class_="quiet"),
    )  # fmt: skip


def together(plan: Plan) -> Markup | None:
    """Say where several helicopters go; None for one."""
    fleet, display = plan.fleet, plan.display
    if fleet is None:
        return None
    names = {site.id: site.name for site in plan.sites}
    heads = ("Dip site", "Helicopter", "Number", f"Water an hour, {unit_name('volume', display)}", "Wait a cycle")
    rows = [
        tag(
            "tr",
            tag("th", names.get(part.site, part.site), scope="row"),
            tag("td", part.helicopter, class_="text"),
            tag("td", str(part.helicopters)),
            tag("td", show(part.litres_per_hour, "volume", display, unit=False)),
            tag("td", "none" if 0 <= part.wait_s < 0.5 else show_time(part.wait_s)),
        )
        for part in fleet.parts
    ]
    head = tag("thead", tag("tr", *(tag("th", h, scope="col", class_="text" if i == 1 else None)
                                    for i, h in enumerate(heads))))  # fmt: skip
    return tag(
        "section",
        tag("h2", "Several helicopters"),
        tag("p", sentence(fleet, plan)),
        tag(
            "div",
            tag("table", head, tag("tbody", *rows), class_="plain"),
            class_="wide",
            tabindex="0",
            role="region",
            aria_label="Several helicopters",
        ),
        id="together",
    )


def duty(plan: Plan) -> Markup | None:
    """Say what still fits into the pilot's day."""
    if plan.duty is None:
        return None
    return tag("section", tag("h2", "The pilot's day"), tag("p", sentence(plan.duty, plan)), id="duty")
