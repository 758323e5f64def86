"""The day as a picture: what each water gives in an hour against the hour, the light, and the plan's own hour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import numpy.typing as npt

from diproute.document.outlook import Day
from diproute.document.plan import Plan
from diproute.units import Display, show, unit_name
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import box, disc, halo, line, path, picture, words

WIDTH, HEIGHT = 640.0, 344.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 470.0, 40.0, 296.0
NAMED = 6  # waters drawn strong and named; the others are thin
ROW = 15.0  # from one name to the next
LETTERS = 22
READING = "A line is a water, by its best site in each hour. Between hollow discs it does not work. Shaded: dark."
TICK_HOURS = (1, 2, 3, 6, 12, 24)
# colour and dash of the first, second, … by their peak: told apart by either alone
LOOKS: tuple[tuple[str, str | None], ...] = (
    ("ink", None), ("shore", "9 4"), ("green", "2 3"), ("purple", "10 3 2 3"), ("quiet", "5 3"),
    ("deep", "12 3 2 3 2 3"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Curve:
    """One water through the day, in each hour by its best site."""

    name: str
    litres_per_hour: npt.NDArray[np.float64]  # one an hour; NaN: no site of it works

    @property
    def peak(self) -> float:
        """Most water an hour [L/h]."""
        return float(np.nanmax(self.litres_per_hour))


def day_curves(plan: Plan) -> tuple[Curve, ...]:
    """Give each water's best in every hour, the highest peak first; a water that never works has no curve."""
    hours = [] if plan.day is None else [{here.site: here.litres_per_hour for here in h.sites} for h in plan.day.hours]
    found = []
    for water in dict.fromkeys(site.water_id for site in plan.sites):
        mine = [site for site in plan.sites if site.water_id == water]
        rates = [[hour.get(site.id) for site in mine] for hour in hours]
        best = np.fmax.reduce(np.array(rates, dtype=np.float64).reshape(len(hours), len(mine)), axis=1)
        if np.isfinite(best).any():
            found.append(Curve(mine[0].water or "unnamed", best))
    return tuple(sorted(found, key=lambda curve: -curve.peak))


def day_picture(plan: Plan) -> str:
    """Draw water an hour through the day.

    Parameters
    ----------
    plan
        A plan with hours; they are written in the offset of its own time.

    Returns
    -------
    str
        SVG. A line breaks where no site of its water works, and ends there in a hollow disc. The dark is shaded on the
        day whose sunrise and sunset are known.
    """
    day, now, display = plan.day, plan.when, plan.display
    if day is None or not day.hours:
        raise ValueError("a plan without hours has no day to draw")
    drawn = day_curves(plan)
    times = [hour.when.astimezone(now.tzinfo) for hour in day.hours]
    start, end = times[0], max(times[-1], times[0] + timedelta(hours=1))
    across = _Hours(start, end)
    most = max((curve.peak for curve in drawn), default=0.0)
    up = Axis("volume", display, 0.0, max(1.0, most) * 1.08, BOTTOM, TOP, 5)
    strong, thin = drawn[:NAMED], drawn[NAMED:]
    parts = [
        words(LEFT, 13, "Water an hour through the day", font_weight="600"),
        words(LEFT - 6, TOP - 8, f"{unit_name('volume', display)}/h", at="end", fill="quiet", font_size=10),
        *_dark(day, across, now),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
    ]
    at = [across.at(when) for when in times]
    for curve in thin:
        parts += _line(at, [up.at(v) for v in curve.litres_per_hour], "line", None, 0.9)
    if across.start <= now <= across.end:
        x = across.at(now)
        parts += [
            line(x, TOP - 8, x, BOTTOM, stroke="ink", stroke_width=1),
            halo(x, TOP - 13, f"plan {now:%H:%M}", at="middle", font_size=10),
        ]
    for curve, (colour, dash) in reversed(list(zip(strong, LOOKS, strict=False))):
        parts += _line(at, [up.at(v) for v in curve.litres_per_hour], colour, dash, 2.0)
    for when, word in ((day.sunrise, "sunrise"), (day.sunset, "sunset"), (day.last_departure, "last departure")):
        if when is not None:
            parts += _upright(across, when.astimezone(now.tzinfo), word)
    parts += _names(strong, at, up)
    if thin:
        parts.append(words(RIGHT + 22, BOTTOM + 16, f"thin: {len(thin)} more waters", fill="quiet", font_size=10))
    parts += [
        line(LEFT, BOTTOM, RIGHT, BOTTOM, stroke="ink", stroke_width=1),
        *(words(LEFT - 6, y + 4, name, at="end", fill="quiet", font_size=10) for y, name in up.ticks),
        *(line(x, BOTTOM, x, BOTTOM + 4, stroke="ink", stroke_width=1) for x, _ in across.ticks),
        *(words(x, BOTTOM + 16, name, at="middle", fill="quiet", font_size=10) for x, name in across.ticks),
        words(LEFT, BOTTOM + 34, READING, fill="quiet", font_size=10),
    ]  # fmt: skip
    told = "; ".join(f"{curve.name} {_range(curve, display)}" for curve in strong)
    label = f"Water an hour from {start:%H:%M} to {end:%H:%M}: {told or 'no site works'}"
    return picture(WIDTH, HEIGHT, label, parts, kind="day")


@dataclass(frozen=True, slots=True)
class _Hours:
    """The axis of time."""

    start: datetime
    end: datetime

    def at(self, when: datetime) -> float:
        return LEFT + (when - self.start) / (self.end - self.start) * (RIGHT - LEFT)

    @property
    def ticks(self) -> list[tuple[float, str]]:
        hours = (self.end - self.start).total_seconds() / 3600
        step = next((h for h in TICK_HOURS if hours / h <= 8), TICK_HOURS[-1])
        midnight = self.start.replace(hour=0, minute=0, second=0, microsecond=0)
        found = []
        for i in range(int((self.end - midnight).total_seconds() / 3600 / step) + 1):
            when = midnight + timedelta(hours=i * step)
            if when >= self.start:
                found.append((self.at(when), f"{when:%-d %b}" if when.hour == 0 else f"{when:%H:%M}"))
        return found


def _dark(day: Day, across: _Hours, now: datetime) -> list[str]:
    """Shade before sunrise and after sunset of their own day; of other days nothing is said."""
    if day.sunrise is None or day.sunset is None:
        return []
    rise, sets = day.sunrise.astimezone(now.tzinfo), day.sunset.astimezone(now.tzinfo)
    midnight = rise.replace(hour=0, minute=0, second=0, microsecond=0)
    parts = []
    for first, last in ((midnight, rise), (sets, midnight + timedelta(days=1))):
        a, b = across.at(max(first, across.start)), across.at(min(last, across.end))
        if b > a:
            parts.append(box(a, TOP, b - a, BOTTOM - TOP, fill="clear"))
    return parts


def _upright(across: _Hours, when: datetime, word: str) -> list[str]:
    """Draw a line at a time, its word along it."""
    if not across.start <= when <= across.end:
        return []
    x = across.at(when)
    turn = f"rotate(-90 {x - 4:.1f} {BOTTOM - 6:.1f})"
    return [
        line(x, TOP, x, BOTTOM, stroke="line", stroke_width=0.9),
        halo(x - 4, BOTTOM - 6, f"{word} {when:%H:%M}", fill="quiet", font_size=10, transform=turn),
    ]


def _line(at: Sequence[float], heights: Sequence[float], colour: str, dash: str | None, width: float) -> list[str]:
    """Draw the working stretches of one curve; where it breaks, a hollow disc."""
    known = [math.isfinite(y) for y in heights]
    parts, ends = [], []
    run: list[tuple[float, float]] = []
    for i, (x, y) in enumerate(zip(at, heights, strict=True)):
        if known[i]:
            if not run and i:
                ends.append((x, y))
            run.append((x, y))
        if run and (not known[i] or i + 1 == len(at)):
            if not known[i]:
                ends.append(run[-1])
            if len(run) == 1:
                parts.append(disc(*run[0], 2, fill=colour))
            parts.append(path(run, fill="none", stroke=colour, stroke_width=width, stroke_dasharray=dash,
                              stroke_linejoin="round"))  # fmt: skip
            run = []
    return parts + [disc(x, y, 3, fill="page", stroke=colour, stroke_width=1.4) for x, y in dict.fromkeys(ends)]


def _names(curves: Sequence[Curve], at: Sequence[float], up: Axis) -> list[str]:
    """Name each curve at its end, pushed apart so that no two names meet."""
    ends = []
    for curve in curves:
        last = int(np.flatnonzero(np.isfinite(curve.litres_per_hour))[-1])
        ends.append((at[last], up.at(float(curve.litres_per_hour[last]))))
    order = sorted(range(len(curves)), key=lambda i: ends[i][1])
    places = [0.0] * len(curves)
    floor = TOP
    for i in order:
        places[i] = max(floor, ends[i][1])
        floor = places[i] + ROW
    ceiling = BOTTOM
    for i in reversed(order):
        places[i] = min(places[i], ceiling)
        ceiling = places[i] - ROW
    parts = []
    for i, curve in enumerate(curves):
        colour, dash = LOOKS[i]
        x, y = ends[i]
        parts.append(path(((x, y), (RIGHT + 5, y), (RIGHT + 14, places[i])), fill="none", stroke="line",
                          stroke_width=0.6))  # fmt: skip
        parts.append(line(RIGHT + 16, places[i], RIGHT + 40, places[i], stroke=colour, stroke_width=2,
                          stroke_dasharray=dash))  # fmt: skip
        name = curve.name if len(curve.name) <= LETTERS else f"{curve.name[: LETTERS - 1].rstrip()}…"
        parts.append(words(RIGHT + 45, places[i] + 4, name, fill=colour, font_size=10.5))
    return parts


def _range(curve: Curve, display: Display) -> str:
    low = float(np.nanmin(curve.litres_per_hour))
    closed = int(np.isnan(curve.litres_per_hour).sum())
    gap = f", closed in {closed} hours" if closed else ""
    return f"{show(low, 'volume', display, unit=False)} to {show(curve.peak, 'volume', display)}{gap}"
