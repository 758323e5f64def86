"""Where each layer came from: a row a file, with its date, its age at the plan's time and its vertical error."""

from __future__ import annotations

import re
from datetime import date

from diproute.document.ground import Layer
from diproute.document.plan import Plan
from diproute.units import show
from diproute.writing.map.markup import Markup, join, tag

HEADS = ("Layer", "File", "Date", "Age", "Vertical error", "Heights above", "Licence")
ROLES = {
    "elevation": "elevation", "canopy": "trees", "water": "water", "obstacles": "obstacles", "avoid": "areas to avoid",
    "drop": "drop", "weather": "weather",
}  # fmt: skip
NOT_STATED = "not stated"
_DAY = re.compile(r"\s*(\d{4}-\d{2}-\d{2})(?:$|[T\s])")


def table(plan: Plan) -> Markup:
    """Give the table of the layers of a plan."""
    head = tag("thead", tag("tr", *(tag("th", name, scope="col") for name in HEADS)))
    rows = [_row(layer, plan) for layer in plan.layers]
    if not rows:
        return tag("p", "The plan names no layer.", class_="quiet")
    inside = tag("table", head, tag("tbody", *rows), class_="plain sources")
    return tag("div", inside, class_="wide", tabindex="0", role="region", aria_label="Layers")


def _row(layer: Layer, plan: Plan) -> Markup:
    error = NOT_STATED if layer.vertical_error_m is None else show(layer.vertical_error_m, "height", plan.display)
    heights = layer.role in ("elevation", "canopy", "obstacles")
    name = join(tag("bdi", layer.file), None if layer.layer is None else join(", ", tag("bdi", layer.layer)))
    cells = (
        day_of(layer.current) or layer.current or NOT_STATED,
        age(layer.current, plan),
        error if heights else "–",
        (layer.vertical_datum or NOT_STATED) if layer.role == "elevation" else layer.vertical_datum or "–",
        layer.licence or NOT_STATED,
    )
    unknown = [cell in (NOT_STATED, "not known") for cell in cells]
    return tag(
        "tr",
        tag("th", ROLES.get(layer.role, layer.role), scope="row"),
        tag("td", name, class_="text"),
        *(tag("td", cell, class_="unknown" if not_told else None)
          for cell, not_told in zip(cells, unknown, strict=True)),
    )  # fmt: skip


def day_of(current: str | None) -> str | None:
    """Give the day of a date as a layer states it; None where it states none that can be read."""
    found = _DAY.match(current or "")
    return None if found is None else found[1]


def age(current: str | None, plan: Plan) -> str:
    """Say how old a layer is at the plan's time; a date that is not stated, or not readable, is not known."""
    day = day_of(current)
    if day is None:
        return "not known"
    try:
        days = (plan.when.date() - date.fromisoformat(day)).days
    except ValueError:
        return "not known"
    if days < 0:
        return "dated later than the plan"
    if days < 60:
        return f"{days} day{'' if days == 1 else 's'}"
    months = int(days / 30.4375)
    return f"{months} months" if months < 24 else f"{months // 12} years"
