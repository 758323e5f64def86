"""The page's frame: the map with its tools, the hours and dials under it, and the parts beside it."""

from __future__ import annotations

from typing import Any, Final

from diproute.document.plan import Plan
from diproute.writing.map import outlook, panel, signs
from diproute.writing.map.markup import Markup, join, tag

SITE, RANKING = "site", "ranking"


def body(plan: Plan) -> Markup:
    """Give the page's body, without its scripts."""
    return join(
        Markup(_PATTERNS),
        tag("a", "To the ranking", href="#side", class_="skip"),
        tag("main", _sheet(plan), _moment(plan), _side(plan)),
        tag("div", id="paper"),
    )


def _sheet(plan: Plan) -> Markup:
    """Give the map's sheet: frame, tools, north and wind, readout, and what only paper shows."""
    tools = (
        ("measure", "Measure", "Distance, course and time between two points; a right click or a long press begins it"),
        ("rings", "Rings", "Rings of 1, 2, 5 and 10 NM round the chosen site"),
        ("sun", "Sunlight", "Strong contrast for a screen in the sun"),
        ("print", "Print", "The map at a round scale, then a page for each site that is compared or chosen"),
    )
    buttons = [
        tag("button", name, type="button", id=key, title=hint, aria_pressed=None if key == "print" else "false")
        for key, name, hint in tools
    ]
    forms = (("ddm", "degrees, minutes"), ("dms", "degrees, minutes, seconds"), ("mgrs", "MGRS"))
    form = tag("select", *(tag("option", name, value=key) for key, name in forms), id="form",
               aria_label="How places are written")  # fmt: skip
    return tag(
        "section",
        tag("div", id="planMap", role="application", aria_label="Map of the dip sites"),
        tag("div", id="frame", aria_hidden="true"),
        tag("div", *buttons, class_="tools", role="group", aria_label="Tools of the map"),
        tag("div", tag("div", signs.north(plan.declination_deg), _declination(plan)), tag("div", id="wind"),
            class_="north"),
        tag("p", id="measured", class_="measured", aria_live="polite", hidden=True),
        tag("div", tag("p", "Invented data", class_="stamp") if plan.invented else None,
            tag("div", tag("p", "Point at the map: place and heights stand here.", id="readout-said"), form,
                class_="readout", id="readout"), class_="corner"),
        tag("div", _paper_key(), tag("p", panel.foot(plan), tag("span", id="scale-said"), class_="foot"),
            class_="under"),
        class_="sheet",
        aria_label="Map",
    )  # fmt: skip


def _declination(plan: Plan) -> Markup:
    """Give the declination; a phone shows its value alone, the legend says the rest there."""
    word, value, day = panel.declination(plan)
    return join(tag("p", word, class_="more"), tag("p", value), tag("p", day, class_="more"))


def _paper_key() -> Markup:
    """Give the short key that stands under a printed map."""
    signs_ = (
        ("sites", "suitable, ranked"), ("refused", "unsuitable"), ("legs", "loaded, empty leg"), ("wires", "wires"),
        ("obstacles", "obstacle"), ("avoid", "closed to a load"), ("water", "water"), ("left-out", "left out"),
        ("unknown", "not known"),
    )  # fmt: skip
    items = (tag("span", tag("span", class_=f"swatch s-{key}", aria_hidden="true"), name) for key, name in signs_)
    return tag("p", *items, class_="paper-key")


def _moment(plan: Plan) -> Markup:
    """Give the strip under the map: the plan's own time, the hours, the dials."""
    hours = plan.day is not None and bool(plan.day.hours)
    grid = getattr(plan, "what_if", None) is not None
    head = tag(
        "div",
        tag("button", f"Plan {plan.when:%H:%M}", type="button", id="moment-plan", aria_pressed="true"),
        tag("p", id="moment-said", aria_live="polite"),
        _sun(plan),
        class_="moment-head",
    )
    return tag("section", head, _hours() if hours else None, _dials() if grid else None, class_="moment", id="moment",
               aria_label="Hours and weather")  # fmt: skip


def _sun(plan: Plan) -> Markup | None:
    """Say the last departure beside the hours."""
    words = outlook.last_departure(plan)
    return None if words is None else tag("p", words, class_="last")


def _hours() -> Markup:
    slider = tag("input", type="range", id="hour", min="0", step="1", aria_label="Hour of the day")
    reel = tag("div", tag("div", id="hour-scale", class_="scale", aria_hidden="true"), slider, id="hour-reel",
               class_="reel")  # fmt: skip
    return tag("div", reel, class_="hours")


def _dials() -> Markup:
    kinds = (("from", "Wind from"), ("speed", "Wind speed"), ("heat", "Temperature"))
    dials = [
        tag(
            "div",
            tag("label", name, " ", tag("output", id=f"told-{key}"), for_=f"dial-{key}"),
            tag("div", tag("div", id=f"scale-{key}", class_="rail", aria_hidden="true"),
                tag("input", type="range", id=f"dial-{key}", min="0", step="1"), class_="track"),
            class_="dial",
        )
        for key, name in kinds
    ]  # fmt: skip
    note = "What if: weathers that were worked out, no others. Hatched: beyond them nothing is known."
    return tag("div", tag("p", note, class_="quiet"), *dials, class_="dials idle", id="dials", role="group",
               aria_label="What if the weather were another")  # fmt: skip


def _side(plan: Plan) -> Markup:
    """Give the tabs and their parts; the card of the chosen site is one of them."""
    day = join(outlook.through_the_day(plan), outlook.together(plan), outlook.duty(plan))
    ranking = join(panel.title(plan), panel.ranking(plan), panel.refused())
    parts = [
        (RANKING, "Ranking", ranking),
        (SITE, "Dip site", _card(plan)),
        ("compare", "Compare", join(tag("h2", "Compare"), tag("div", id="compare"))),
        *([("day", "Day", day)] if day else []),
        ("unknown", "Not known", panel.unknown()),
        ("layers", "Layers", panel.layers(plan)),
        ("legend", "Legend", panel.legend(plan)),
        ("notes", "Cautions", panel.notes(plan)),
    ]
    tabs = [
        tag("button", name, type="button", role="tab", id=f"tab-{key}", data_part=key, aria_controls=_id(key),
            aria_selected=str(key == RANKING).lower(), tabindex="0" if key == RANKING else "-1")
        for key, name, _ in parts
    ]  # fmt: skip
    panels = [
        tag("div", inside, role="tabpanel", id=_id(key), aria_labelledby=f"tab-{key}", tabindex="0",
            class_="part open" if key == RANKING else "part")
        for key, _, inside in parts
    ]  # fmt: skip
    handle = tag("div", role="slider", tabindex="0", id="handle", class_="handle", aria_label="Height of this sheet",
                 aria_valuemin="0", aria_valuemax="2", aria_valuenow="0", aria_orientation="vertical")  # fmt: skip
    return tag("section", handle, tag("div", *tabs, role="tablist", class_="tabs", aria_label="Parts of the plan"),
               *panels, class_="side", id="side", data_part=RANKING, aria_label="Plan")  # fmt: skip


def _id(key: str) -> str:
    return "card" if key == SITE else f"part-{key}"


def _card(plan: Plan) -> Markup:
    if not plan.sites:
        return tag("p", "The plan has no dip site.")
    tools = tag("p", tag("button", "Compare this site", type="button", id="compare-add", aria_pressed="false"),
                class_="card-tools")  # fmt: skip
    return join(tag("div", id="card-head"), tools, tag("div", id="card-body"))


def _hatch(name: str, role: str, gap: int, width: float, *, both: bool = False) -> str:
    lines = f'<path d="M0 {gap}L{gap} 0M-1 1L1 -1M{gap - 1} {gap + 1}L{gap + 1} {gap - 1}"/>'
    other = f'<path d="M0 0L{gap} {gap}"/>' if both else ""
    return (
        f'<pattern id="{name}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse">'
        f'<g stroke="var(--{role})" stroke-width="{width}" fill="none">{lines}{other}</g></pattern>'
    )


_PATTERNS: Final[Any] = (
    '<svg class="patterns" width="0" height="0" aria-hidden="true"><defs>'
    + _hatch("hatch-hard", "hazard", 7, 1.8)
    + _hatch("hatch-soft", "hazard", 16, 0.9)
    + _hatch("hatch-soft-hazard", "hazard", 7, 0.8)
    + _hatch("hatch-block", "hazard", 10, 1.8, both=True)
    + _hatch("hatch-line", "line", 5, 0.9)
    + _hatch("hatch-ink", "ink", 4, 1.0)
    + "</defs></svg>"
)
