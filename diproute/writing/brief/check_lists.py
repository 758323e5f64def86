"""Check lists in the trade's order, each item with where it comes from.

No published list of them in this order was found. An item that restates print names it; the others are common practice
without a published source, and every crew's own list comes before these.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_course, show_down, show_share, show_time

PRACTICE: Final = "common practice, no published source"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to do or to look at."""

    text: str
    source: str = PRACTICE


@dataclass(frozen=True, slots=True)
class CheckList:
    """One list."""

    title: str
    items: tuple[Item, ...]


def check_lists(plan: Plan, first: Site | None) -> tuple[CheckList, ...]:
    """Give the lists with the plan's own settings filled in.

    Parameters
    ----------
    plan
        The plan.
    first
        The site whose settings are filled in; None: none is suitable, and the settings are left open.
    """
    return (
        _rigging(plan, first),
        _releases(),
        _power(plan, first),
        _first_look(plan),
        _dip(plan, first),
        _drop(plan),
        _empty(plan),
        _end_of_day(first),
    )


def _rigging(plan: Plan, first: Site | None) -> CheckList:
    display, bucket = plan.display, plan.bucket
    set_to = "as the load sheet says" if first is None or first.load is None else show_share(first.load.fill)
    line = None if first is None else first.line.carried_m
    mass = f"{show(bucket.empty_kg, 'mass', display)} empty with head and rigging"
    gear = f", gear {show(bucket.gear_kg, 'mass', display)}" if bucket.gear_kg else ""
    items = [
        Item(f"Masses known and on the load sheet: bucket {mass}{gear}; the line's as weighed."),
        Item("Bucket, suspension and head: no tear, kink, chafe or missing pin; the suspension lies untwisted."),
        Item(f"Bucket setting: {set_to}. Every adjuster at one and the same setting."),
        Item("Valve opens and shuts fully; it is shut and holds."),
    ]
    if line is None:
        items.append(Item("Line: length and fittings as the site asks."))
    elif line > 0:
        items += [
            Item(f"Line {show(line, 'line', display)}: looked over from end to end, fittings rated for the load."),
            Item(
                "Line laid out ahead of the aircraft or to the pilot's side, always in view; never under the tail.",
                "operator's rule in an accident report; ATSB AO-2015-147 (bucket on the ground, 100-ft line)",
            ),
        ]
    else:
        items.append(Item("Bucket on the belly hook, no line: suspension clear of skids or wheels."))
    items += [
        Item("Electrical plugs: slack enough at full stretch that no load comes on the cable."),
        Item("Shackles and hook gates closed and secured; nothing can open by itself."),
        Item("Mirror, load meter and counter work."),
    ]
    return CheckList("Bucket and line before flight", tuple(items))


def _releases() -> CheckList:
    cited = "14 CFR 133.41(c)(6): released with each control before a flight"
    return CheckList(
        "Releases",
        (
            Item("Hook on the aircraft: opened with each control, several times, with the load moved on it.", cited),
            Item("Manual release: opened the same way.", cited),
            Item("Hook or head at the line's end: opened with its own control."),
            Item("All gates closed again by hand and looked at; arming switch where the manual wants it."),
            Item(
                "All aboard and on the ground know: arming, loading, release, emergency and manual release.",
                "Transport Canada TP 4818, exercise 28",
            ),
        ),
    )


def _power(plan: Plan, first: Site | None) -> CheckList:
    display = plan.display
    items = [
        Item("Hover chart, weight and balance worked again for this air, fuel and kit.", "flight manual"),
        Item("Hover power looked at against power available before going on.",
             "Helicopter Flying Handbook FAA-H-8083-21B, chapter 9"),
        Item("First load part full: lift to a low hover, power in hand confirmed, then on.",
             "US Army TC 1-211, as restated (hover check with the load)"),
    ]  # fmt: skip
    if first is not None and first.load is not None:
        fuel = show(first.load.fuel_kg, "mass", display)
        items.insert(
            1,
            Item(f"Fuel at the start {fuel}; the reserve, {show_time(plan.limits.reserve_s)}, is not planned away."),
        )
        table = first.go_no_go
        if table is not None and table.holds_to_k is not None:
            warmest = show_down(table.holds_to_k, "temperature", display)
            more = " or more" if table.edge else ""
            items.append(
                Item(f"At the first dip warmer than {warmest}{more} over the water: a smaller setting, or less fuel.",
                     "this plan's go/no-go table")
            )  # fmt: skip
    return CheckList("Power and first load", tuple(items))


def _first_look(plan: Plan) -> CheckList:
    depth = show(plan.bucket.depth_needed_m, "depth", plan.display)
    notice = "interagency safety notice of 2011, as reported"
    return CheckList(
        "First look at a dip",
        (
            Item("Wires and towers: looked for from high, then from low; follow every line to its supports."),
            Item(
                f"Depth for the bucket, {depth} at least; bottom, stumps, snags, drowned trees at a high level.", notice
            ),
            Item("Current: fast water can roll a bucket through its own suspension.", notice),
            Item("Swimmers, boats, anglers, animals, intakes, fences: clear, and kept clear."),
            Item(
                f"Nobody within {show(plan.limits.people_distance_m, 'line', plan.display)} of the hover."
                if plan.limits.people_distance_m is not None
                else "Nobody near the hover.",
                "AIM 10-2-3: people 200 ft from a landing zone",
            ),
            Item("Room to swing the tail and to go round; a way out ahead that needs no turn back."),
            Item("Wind seen on the water, smoke and trees; the approach ends into it."),
        ),
    )


def _dip(plan: Plan, first: Site | None) -> CheckList:
    display = plan.display
    items = [
        Item("Over glassy water height cannot be judged: keep the shore in view, go slowly, use what floats.",
             "Helicopter Flying Handbook FAA-H-8083-21B, chapter 13 (over water the eye reads too high)"),
        Item(
            f"No descent above {show(plan.limits.vertical_descent_m_s, 'vertical', display)} when nearly straight down."
            if plan.limits.vertical_descent_m_s is not None
            else "No fast descent when nearly straight down.",
            "Helicopter Flying Handbook FAA-H-8083-21B, chapter 11 (vortex ring from 300 ft/min)",
        ),
        Item("Bucket in beside the aircraft and in view, not dragged; hook over the bucket before it fills."),
        Item("Lift straight up until bucket and line hang free and the water has run off; power looked at; then move."),
        Item("Snagged, turning or too heavy: set down, drop the water, or release. Do not troubleshoot in the hover."),
    ]  # fmt: skip
    if first is not None and first.arrival is not None and first.departure is not None:
        way = [show_course(course.course_magnetic_deg) for course in (first.arrival, first.departure)]
        lift = show(first.departure.lift_m, "height", display)
        items.insert(
            1,
            Item(f"At {first.name}: in on {way[0]}, out on {way[1]} magnetic, {lift} straight up before moving off.",
                 "this plan"),
        )  # fmt: skip
    return CheckList("Dip", tuple(items))


def _drop(plan: Plan) -> CheckList:
    return CheckList(
        "Drop",
        (
            Item("Crew on the ground spoken to and clear; they know the way out and report a low drop at once.",
                 "NWCG Incident Response Pocket Guide, page 57"),
            Item("Into wind, with a way out ahead, downhill or level."),
            Item(
                f"Bucket no lower than {show(plan.limits.drop_height_m, 'height', plan.display)} above trees and "
                "ground; rotor wash breaks branches and fans fire.",
                "this plan's drop height; dispatch guide, as restated",
            ),
            Item("Nothing dropped over people, vehicles or hose lines with crews on them."),
            Item("Low over fire expect violent air.", "NWCG glossary, vortex turbulence"),
        ),
    )  # fmt: skip


def _empty(plan: Plan) -> CheckList:
    display, helicopter = plan.display, plan.helicopter
    limits = [
        f"{name} {show(value, 'speed', display)}"
        for name, value in (("on the belly hook", helicopter.empty_belly_m_s), ("on a line", helicopter.empty_line_m_s))
        if value is not None
    ]
    speed = f"No faster than the bucket's and the manual's limit ({', '.join(limits)})." if limits else (
        "No faster than the bucket's and the manual's limit, which this plan was not given.")  # fmt: skip
    case = "TSB A05P0103; NTSB SEA98LA017 (light load into the tail rotor)"
    return CheckList(
        "Flight with the empty bucket",
        (
            Item(speed, case),
            Item("A light bucket or bare line rises and trails towards the tail rotor: gentle turns, no fast descent.",
                 case),
            Item("Swinging: slow down or turn gently; release before control is lost.",
                 "Transport Canada TP 4818, exercise 28"),
            Item("Never over people, roads or buildings."),
        ),
    )  # fmt: skip


def _end_of_day(first: Site | None) -> CheckList:
    salt = [Item("Salt water today: engine, airframe, hook and bucket rinsed as the manual says.",
                 "US Army TM 1-1520-240-10, as restated (salt spray takes power)")]  # fmt: skip
    rinse = [] if first is not None and not first.salt else salt
    invasive = "western US panel on aquatic nuisance species: dry at least 5 days"
    return CheckList(
        "End of the day, and before another water",
        (
            *rinse,
            Item("Bucket and snorkel drained where they were filled, mud and plants off, cleaned, dried.", invasive),
            Item("Releases, suspension, valve and line looked over; faults written up."),
            Item("Dips, loads and flight time logged; waters used and what was found there passed on."),
        ),
    )
