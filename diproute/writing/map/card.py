"""One site, packed: what its card says and draws, and what the ranking and the map need of it."""

from __future__ import annotations

from typing import Any

from diproute.document.findings import Finding
from diproute.document.plan import Plan
from diproute.document.site import Load, Sector, Site, Thing
from diproute.units import Display, show, show_course, show_share, show_time
from diproute.wording import CODES, label
from diproute.wording.short import short
from diproute.writing.drawings import cycle_bar, load_stair
from diproute.writing.drawings.rose import summary
from diproute.writing.map import flown, legs, shapes, tables
from diproute.writing.map.outlook import between, range_of
from diproute.writing.map.packing import Texts, deltas, hundredths, tenths
from diproute.writing.map.worst import first_worst
from diproute.writing.reader import altitude, told

Pair = tuple[str, str]


def packed(site: Site, plan: Plan, texts: Texts, ferries: dict[str, int]) -> dict[str, Any]:
    """Pack a site.

    Parameters
    ----------
    site
        The site.
    plan
        The plan it belongs to.
    texts
        The page's table of texts.
    ferries
        The number of each packed ferry by its id.

    Returns
    -------
    dict
        JSON-ready; sentences by their numbers in the table of texts, numbers for sorting and drawing in SI.
    """
    display = plan.display
    load, sortie = site.load, site.sortie
    home = [] if site.ferry is None else [site.ferry.from_base, site.ferry.to_base]
    strays = range_of(site, plan)
    return {
        "id": site.id,
        "name": site.name,
        "water": site.water,
        "waterId": texts(site.water_id),
        "salt": int(site.salt),
        "at": [site.lat, shapes.beside(site.lon, plan)],
        "rank": site.rank,
        "band": site.rank_band,
        "short": texts.maybe(short(site.refused[0].code) if site.refused else None),
        "where": texts(_where(site, display)),
        "rate": tenths(None if sortie is None else sortie.litres_per_hour),
        "fill": None if load is None else round(load.fill * 100),
        "fuel": tenths(None if load is None else load.fuel_kg),
        "margin": tenths(None if load is None else load.margin_kg),
        "line": tenths(site.line.carried_m),
        "needed": tenths(site.line.needed_m),
        "cycle": tenths(None if site.cycle is None else site.cycle.seconds),
        "far": tenths(max((leg.length_m for leg in site.routes if leg.leg == "loaded"), default=None)),
        "dense": hundredths(site.density_altitude_m),
        "depth": tenths(site.depth_m),
        "range": None if strays is None else [tenths(strays.low_litres_per_hour), tenths(strays.high_litres_per_hour),
                                              texts(between(strays, plan))],
        "in": None if site.arrival is None else texts(show_course(site.arrival.course_magnetic_deg)),
        "out": None if site.departure is None else texts(show_course(site.departure.course_magnetic_deg)),
        "refused": [texts(told(found, plan)) for found in site.refused],
        "care": _told(site.cautions, plan, texts),
        "watch": [texts(told(found, plan)) for found in first_worst(site)],
        "numbers": [[texts(name), value] for name, value in _numbers(site, plan)],
        "open": texts(summary(site, plan.declination_deg) + "."),
        "sectors": texts.maybe(_sectors(site, plan)),
        "rose": _rose(site, texts),
        "courses": _table(tables.courses(site, plan), texts),
        "gates": _table(flown.gates(site, plan), texts),
        "legs": [legs.packed(leg, plan, texts) for leg in site.routes],
        "ferries": [ferries[id_] if id_ is not None else None for id_ in home],
        "cycleParts": _cycle(site, plan, texts),
        "stair": None if load is None else _stair(load, display, texts),
        "curve": _curve(site),
        "goNoGo": _table(flown.go_no_go(site, plan), texts),
        "holds": None if site.go_no_go is None else texts(flown.holds(site.go_no_go, display)),
        "loads": _loads(site, plan, texts),
        "lines": _table(tables.lines(site, plan), texts),
        "score": _score(site, plan, texts),
    }  # fmt: skip


def _told(found: tuple[Finding, ...], plan: Plan, texts: Texts) -> list[list[int]]:
    """Give cautions with their kinds, by which a reader filters."""
    return [[texts(kind(one.code)), texts(told(one, plan))] for one in found]


def kind(code: str) -> str:
    """Say what kind of caution a code is; one of a later release has no word of its own."""
    said = CODES.get(code)
    return said.meaning if said is not None else "another caution"


def _table(found: tables.Table | None, texts: Texts) -> dict[str, Any] | None:
    return None if found is None else found.packed(texts)


def _where(site: Site, display: Display) -> str:
    return f"water at {_level(site, display)}; {site.water_kind}{', salt' if site.salt else ''}, {site.chosen_for}"


def _level(site: Site, display: Display) -> str:
    """Print the water level, both ends of it where they differ in print."""
    low, high = (show(value, "height", display) for value in (site.level_low_m, site.elevation_m))
    told_high = altitude(site.elevation_m, display)
    return told_high if site.level_low_m is None or low == high else f"{low} to {told_high}"


def _numbers(site: Site, plan: Plan) -> list[Pair]:
    display, load, sortie = plan.display, site.load, site.sortie
    found: list[Pair] = []
    if sortie is not None:
        name = "Water an hour" if site.rank is not None else "Water an hour, were it not refused"
        found.append((name, show(sortie.litres_per_hour, "volume", display)))
    if load is not None:
        found += [
            ("A load", f"{show(load.water_l, 'volume', display)}, {show(load.water_kg, 'mass', display)}"),
            ("Bucket setting", show_share(load.fill)),
        ]
    carried = "none is long enough" if site.line.carried_m is None else show(site.line.carried_m, "line", display)
    found.append(("Line", f"{carried} ({show(site.line.needed_m, 'line', display)} needed)"))
    if site.cycle is not None:
        found.append(("Cycle", show_time(site.cycle.seconds)))
    found.append(("Density altitude", show(site.density_altitude_m, "height", display)))
    if load is not None:
        found += [
            ("Fuel at the start", show(load.fuel_kg, "mass", display)),
            ("Decided by", f"{label(load.governed_by, display)}, at {label(load.place, display)}"),
            ("Margin", show(load.margin_kg, "mass", display)),
        ]
    if sortie is not None:
        found += [
            ("Cycles on the fuel", f"{sortie.cycles} in {show_time(sortie.seconds)}"),
            ("First drop after", show_time(sortie.first_drop_seconds)),
            *_uncertain(site, plan),
            *([("Note", told(sortie.note, plan))] if sortie.note is not None else []),
        ]
    found += [
        ("Pressure altitude", show(site.pressure_altitude_m, "height", display)),
        ("Temperature", show(site.temperature_k, "temperature", display)),
        ("Shore", f"{show(site.shore_clearance_m, 'line', display)} away"),
        ("Depth", show(site.depth_m, "depth", display)),
    ]
    asks = site.line.governed_by
    if asks is not None and (site.line.needed_m is None or site.line.needed_m > 0):
        found.append(("Asks for the line", _thing(asks, plan)))
    return found


def _uncertain(site: Site, plan: Plan) -> list[Pair]:
    strays = range_of(site, plan)
    if strays is None:
        return []
    shares = f"first in {show_share(strays.first_share)}, works in {show_share(strays.works_share)} of the cases"
    hovers = (
        []
        if strays.hovers_share is None
        else [("First load hovers in", f"{show_share(strays.hovers_share)} of the cases")]
    )
    return [("Nine cases in ten give", between(strays, plan)), ("Uncertainty", shares), *hovers]


def _thing(thing: Thing, plan: Plan) -> str:
    bearing = show_course(thing.bearing_deg - plan.declination_deg)
    return f"{thing.what}, {show(thing.distance_m, 'line', plan.display)} out on {bearing} magnetic"


def _rose(site: Site, texts: Texts) -> dict[str, Any] | None:
    """Give the directions of a rose, columns beside each other."""
    if not site.directions:
        return None
    several = site.directions
    even = all(abs(one.course_deg - i * 360.0 / len(several)) < 0.05 for i, one in enumerate(several))
    way = [None if one is None else [one.course_deg, one.course_magnetic_deg] for one in (site.arrival, site.departure)]
    return {
        "count": len(several),
        "at": None if even else [one.course_deg for one in several],
        "in": [tenths(one.arrival_lift_m) for one in several],
        "out": [tenths(one.departure_lift_m) for one in several],
        "state": "".join(str(int(one.open) + 2 * int(one.known)) for one in several),
        "inThing": [one.arrival_thing for one in several],
        "outThing": [one.departure_thing for one in several],
        "judged": site.open_share is not None,
        "things": [_thing_packed(thing, texts) for thing in site.things],
        "wind": [site.wind.from_deg, site.wind.speed_m_s],
        "ways": way,
    }


def _thing_packed(thing: Thing, texts: Texts) -> list[Any]:
    unsure = ", not verified" if thing.unverified else ""
    what = f"{thing.what}{', height assumed' if thing.assumed_m is not None else ''}{unsure}"
    return [texts(what), tenths(thing.distance_m), tenths(thing.bearing_deg), tenths(thing.height_m), thing.obstacle]


def _sectors(site: Site, plan: Plan) -> str | None:
    sectors = ", ".join(_sector(s, plan) for s in site.sectors)
    return f"Open sectors, seen from the water, magnetic: {sectors}." if sectors else None


def _sector(sector: Sector, plan: Plan) -> str:
    if (sector.to_deg - sector.from_deg) % 360 == 0:
        return "the whole circle"
    first, last = (show_course(edge - plan.declination_deg) for edge in (sector.from_deg, sector.to_deg))
    return f"{first} to {last}"


def _cycle(site: Site, plan: Plan, texts: Texts) -> list[list[Any]] | None:
    """Give the parts of a cycle: name, seconds, the paint of the bar and of its words, whether it is the drop."""
    if site.cycle is None:
        return None
    return [
        [texts(label(part.name, plan.display)), tenths(part.seconds), *cycle_bar.look_of(part.name),
         int(part.name == "drop")]
        for part in site.cycle.parts
    ]  # fmt: skip


def _stair(load: Load, display: Display, texts: Texts) -> dict[str, Any]:
    """Give the steps of a load stair: name, mass above and below, paint and edge, its mass in words."""
    steps = [
        [texts(load_stair.name_of(step, display)), tenths(step.above_kg), tenths(step.below_kg),
         *load_stair.look_of(step), f"{load_stair.sign(step)}{show(step.mass_kg, 'mass', display)}",
         int(load_stair.is_hatched(step))]
        for step in load_stair.steps(load)
    ]  # fmt: skip
    heading = load_stair.heading(load, display)
    decides = f"{heading}; the {label(load.governed_by, display)} decides" if steps else heading
    return {"heading": texts(decides), "steps": steps}


def _curve(site: Site) -> list[list[Any]]:
    """Give water an hour against fuel for each bucket setting, the fullest first: setting, fuels, rates."""
    return [
        [round(curve.fill * 100), deltas(tenths(kg) for kg in curve.fuel_kg),
         deltas(None if rate is None else round(rate) for rate in curve.litres_per_hour)]
        for curve in sorted(site.curve, key=lambda one: -one.fill)
    ]  # fmt: skip


def _loads(site: Site, plan: Plan, texts: Texts) -> list[Any] | None:
    found = tables.loads(site, plan)
    return None if found is None else [texts(found[0]), _table(found[1], texts)]


def _score(site: Site, plan: Plan, texts: Texts) -> list[Any] | None:
    if not site.score.criteria:
        return None
    rows = [
        [texts(label(c.code, plan.display)), f"{c.points:.0f}", f"× {c.weight:.0f}", texts(told(c, plan))]
        for c in site.score.criteria
    ]
    return [f"{site.score.total:.0f}", rows]
