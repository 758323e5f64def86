"""The profile of a leg: the ground, what stands on it, the floor and the path above it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diproute.records import F64, Display, Leg
from diproute.units import show, show_time
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import disc, halo, hatch, line, path, picture, words

WIDTH, HEIGHT = 640.0, 212.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 628.0, 26.0, 182.0
MOST_POINTS = 160
_READING = (
    "Line: the aircraft. Dots: the lowest that keeps every clearance, load included. Grey: ground; darker: trees."
)


@dataclass(frozen=True, slots=True)
class Thinned:
    """A leg with few enough points to draw; between two kept points the highest ground, top and floor are kept."""

    at: tuple[int, ...]  # indices into the leg
    distance_m: F64
    ground_m: F64
    top_m: F64
    floor_m: F64
    altitude_m: F64


def thinned(leg: Leg, most: int = MOST_POINTS) -> Thinned:
    """Keep at most so many points of a leg.

    Parameters
    ----------
    leg
        The leg.
    most
        Number of points to keep.

    Returns
    -------
    Thinned
        Ground, top and floor are the highest round each kept point, and NaN where anything round it is not known.
    """
    n = len(leg.distance_m)
    at = np.unique(np.round(np.linspace(0, n - 1, min(n, most))).astype(int))
    starts = np.concatenate([[0], (at[1:] + at[:-1] + 1) // 2])

    def highest(values: F64) -> F64:
        return np.maximum.reduceat(np.asarray(values, dtype=np.float64), starts)

    return Thinned(
        tuple(at.tolist()),
        leg.distance_m[at],
        highest(leg.ground_m),
        highest(leg.top_m),
        highest(leg.floor_m),
        leg.altitude_m[at],
    )


def profile(leg: Leg, display: Display) -> str:
    """Draw a leg from the side.

    Parameters
    ----------
    leg
        The leg; heights AMSL.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG. Ground that is not known is hatched over the whole height.
    """
    kept = thinned(leg)
    heights = np.concatenate([kept.ground_m, kept.top_m, kept.floor_m, kept.altitude_m])
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    spare = max(20.0, 0.12 * (high - low))
    across = Axis("distance", display, 0.0, max(leg.length_m, 1.0), LEFT, RIGHT, 6)
    up = Axis("height", display, low - spare, high + spare, BOTTOM, TOP, 4)
    x = [across.at(d) for d in kept.distance_m]
    title = f"{_title(leg)}: {show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}"
    peak = f"highest {show(leg.highest_m, 'height', display)} AMSL"
    parts = [
        words(LEFT, 13, title, font_weight="600"),
        words(RIGHT, 13, peak, at="end", fill="quiet"),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
    ]
    for run in _runs(np.isfinite(kept.ground_m)):
        base = [(x[run[1] - 1], BOTTOM), (x[run[0]], BOTTOM)]
        if np.isfinite(kept.top_m[run[0] : run[1]]).all():
            tops = [(x[i], up.at(kept.top_m[i])) for i in range(*run)]
            parts.append(path([*tops, *base], close=True, fill="trees"))
        earth = [(x[i], up.at(kept.ground_m[i])) for i in range(*run)]
        parts.append(path([*earth, *base], close=True, fill="ground"))
        parts.append(path(earth, fill="none", stroke="line", stroke_width=0.8))
    for first, last in _runs(~(np.isfinite(kept.ground_m) & np.isfinite(kept.top_m))):
        a, b = x[max(0, first - 1)], x[min(len(x) - 1, last)]
        parts.append(hatch([(a, TOP), (b, TOP), (b, BOTTOM), (a, BOTTOM)], stroke="line", stroke_width=0.9))
    parts += _lines(x, kept, up, leg.leg)
    for crossing in leg.crossings:
        near = int(np.argmin(np.hypot((leg.lon_deg - crossing.lon_deg) * np.cos(np.radians(crossing.lat_deg)),
                                      leg.lat_deg - crossing.lat_deg)))  # fmt: skip
        a, y = across.at(leg.distance_m[near]), up.at(crossing.top_m)
        parts.append(line(a, y, a, BOTTOM, stroke="hazard", stroke_width=2))
        parts.append(line(a - 5, y, a + 5, y, stroke="hazard", stroke_width=2))
        note = f"wire {show(crossing.top_m, 'height', display)}{', height assumed' if crossing.height_assumed else ''}"
        flip = a > (LEFT + RIGHT) / 2
        parts.append(halo(a - 8 if flip else a + 8, BOTTOM - 6, note, at="end" if flip else "start", fill="warning"))
    parts += [
        line(LEFT, BOTTOM, RIGHT, BOTTOM, stroke="ink", stroke_width=1),
        *(words(LEFT - 6, y + 4, name, at="end", fill="quiet", font_size=10) for y, name in up.ticks),
        words(LEFT - 6, TOP - 4, up.unit, at="end", fill="quiet", font_size=10),
        *(line(a, BOTTOM, a, BOTTOM + 4, stroke="ink", stroke_width=1) for a, _ in across.ticks),
        *(words(a, BOTTOM + 16, name, at="middle", fill="quiet", font_size=10) for a, name in across.ticks),
        words(RIGHT, BOTTOM + 28, across.unit, at="end", fill="quiet", font_size=10),
        words(LEFT, BOTTOM + 28, _READING, fill="quiet", font_size=10),
    ]
    return picture(WIDTH, HEIGHT, f"{title}, {peak}", parts, kind="profile")


def probe(leg: Leg, display: Display) -> dict[str, list[object]]:
    """Numbers behind a profile for a pointer, in trade units, one entry a drawn point.

    Parameters
    ----------
    leg
        The leg.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    dict
        ``at`` [lat, lon]; ``x`` across the drawing; ``far`` along the leg, ``path`` of the aircraft AMSL and
        ``room`` between it and the lowest height that keeps every clearance, as words.
    """
    kept = thinned(leg)
    across = Axis("distance", display, 0.0, max(leg.length_m, 1.0), LEFT, RIGHT)
    room = kept.altitude_m - kept.floor_m
    return {
        "at": [[round(float(leg.lat_deg[i]), 5), round(float(leg.lon_deg[i]), 5)] for i in kept.at],
        "x": [round(across.at(float(d)), 1) for d in kept.distance_m],
        "far": [show(float(d), "distance", display) for d in kept.distance_m],
        "path": [show(float(h), "height", display) for h in kept.altitude_m],
        "room": [show(float(h), "height", display) for h in room],
    }


def _title(leg: Leg) -> str:
    way = {"loaded": f"Loaded, to {leg.drop}", "empty": f"Empty, back from {leg.drop}", "ferry": "Ferry"}
    return way[leg.leg]


def _lines(x: list[float], kept: Thinned, up: Axis, leg: str) -> list[str]:
    parts = []
    for run in _runs(np.isfinite(kept.floor_m)):
        floor = [(x[i], up.at(kept.floor_m[i])) for i in range(*run)]
        parts.append(path(floor, fill="none", stroke="hazard", stroke_width=1.1, stroke_dasharray="2 2.5"))
    flown = [(a, up.at(h)) for a, h in zip(x, kept.altitude_m, strict=True)]
    parts.append(path(flown, fill="none", stroke="page", stroke_width=5, stroke_linejoin="round"))
    dash = "8 5" if leg == "empty" else "1.5 4" if leg == "ferry" else None
    parts.append(path(flown, fill="none", stroke="ink", stroke_width=2.2, stroke_dasharray=dash))
    return [
        *parts,
        disc(*flown[0], 3.2, fill="ink"),
        disc(*flown[-1], 3.2, fill="page", stroke="ink", stroke_width=1.8),
    ]


def _runs(mask: np.ndarray) -> list[tuple[int, int]]:
    """Stretches where a mask holds, as first and one past the last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
