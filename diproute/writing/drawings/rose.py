"""The rose: what stands round a dip point, and the approach and departure flown there."""

from __future__ import annotations

from diproute.document.plan import Plan
from diproute.document.site import Direction, Site, Way
from diproute.units import show, show_course, show_share
from diproute.writing.drawings.palette import paint
from diproute.writing.drawings.svg import arrow_head, disc, halo, line, path, picture, polar, track, words

LIMIT_R, FAR_R = 100.0, 112.0  # the ring of the limit; nothing is drawn longer than the outer one
BAND = (116.0, 122.0)
RIM_R = 124.0
HATCH_R = range(14, int(LIMIT_R), 5)
TOGETHER_DEG = 20.0  # corridors closer than this have their arrows drawn side by side
MPS_PER_KT = 1852.0 / 3600.0


def rose(site: Site, plan: Plan) -> str:
    """Draw a site's obstacles as a compass card.

    Parameters
    ----------
    site
        The site. A wedge is as long as the larger lift of approach and departure over its corridor; a site where no
        direction was judged shows none as open.
    plan
        Gives the limit of the lift, the declination and the units.

    Returns
    -------
    str
        SVG, north up. Open wedges are pale, closed ones dark, unknown ones hatched, in the wedge and on the rim.
    """
    limit_m, declination_deg = plan.limits.lift_limit_m, plan.declination_deg
    parts = [
        *_wedges(site, limit_m),
        *_card(declination_deg),
        disc(0, 0, LIMIT_R, fill="none", stroke="ink", stroke_width=1.4),
        disc(0, 0, LIMIT_R / 2, fill="none", stroke="line", stroke_width=0.6, stroke_dasharray="2 3"),
        disc(0, 0, 6, fill="water", stroke="shore", stroke_width=1.2),
        *_wind(site.wind.from_deg, site.wind.speed_m_s),
        *_ways(site.arrival, site.departure, declination_deg),
        *_scale(site, plan),
    ]
    return picture(340, 340, summary(site, declination_deg), parts, kind="rose", centred=True)


def summary(site: Site, declination_deg: float) -> str:
    """Say the rose in one sentence."""
    if site.open_share is None:
        return "Obstacles round the dip point: no direction was judged"
    share = f"{show_share(site.open_share)} of the circle open"
    unknown = sum(not direction.known for direction in site.directions)
    if unknown:
        share += f", {unknown} of {len(site.directions)} directions not known"
    if site.arrival is None or site.departure is None:
        return f"{share}; no pair of courses with this wind"
    approach = show_course(site.arrival.course_deg - declination_deg)
    departure = show_course(site.departure.course_deg - declination_deg)
    return f"{share}; approach {approach} magnetic, departure {departure} magnetic"


def _over(corridor: Direction, directions: tuple[Direction, ...]) -> float | None:
    """Give the larger lift of approach and departure over a corridor [m]; None where either is not known."""
    inward = min(directions, key=lambda one: _apart(one.course_deg, corridor.course_deg + 180.0))
    if corridor.departure_lift_m is None or inward.arrival_lift_m is None:
        return None
    return max(corridor.departure_lift_m, inward.arrival_lift_m)


def _apart(one_deg: float, other_deg: float) -> float:
    """Give the angle between two directions [deg]."""
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def _wedges(site: Site, limit_m: float) -> list[str]:
    directions = site.directions
    half = 180.0 / max(1, len(directions))
    judged = site.open_share is not None
    shapes: dict[str, list[str]] = {"open": [], "closed": [], "unknown": []}
    rim: dict[str, list[str]] = {"closed": [], "unknown": []}
    gap = min(0.5, half / 5)
    for direction in directions:
        b, lift = direction.course_deg, _over(direction, directions)
        if lift is None or (judged and not direction.known):
            shapes["unknown"].append("".join(_arc(b, half, r) for r in HATCH_R))
            rim["unknown"].append("".join(_arc(b, half, r) for r in (BAND[0], sum(BAND) / 2, BAND[1])))
            continue
        reach = min(FAR_R, max(7.0, LIMIT_R * lift / limit_m))
        free = judged and direction.open
        shapes["open" if free else "closed"].append(_sector(b, half - gap, 0.0, reach))
        if not free:
            rim["closed"].append(_sector(b, half, *BAND))
    styles = {
        "open": f'fill="{paint("clear")}" stroke="{paint("line")}" stroke-width="0.7"',
        "closed": f'fill="{paint("closed")}"',
        "unknown": f'fill="none" stroke="{paint("quiet")}" stroke-width="1"',
    }
    drawn = [f'<path d="{"".join(d)}" {styles[key]}/>' for key, d in shapes.items() if d]
    return drawn + [f'<path d="{"".join(d)}" {styles[key]}/>' for key, d in rim.items() if d]


def _sector(middle: float, half: float, inner: float, outer: float) -> str:
    a, b = polar(middle - half, outer), polar(middle + half, outer)
    if inner <= 0:
        return f"M0 0L{_at(a)}A{outer:.1f} {outer:.1f} 0 0 1 {_at(b)}Z"
    c, d = polar(middle + half, inner), polar(middle - half, inner)
    return f"M{_at(a)}A{outer:.1f} {outer:.1f} 0 0 1 {_at(b)}L{_at(c)}A{inner:.1f} {inner:.1f} 0 0 0 {_at(d)}Z"


def _arc(middle: float, half: float, radius: float) -> str:
    return f"M{_at(polar(middle - half, radius))}A{radius:.1f} {radius:.1f} 0 0 1 {_at(polar(middle + half, radius))}"


def _at(place: tuple[float, float]) -> str:
    return f"{place[0]:.1f} {place[1]:.1f}"


def _card(declination_deg: float) -> list[str]:
    ticks = "".join(track((polar(a, RIM_R), polar(a, RIM_R + (5 if a % 30 == 0 else 2.5)))) for a in range(0, 360, 10))
    parts = [f'<path d="{ticks}" fill="none" stroke="{paint("line")}" stroke-width="0.9"/>']
    parts.append(disc(0, 0, RIM_R, fill="none", stroke="line", stroke_width=0.7))
    for angle, name in ((0, "N"), (90, "E"), (180, "S"), (270, "W")):
        x, y = polar(angle, RIM_R + 13)
        parts.append(words(x, y + 4, name, at="middle", font_weight="600" if angle == 0 else None))
    if abs(declination_deg) >= 0.5:
        x, y = polar(declination_deg, RIM_R - 1)
        parts.append(line(x, y, *polar(declination_deg, RIM_R + 8), stroke="ink", stroke_width=1.2))
        x, y = polar(declination_deg, RIM_R + 21 if abs(declination_deg) < 8 else RIM_R + 13)
        parts.append(words(x, y + 4, "mag", at="middle", fill="quiet", font_size=9))
    return parts


def _ways(arrival: Way | None, departure: Way | None, declination_deg: float) -> list[str]:
    parts = []
    aside = 0.0
    if arrival is not None and departure is not None:
        apart = abs((arrival.course_deg - departure.course_deg) % 360.0 - 180.0)  # of the two corridors
        aside = 6.0 if apart < TOGETHER_DEG else 0.0  # both over one corridor: side by side
    if arrival is not None:
        bearing = arrival.course_deg + 180.0
        start, tip = polar(bearing, RIM_R - 2), polar(bearing, 16)
        parts += _way(start, tip, arrival.course_deg, polar(bearing - 90.0, aside), dashed=True)
    if departure is not None:
        bearing = departure.course_deg
        start, tip = polar(bearing, 10), polar(bearing, RIM_R - 4)
        parts += _way(start, tip, bearing, polar(bearing + 90.0, aside), dashed=False)
    if arrival is not None:
        side, radius = (-32.0, 54.0) if aside else (13.0, 84.0)
        parts.append(
            _way_name(arrival.course_deg + 180.0 + side, radius, "approach", arrival.course_deg - declination_deg)
        )
    if departure is not None:
        parts.append(_way_name(departure.course_deg + 13.0, 98.0 if aside else 84.0, "departure",
                               departure.course_deg - declination_deg))  # fmt: skip
    return parts


def _way(
    start: tuple[float, float], tip: tuple[float, float], course: float, aside: tuple[float, float], *, dashed: bool
) -> list[str]:
    start, tip = (start[0] + aside[0], start[1] + aside[1]), (tip[0] + aside[0], tip[1] + aside[1])
    back = polar(course + 180, 9)
    neck = (tip[0] + back[0], tip[1] + back[1])
    dash = "7 4" if dashed else None
    return [
        line(*start, *neck, stroke="page", stroke_width=5.5),
        arrow_head(*tip, course, 14, fill="ink", stroke="page", stroke_width=1.5),
        line(*start, *neck, stroke="ink", stroke_width=2.6, stroke_dasharray=dash),
    ]


def _way_name(bearing: float, radius: float, word: str, magnetic: float) -> str:
    # a little beside the arrow, so that the two names of a straight-through pair do not meet
    x, y = polar(bearing, radius)
    return halo(x, y + 4, f"{word} {show_course(magnetic)}M", at="middle", font_size=11, font_weight="600")


def _wind(from_deg: float | None, speed_m_s: float | None) -> list[str]:
    """Draw one barbed arrow outside the rim: a full barb 10 kt, a half barb 5 kt, a pennant 50 kt (WMO-No. 485)."""
    if speed_m_s is None or (from_deg is None and speed_m_s > 0):
        return [words(-164, 162, "wind not known", fill="quiet")]
    if from_deg is None or speed_m_s / MPS_PER_KT < 1:
        return [words(-164, 162, "calm", fill="quiet")]
    knots = 5 * round(speed_m_s / MPS_PER_KT / 5)
    tip, tail = polar(from_deg, RIM_R + 3), polar(from_deg, RIM_R + 38)
    parts = [line(*tip, *tail, stroke="ink", stroke_width=1.8), arrow_head(*tip, from_deg + 180, 8, fill="ink")]
    place = RIM_R + 38.0
    side = from_deg + 90
    while knots >= 50:
        a, b, c = polar(from_deg, place), polar(from_deg, place - 7), polar(side, 12)
        parts.append(path((a, (a[0] + c[0], a[1] + c[1]), b), close=True, fill="ink"))
        place, knots = place - 9, knots - 50
    for length in [12.0] * (knots // 10) + [6.5] * (knots % 10 // 5):
        if length < 10 and place == RIM_R + 38.0:
            place -= 5  # a lone half barb stands off the end
        a, c = polar(from_deg, place), polar(from_deg + 65, length)
        parts.append(line(*a, a[0] + c[0], a[1] + c[1], stroke="ink", stroke_width=1.8))
        place -= 5.5
    return parts


def _scale(site: Site, plan: Plan) -> list[str]:
    """Say what the rings stand for, the inner one where no arrow runs."""
    limit_m, display = plan.limits.lift_limit_m, plan.display
    x, y = polar(135, LIMIT_R)
    taken = [] if site.arrival is None else [site.arrival.course_deg + 180.0]
    taken += [] if site.departure is None else [site.departure.course_deg]
    free = [b for b in (180.0, 90.0, 270.0, 0.0) if all(_apart(b, t) > 40.0 for t in taken)]
    inner_x, inner_y = polar(free[0], LIMIT_R / 2)
    half, whole = show(limit_m / 2, "height", display), f"{show(limit_m, 'height', display)} limit"
    return [
        halo(x + 2, y + 8, whole, font_size=10, fill="quiet", class_="scale"),
        halo(inner_x, inner_y + 3, half, at="middle", font_size=9, fill="quiet", class_="scale"),
    ]
