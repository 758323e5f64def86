"""The tables of one site: the lines compared, load by load, approach and departure."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from diproute.document.plan import Plan
from diproute.document.site import LineChoice, Site, Way
from diproute.units import show, show_course, unit_name
from diproute.writing.map.packing import Texts, clock
from diproute.writing.reader import told

CALM_M_S: Final = 0.26  # half a knot: printed as 0 kt, so without a side


@dataclass(frozen=True, slots=True)
class Table:
    """A table in words: a heading a column; the first cell of each row is its heading."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    text: tuple[int, ...] = ()  # columns that hold sentences
    taken: int | None = None  # the row that the plan takes
    here: tuple[int, int] | None = None  # the row and the column (past the heading) that are the plan's

    def packed(self, texts: Texts) -> dict[str, Any]:
        """Pack it: headings by their numbers in the table of texts, cells as they are."""
        found: dict[str, Any] = {"heads": [texts(head) for head in self.heads], "rows": [list(r) for r in self.rows]}
        for key in ("text", "taken", "here"):
            value = getattr(self, key)
            if value is not None and value != ():
                found[key] = list(value) if isinstance(value, tuple) else value
        return found


def lines(site: Site, plan: Plan) -> Table | None:
    """Compare the carried lines, each with its reason; None where there was nothing to compare."""
    display = plan.display
    if len(site.lines) < 2:
        return None

    def row(choice: LineChoice) -> tuple[str, ...]:
        rate, seconds, margin = choice.litres_per_hour, choice.cycle_s, choice.margin_kg
        return (
            show(choice.length_m, "line", display),
            "–" if rate is None else show(rate, "volume", display, unit=False),
            "–" if seconds is None else clock(seconds),
            "–" if seconds is None else show(margin, "mass", display, unit=False),
            told(choice, plan),
        )

    heads = ("Line", f"Water/h, {unit_name('volume', display)}", "Cycle, min:s",
             f"Margin, {unit_name('mass', display)}", "")  # fmt: skip
    taken = next((i for i, choice in enumerate(site.lines) if choice.chosen), None)
    return Table(heads, tuple(row(choice) for choice in site.lines), text=(4,), taken=taken)


def loads(site: Site, plan: Plan) -> tuple[str, Table | None] | None:
    """Give the fuel cycle load by load: a sentence, and the table that it sums up where the margins are known."""
    sortie, display = site.sortie, plan.display
    if sortie is None or not sortie.loads_l:
        return None
    runs = [(show(litres, "volume", display), len(list(same))) for litres, same in groupby(sortie.loads_l)]
    words = ", ".join(f"{count} × {litres}" for litres, count in runs[:4]) + (" and on" if len(runs) > 4 else "")
    margins = sortie.margins_kg
    if not margins:
        return f"Load by load: {words}", None
    ends = f"margin {show(margins[0], 'mass', display)} at the first lift"
    if len(margins) > 1:
        ends += f", {show(margins[-1], 'mass', display)} at the last"
    heads = ("Lift", f"Load, {unit_name('volume', display)}", f"Margin, {unit_name('mass', display)}")
    rows = tuple(
        (str(i + 1), show(litres, "volume", display, unit=False), show(kg, "mass", display, unit=False))
        for i, (litres, kg) in enumerate(zip(sortie.loads_l, margins, strict=False))
    )
    return f"Load by load: {words}; {ends}", Table(heads, rows)


def courses(site: Site, plan: Plan) -> Table | None:
    """Give the chosen approach and departure with lift and wind; None where there is neither."""
    display = plan.display

    def row(name: str, way: Way) -> tuple[str, ...]:
        along = show(abs(way.headwind_m_s), "wind", display) + (" tail" if way.headwind_m_s < -CALM_M_S else "")
        return (
            name, show_course(way.course_magnetic_deg), show_course(way.course_deg),
            show(way.lift_m, "height", display), along,
            show(abs(way.crosswind_m_s), "wind", display) + side(way.crosswind_m_s), _surface(way, plan),
        )  # fmt: skip

    ways = [(name, way) for name, way in (("Approach", site.arrival), ("Departure", site.departure)) if way is not None]
    if not ways:
        return None
    heads = ("", "Magnetic", "True", "Lift", "Headwind", "Crosswind", f"{plan.limits.surface} surface")
    return Table(heads, tuple(row(name, way) for name, way in ways), text=(6,))


def _surface(way: Way, plan: Plan) -> str:
    surface = way.surface_8_to_1_m
    if surface is None:
        return "not known"
    if surface <= 0:
        return "clear"
    return f"{show(surface, 'height', plan.display)} into it, {show(way.surface_at_m, 'height', plan.display)} out"


def side(crosswind_m_s: float) -> str:
    """Say from which side a crosswind comes; nothing in a calm."""
    return "" if abs(crosswind_m_s) < CALM_M_S else " right" if crosswind_m_s > 0 else " left"
