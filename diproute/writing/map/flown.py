"""How a site is flown, and in what heat it still is: the gates of its legs, and the go/no-go table."""

from __future__ import annotations

from diproute.document.legs import Gate, Leg, Piece
from diproute.document.plan import Plan
from diproute.document.site import GoNoGo, Site
from diproute.units import Display, show, show_course, show_down, show_share, unit_name
from diproute.wording import label
from diproute.writing.map.tables import CALM_M_S, Table, side

CHART_ENDS = "not known: the hover chart ends"
GO_NO_GO = (
    "The greatest bucket setting that hovers wherever the load must, the hover margin kept. Framed: this plan. The "
    "height of the air's pressure stays as it is."
)


def gates(site: Site, plan: Plan) -> Table | None:
    """Give the gates of a site's legs in flying order; None where no leg is flown."""
    rows = tuple(
        _gate(leg, gate, plan)
        for leg in site.routes
        for gate in (leg.departure, leg.arrival)
        if gate is not None
    )  # fmt: skip
    if not rows:
        return None
    display = plan.display
    heads = ("Gate", "Course, mag.", f"Lift, lower, {unit_name('height', display)}", "Slope",
             f"Over ground, {unit_name('speed', display)}", f"Straight, {unit_name('line', display)}",
             f"Wind ahead, across, {unit_name('wind', display)}")  # fmt: skip
    return Table(heads, rows, text=(0,))


def _gate(leg: Leg, gate: Gate, plan: Plan) -> tuple[str, ...]:
    display = plan.display
    place = leg.drop if gate.place == "drop" else label(gate.place, display)
    ahead, across = (show(abs(value), "wind", display, unit=False) for value in (gate.headwind_m_s, gate.crosswind_m_s))
    way = "from" if gate.kind == "departure" else "to"
    return (
        f"{leg.leg} {way} {place}",
        show_course(gate.course_deg - plan.declination_deg),
        show(gate.lift_m, "height", display, unit=False),
        f"{gate.gradient:.1%}",
        show(gate.ground_speed_m_s, "speed", display, unit=False),
        show(gate.straight_m, "line", display, unit=False),
        f"{ahead}{' tail' if gate.headwind_m_s < -CALM_M_S else ''}, {across}{side(gate.crosswind_m_s)}",
    )


def reading(leg: Leg, display: Display) -> str:
    """Say where a leg is steepest, where it circles, and where its load comes lowest."""
    parts = (_steepest(leg, display), orbits(leg, display), _lowest(leg, display))
    return " ".join(words for words in parts if words)


def _steepest(leg: Leg, display: Display) -> str:
    if not leg.slope_known:
        return "How steep it is is not known."
    if leg.steepest is None:
        return ""
    slope = leg.steepest
    over, along = (show(v, "distance", display) for v in (slope.over_m, slope.from_m))
    way = "up" if slope.gradient > 0 else "down"
    return f"Steepest over {over}: {show_share(abs(slope.gradient))} {way}, from {along} along."


def _lowest(leg: Leg, display: Display) -> str:
    """Say the lowest place between the climb away from one end and the descent to the other."""
    if not leg.under_known:
        return "What is under the load is not known everywhere."
    if leg.lowest is None:
        return "The load is lowest at the ends."
    height, along = show_down(leg.lowest.clearance_m, "height", display), show(leg.lowest.along_m, "distance", display)
    return f"Between its ends the load comes no closer than {height} to anything below it, {along} along."


def orbits(leg: Leg, display: Display) -> str:
    """Say what height a leg wins and loses in whole circles, and where; nothing where it flies none."""
    parts = [_orbits(leg, piece, display) for piece in leg.pieces if piece.kind == "orbits"]
    return f"{'; '.join(parts)}." if parts else ""


def _orbits(leg: Leg, piece: Piece, display: Display) -> str:
    count = round(abs(piece.turn_deg or 0.0) / 360.0)
    from_m, to_m = leg.path[piece.first][2], leg.path[piece.last][2]
    how = f"{count} orbit{'s' if count != 1 else ''} to the {'right' if (piece.turn_deg or 0.0) > 0 else 'left'}"
    radius, along = show(piece.radius_m, "line", display), show(leg.along_m[piece.first], "distance", display)
    heights = f"from {show(from_m, 'height', display)} to {show(to_m, 'height', display)} {label('altitude', display)}"
    return f"{how} of {radius} radius, {along} along, {heights}"


def go_no_go(site: Site, plan: Plan) -> Table | None:
    """Give the greatest bucket setting that hovers by temperature and fuel; None where the plan's own load does not."""
    found, display = site.go_no_go, plan.display
    if found is None:
        return None
    heads = (f"{unit_name('temperature', display)} over the dip, {unit_name('mass', display)} of fuel",
             *(show(fuel, "mass", display, unit=False) for fuel in found.fuel_kg))  # fmt: skip
    rows = []
    for kelvin, fills in zip(found.temperature_k, found.fill, strict=True):
        unknown = all(fill is None for fill in fills)
        cells = (CHART_ENDS,) if unknown else tuple(_setting(fill) for fill in fills)
        rows.append((show(kelvin, "temperature", display, unit=False), *cells))
    return Table(heads, tuple(rows), here=(found.row, found.column))


def holds(found: GoNoGo, display: Display) -> str:
    """Say up to what temperature the plan's first load hovers; nothing where that is not known."""
    if found.holds_to_k is None:
        return ""
    words = f"The first load hovers up to {show_down(found.holds_to_k, 'temperature', display)} over the dip"
    if found.holds_to_m is not None:
        words += f", a density altitude of {show_down(found.holds_to_m, 'height', display)}"
    return words + (", where the hover chart ends" if found.edge else "")


def _setting(fill: float | None) -> str:
    return "not known" if fill is None else "no go" if fill == 0.0 else show_share(fill)
