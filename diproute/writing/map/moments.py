"""The plan in other hours and other weather, packed: what each site gives then, or why it gives nothing."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from itertools import groupby
from typing import Any, Final, Protocol

import numpy as np

from diproute.document.findings import Finding
from diproute.document.outlook import Hour, SiteHour
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_course
from diproute.wording.short import short
from diproute.writing.map.packing import Texts, tenths
from diproute.writing.reader import told

MOST: Final = 32_767  # of a 16-bit whole number
NONE: Final = 255  # no entry of a table


class WhatIfSite(Protocol):
    """What one site gives in each weather of the grid, temperature by temperature; None litres: closed."""

    @property
    def site(self) -> str:
        """Its id."""

    @property
    def litres_per_hour(self) -> Sequence[float | None]:
        """Water an hour."""

    @property
    def fill(self) -> Sequence[float | None]:
        """Bucket setting."""

    @property
    def line_m(self) -> Sequence[float | None]:
        """Line."""

    @property
    def approach_deg(self) -> Sequence[float | None]:
        """Course of the approach [deg true]."""

    @property
    def departure_deg(self) -> Sequence[float | None]:
        """Course of the departure [deg true]."""

    @property
    def why(self) -> Sequence[int | None]:
        """Why it is closed, as the number of a reason."""


class WhatIf(Protocol):
    """The grid of weathers that was worked; nothing stands between its nodes and nothing beyond them."""

    @property
    def wind_from_deg(self) -> Sequence[float | None]:
        """Where the wind of each wind node comes from; None: calm."""

    @property
    def wind_m_s(self) -> Sequence[float]:
        """Its speed."""

    @property
    def temperature_k(self) -> Sequence[float]:
        """Temperatures at the reporting station."""

    @property
    def reasons(self) -> Sequence[Finding]:
        """Why a site is closed."""

    @property
    def sites(self) -> Sequence[WhatIfSite]:
        """The sites."""


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
        "wind": [[tenths(hour.wind_from_deg), hour.wind_m_s] for hour in day.hours],
        "dark": [int(hour.dark) for hour in day.hours],
        "sites": {str(i): _hours_of(row, plan, texts) for i, row in sorted(rows.items())},
        "spans": {
            str(i): [texts(words) for words in closed(row, day.hours, plan)] for i, row in sorted(rows.items())
        },
    }  # fmt: skip


def weather(hour: Hour, plan: Plan) -> str:
    """Say the weather of an hour."""
    display = plan.display
    gust = "" if hour.gust_m_s is None else f", gusts {show(hour.gust_m_s, 'wind', display)}"
    heat = show(hour.temperature_k, "temperature", display)
    return f"{heat}, {wind(hour.wind_from_deg, hour.wind_m_s, plan)}{gust}{', dark' if hour.dark else ''}"


def wind(from_deg: float | None, speed_m_s: float | None, plan: Plan) -> str:
    """Say a wind."""
    if speed_m_s is None:
        return "wind not known"
    speed = show(speed_m_s, "wind", plan.display)
    if from_deg is None:
        return "calm" if speed_m_s == 0 else f"wind {speed}, from where not known"
    return f"wind from {show_course(from_deg)} true {speed}"


def _hours_of(row: Sequence[SiteHour | None], plan: Plan, texts: Texts) -> dict[str, Any]:
    here = [SiteHour(site="") if one is None else one for one in row]
    return {
        "rate": [tenths(one.litres_per_hour) for one in here],
        "fill": [None if one.fill is None else round(one.fill * 100) for one in here],
        "fuel": [tenths(one.fuel_kg) for one in here],
        "margin": [tenths(one.margin_kg) for one in here],
        "line": [tenths(one.line_m) for one in here],
        "dense": [None if one.density_altitude_m is None else round(one.density_altitude_m * 10) for one in here],
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


def what_if(plan: Plan, texts: Texts) -> dict[str, Any] | None:
    """Pack the grid of other weathers.

    Parameters
    ----------
    plan
        The plan; one without a grid has no dials.
    texts
        The page's table of texts.

    Returns
    -------
    dict or None
        The nodes in words, the tables that the cells point into, and for each site its cells in base64: 16-bit water
        an hour (a closed one is −1 less the number of its reason), then a byte each for setting, line and courses.
    """
    grid: WhatIf | None = getattr(plan, "what_if", None)
    if grid is None or not grid.sites:
        return None
    display = plan.display
    number = {site.id: i for i, site in enumerate(plan.sites)}
    highest = max((rate for one in grid.sites for rate in one.litres_per_hour if rate is not None), default=0.0)
    step = max(1, math.ceil(highest / MOST))
    tables = {key: _Table() for key in ("fill", "line", "course")}
    cells = {str(number[one.site]): _cells(one, step, tables) for one in grid.sites if one.site in number}
    speeds = sorted({speed for speed, from_deg in zip(grid.wind_m_s, grid.wind_from_deg, strict=True)
                     if from_deg is not None})  # fmt: skip
    towards = sorted({from_deg for from_deg in grid.wind_from_deg if from_deg is not None})
    return {
        "from": [texts(show_course(value) + " true") for value in towards],
        "fromDeg": towards,
        "speed": [texts(show(value, "wind", display)) for value in speeds],
        "speedMs": speeds,
        "heat": [texts(show(value, "temperature", display)) for value in grid.temperature_k],
        "heatK": list(grid.temperature_k),
        "node": _nodes(grid, towards, speeds),
        "winds": len(grid.wind_m_s),
        "step": step,
        "fill": [round(value * 100) for value in tables["fill"].values],
        "line": [tenths(value) for value in tables["line"].values],
        "course": [course(value, plan, texts) for value in tables["course"].values],
        "why": [[texts(short(found.code)), texts(told(found, plan))] for found in grid.reasons],
        "sites": cells,
    }


class _Table:
    """The few values that many cells have."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self._numbers: dict[float, int] = {}

    def number(self, value: float | None) -> int:
        if value is None:
            return NONE
        if value not in self._numbers:
            if len(self.values) == NONE:  # a plan has 72 courses, a few lines and settings
                return NONE
            self._numbers[value] = len(self.values)
            self.values.append(value)
        return self._numbers[value]


def _nodes(grid: WhatIf, towards: Sequence[float], speeds: Sequence[float]) -> list[list[int | None]]:
    """Give the wind node of each direction (rows) and speed (columns); the last row is calm. None: it was not worked."""
    place = {pair: i for i, pair in enumerate(zip(grid.wind_from_deg, grid.wind_m_s, strict=True))}
    calm = next((i for i, from_deg in enumerate(grid.wind_from_deg) if from_deg is None), None)
    return [[place.get((a, v)) for v in speeds] for a in towards] + [[calm]]


def _cells(one: WhatIfSite, step: int, tables: dict[str, _Table]) -> str:
    rates = [
        -1 - (0 if why is None else why) if rate is None else round(rate / step)
        for rate, why in zip(one.litres_per_hour, one.why, strict=True)
    ]
    columns = [
        [tables[key].number(value) for value in values]
        for key, values in (
            ("fill", one.fill), ("line", one.line_m), ("course", one.approach_deg), ("course", one.departure_deg)
        )
    ]  # fmt: skip
    packed = np.array(rates, dtype="<i2").tobytes() + np.array(columns, dtype=np.uint8).tobytes()
    return base64.b64encode(packed).decode("ascii")

