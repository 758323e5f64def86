"""The hours of the day, packed: what each site gives then, or why it gives nothing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from diproute.document.outlook import Hour, SiteHour
from diproute.document.plan import Plan
from diproute.units import show, show_course
from diproute.wording.short import short
from diproute.writing.map.packing import Texts, hundredths, tenths
from diproute.writing.reader import told


def hours(plan: Plan, texts: Texts) -> dict[str, Any] | None:
    """Pack the day: for every hour its weather, for every site that is worked then its answers.

    Parameters
    ----------
    plan
        The plan.
    texts
        The page's table of texts.

    Returns
    -------
    dict or None
        ``clock``, ``weather``, ``dark``, ``wind`` beside each other, an entry an hour; ``sites`` by the number of the
        site, columns beside each other; ``spans``: when a site is closed, in a sentence. None without hours.
    """
    day = plan.day
    if day is None or not day.hours:
        return None
    number = {site.id: i for i, site in enumerate(plan.sites)}
    rows: dict[int, list[SiteHour | None]] = {}
    for h, hour in enumerate(day.hours):
        for here in hour.sites:
            rows.setdefault(number[here.site], [None] * len(day.hours))[h] = here
    clocks = [f"{hour.when.astimezone(plan.when.tzinfo):%H:%M}" for hour in day.hours]
    return {
        "clock": clocks,
        "now": next((h for h, hour in enumerate(day.hours) if hour.when == plan.when), None),
        "weather": [texts(weather(hour, plan)) for hour in day.hours],
        "wind": [[tenths(hour.wind_from_deg), hour.wind_m_s, hour.gust_m_s] for hour in day.hours],
        "dark": [int(hour.dark) for hour in day.hours],
        "sites": {str(i): _hours_of(row, plan, texts) for i, row in sorted(rows.items())},
        "spans": {
            str(i): [texts(words) for words in closed(row, day.hours, plan)] for i, row in sorted(rows.items())
        },
    }  # fmt: skip


def weather(hour: Hour, plan: Plan) -> str:
    """Say the weather of an hour."""
    display = plan.display
    heat = show(hour.temperature_k, "temperature", display)
    return f"{heat}, {wind(hour.wind_from_deg, hour.wind_m_s, hour.gust_m_s, plan)}{', dark' if hour.dark else ''}"


def wind(from_deg: float | None, speed_m_s: float | None, gust_m_s: float | None, plan: Plan) -> str:
    """Say a wind, its gusts with it."""
    if speed_m_s is None:
        return "wind not known"
    speed = show(speed_m_s, "wind", plan.display)
    gust = "" if gust_m_s is None else f", gusts {show(gust_m_s, 'wind', plan.display)}"
    if from_deg is None:
        return f"calm{gust}" if speed_m_s == 0 else f"wind {speed}{gust}, from where not known"
    return f"wind from {show_course(from_deg)} true {speed}{gust}"


def _hours_of(row: Sequence[SiteHour | None], plan: Plan, texts: Texts) -> dict[str, Any]:
    here = [SiteHour(site="") if one is None else one for one in row]
    return {
        "rate": [tenths(one.litres_per_hour) for one in here],
        "fill": [None if one.fill is None else round(one.fill * 100) for one in here],
        "fuel": [tenths(one.fuel_kg) for one in here],
        "margin": [tenths(one.margin_kg) for one in here],
        "line": [tenths(one.line_m) for one in here],
        "dense": [hundredths(one.density_altitude_m) for one in here],
        "in": [course(one.arrival_deg, plan, texts) for one in here],
        "out": [course(one.departure_deg, plan, texts) for one in here],
        "why": [_why(one, plan, texts) for one in here],
        "short": [texts(short(one.why[0].code)) if one.why else None for one in here],
        "care": [[texts(told(found, plan)) for found in one.cautions] for one in here],
    }  # fmt: skip


def course(course_deg: float | None, plan: Plan, texts: Texts) -> int | None:
    """Print a course as a pilot reads it."""
    return None if course_deg is None else texts(show_course(course_deg - plan.declination_deg))


def _why(here: SiteHour, plan: Plan, texts: Texts) -> int | None:
    if here.litres_per_hour is not None:
        return None
    return texts("; ".join(told(found, plan) for found in here.why) or "not known")


def closed(row: Sequence[SiteHour | None], day: Sequence[Hour], plan: Plan) -> list[str]:
    """Say from when to when a site is closed, and for what, by daylight; nothing where it is open all day."""

    def state(h: int) -> str | None:
        here = row[h]
        if day[h].dark or here is None or here.litres_per_hour is not None:
            return None
        return short(here.why[0].code) if here.why else "not known"

    clocks = [f"{hour.when.astimezone(plan.when.tzinfo):%H:%M}" for hour in day]
    found = []
    for word, same in groupby(range(len(row)), state):
        hours_ = list(same)
        if word is None:
            continue
        to = f" to {clocks[hours_[-1] + 1]}" if hours_[-1] + 1 < len(row) else " on"
        found.append(f"closed from {clocks[hours_[0]]}{to}: {word}")
    return found
