"""Still and running water of the invented island, and the ground shaped so that it holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from affine import Affine
from island import CELL_M, HALF_M, SIZE, F, axes, from_line, noise
from rasterio import features
from scipy import ndimage
from shapely import affinity
from shapely.geometry import LineString, Polygon, box, shape

B = npt.NDArray[np.bool_]
LOCAL = Affine(CELL_M, 0, -HALF_M, 0, -CELL_M, HALF_M)

CALDERA_LEVEL_M = 1800.0
RESERVOIR_LEVEL_M = 940.0
TARN_LEVEL_M = 1590.0
RESERVOIR_LINE = [(-1330.0, -1620.0), (-1580.0, -1370.0), (-1800.0, -1150.0), (-1960.0, -860.0)]
TARN, LANTERN = (4640.0, 620.0), (2200.0, -2640.0)
RIVER_FALL = 0.016  # metres a metre
GORGE_HEAD_NORTH_M = -4100.0


@dataclass(frozen=True, slots=True)
class Water:
    """One water feature in metres from the island's origin, with its tags."""

    name: str
    polygon: Any
    tags: dict[str, Any] = field(default_factory=dict)


def outline(east: float, north: float, radius: float, seed: int, stretch: float = 1.0, turn: float = 0.0) -> Polygon:
    """An uneven round outline, as ponds have."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    wave = sum(rng.normal(0, 0.17 / k) * np.cos(k * angle + rng.uniform(0, 6.3)) for k in range(2, 7))
    r = radius * (1 + wave)
    shore = Polygon(np.c_[r * np.cos(angle) * stretch, r * np.sin(angle) / stretch])
    return affinity.translate(affinity.rotate(shore, turn), east, north)


def cells(geometry: Any, touched: bool = True) -> B:
    """Cells of the final grid that a geometry touches, or whose centre it holds."""
    return features.rasterize([(geometry, 1)], (SIZE, SIZE), transform=LOCAL, all_touched=touched).astype(bool)


def hold(ground: F, wet: B, level: F | float, bank: F | float, fill: float, cut: float, reach: float) -> F:
    """Shape the ground round a water so that it holds: a bank that falls away, and walls no steeper than ``cut``.

    Parameters
    ----------
    ground
        Height [m].
    wet
        The water's cells.
    level
        Water level [m], one or a cell's own (a river).
    bank
        Height of the bank above the water [m]; it is reached some 60 m from the shore.
    fill, cut
        Slope of the bank's outer side and steepest slope of the walls [m/m].
    reach
        No cell farther than this from the shore is touched [m].
    """
    away, nearest = ndimage.distance_transform_edt(~wet, sampling=CELL_M, return_indices=True)
    at = level if isinstance(level, float) else level[tuple(nearest)]
    beyond = np.maximum(away - 90 - 25 * noise(SIZE, 300, 2, 100), 0)
    low = at + bank * np.clip(away / 60, 0.15, 1) - fill * beyond * (1 + (beyond / 120) ** 2)
    high = at + 1.0 + cut * away * (1 + (away / 200) ** 2)
    shaped = np.where(away < reach, np.maximum(np.minimum(ground, high), low), ground)
    shaped = np.where((ground <= 0) & ~wet, 0, shaped)
    return np.where(wet, at, shaped)


def caldera(ground: F) -> tuple[F, Polygon]:
    """The crater and its lake; the rim is lowest in the north-east and in the west."""
    lake = outline(-880, 2930, 460, 101, 1.12, 65)
    east, north = axes(SIZE)
    bearing = np.arctan2(east + 880, north - 2930)
    rim = 72 + 26 * np.cos(bearing - np.pi) - 22 * np.cos(2 * (bearing - np.radians(62))) + 9 * noise(SIZE, 420, 3, 102)
    wet = cells(lake)
    away = ndimage.distance_transform_edt(~wet, sampling=CELL_M)
    wall = np.clip(away / 190, 0, 1) ** 1.2
    beyond = np.maximum(away - 230 - 45 * noise(SIZE, 420, 3, 103), 0)
    low = CALDERA_LEVEL_M + 3 + rim * wall - 0.45 * beyond * (1 + (beyond / 350) ** 2)
    high = CALDERA_LEVEL_M + 1 + (rim + 40) * wall + 0.9 * np.maximum(away - 190, 0)
    high += np.maximum(away - 400, 0) ** 2 / 150
    shaped = np.where(away < 900, np.clip(ground, low, np.maximum(low, high)), ground)
    return np.where(wet, CALDERA_LEVEL_M, shaped), lake


def reservoir(ground: F) -> tuple[F, Polygon]:
    """A flooded valley behind a dam: whatever lies below the level and hangs together with the valley's line."""
    east, north = axes(SIZE)
    away, along = from_line(east, north, RESERVOIR_LINE)
    half = np.interp(along, [0, 0.35, 0.8, 1], [120, 170, 110, 20]) + 18 * noise(SIZE, 260, 2, 111)
    foot, second = RESERVOIR_LINE[0], RESERVOIR_LINE[1]
    run = np.hypot(second[0] - foot[0], second[1] - foot[1])
    along_valley = ((east - foot[0]) * (second[0] - foot[0]) + (north - foot[1]) * (second[1] - foot[1])) / run
    across = ((east - foot[0]) * (second[1] - foot[1]) - (north - foot[1]) * (second[0] - foot[0])) / run
    flooded = ((ground < RESERVOIR_LEVEL_M) & (away < 420) | (away < half)) & (along_valley > 25)
    part, _ = ndimage.label(flooded)
    seed = part[int((HALF_M - second[1]) / CELL_M), int((second[0] + HALF_M) / CELL_M)]
    rings = features.shapes((part == seed).astype(np.uint8), part == seed, transform=LOCAL)
    lake = max((shape(g) for g, _ in rings), key=lambda g: g.area)
    lake = Polygon(lake.exterior).buffer(22).buffer(-44).buffer(22).simplify(5)
    lake = max(getattr(lake, "geoms", [lake]), key=lambda g: g.area)
    wet = cells(lake)
    ground = hold(ground, wet, RESERVOIR_LEVEL_M, 4.0, 0.5, 0.8, 600.0)
    wall = (along_valley <= 25) & (along_valley > -25) & (np.abs(across) < 330) & ~wet
    ground = np.where(wall, np.maximum(ground, RESERVOIR_LEVEL_M + 5), ground)
    return ground, lake


def cirque(ground: F) -> F:
    """A horseshoe of crags round the tarn, open to the north-east."""
    east, north = axes(SIZE)
    e, n = east - TARN[0], north - TARN[1]
    bearing = np.abs((np.degrees(np.arctan2(e, n)) - 55 + 180) % 360 - 180)
    away = np.hypot(e, n) * (1 + 0.12 * noise(SIZE, 380, 3, 131))
    crest = np.interp(bearing, [40, 56, 180], [0, 1, 1]) * (110 + 10 * noise(SIZE, 220, 3, 132))
    beyond = np.maximum(away - 300, 0)
    low = TARN_LEVEL_M + crest * np.clip((away - 90) / 190, 0, 1) ** 1.3 - 0.6 * beyond * (1 + (beyond / 260) ** 2)
    low -= np.interp(bearing, [28, 60], [0.9, 0]) * np.maximum(away - 110, 0)  # nothing is built up before the mouth
    ahead, aside = (np.hypot(e, n) * f(np.radians(bearing)) for f in (np.cos, np.sin))
    floor = (
        TARN_LEVEL_M + 2 - 0.06 * ahead + 0.7 * np.maximum(aside - 55 - 0.25 * ahead, 0)
    )  # the valley that drains it
    floor += 7 * noise(SIZE, 200, 3, 133) * np.clip(away / 200 - 0.4, 0, 1)
    mouth = np.where((ahead > 0) & (ahead < 1500), floor, np.inf)
    return np.where(ground > 0, np.minimum(np.maximum(ground, np.where(away < 700, low, 0)), mouth), ground)


def gorge(ground: F, flow: F) -> tuple[F, Polygon]:
    """The river: up the valley with the most water from the sea to the gorge's head, on an even bed."""
    size = flow.shape[0]
    step = 2 * HALF_M / size
    east, north = axes(size)
    mouth = np.where((east > 2500) & (east < 5200) & (north < -7000), flow, 0)
    at = np.unravel_index(int(mouth.argmax()), mouth.shape)
    points = []
    while north[at] < GORGE_HEAD_NORTH_M:
        points.append((east[at], north[at]))
        r, c = at
        around = [(r + i, c + j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)]
        at = max((p for p in around if flow[p] < flow[at]), key=lambda p: flow[p])
    path = ndimage.gaussian_filter1d(np.array(points), 4, axis=0, mode="nearest")
    run = np.arange(len(path)) * step
    path[:, 0] += 110 * np.sin(run / 230) * np.clip(run / 400, 0, 1) * np.clip((2900 - run) / 1500, 0, 1)
    outward = (path[0] - path[8]) / np.hypot(*(path[0] - path[8]))
    path = np.vstack([path[0] + 700 * outward, path])
    line = LineString(path)
    water = shapely.union_all([
        LineString([line.interpolate(a), line.interpolate(a + step)]).buffer(46 - 16 * a / line.length)
        for a in np.arange(0, line.length - step, step)
    ])  # fmt: skip
    land = ground > 0
    _, along = from_line(*axes(SIZE), list(map(tuple, path)))
    start = 700 / line.length
    bed = 0.75 + RIVER_FALL * line.length * np.clip(along - start, 0, 1)
    wet = cells(water) & land
    shaped = hold(ground, wet, np.where(wet, bed, 0), 5.0, 0.5, 1.3, 420.0)
    return np.where(land, shaped, 0), Polygon(water.exterior).simplify(3)


def round_waters() -> list[tuple[Water, float, float, float]]:
    """Tarn, ponds and lakes: the water, its level, its bank's height [m] and its walls' steepest slope."""

    def lake(kind: str, **more: Any) -> dict[str, Any]:
        return {"natural": "water", "water": kind} | more

    return [
        (Water("Mirror Tarn", outline(*TARN, 78, 121, 1.15, 30), lake("lake")), TARN_LEVEL_M, 3.0, 0.95),
        (Water("Lantern Pond", outline(*LANTERN, 38, 122, 1.05), lake("pond", depth_m=3.5)), 982.0, 3.0, 0.20),
        (Water("Camp Pond", outline(-1030, -500, 48, 123, 1.2), lake("pond", depth_m=2.0)), 1100.0, 3.0, 0.25),
        (Water("Heron Lake", outline(3050, 4150, 210, 124, 1.3, 20), lake("lake", depth_m=18.0)), 335.0, 3.0, 0.40),
        (Water("Fern Pond", outline(-6050, 4780, 95, 125, 1.1), lake("pond", depth_m=0.8)), 204.0, 2.5, 0.40),
        (Water("Long Meadow Lake", outline(8350, 3250, 150, 126, 1.4, -30), lake("lake")), 146.0, 2.0, 0.12),
        (Water("Dry Pan", outline(-800, -3150, 85, 127, 1.1), lake("pond", intermittent="yes")), 786.0, 3.0, 0.35),
        (
            Water("Tailings Basin", outline(2350, -5050, 120, 128, 1.2), lake("reservoir", reservoir_type="tailings")),
            281.0, 6.0, 0.50,
        ),
        (
            Water("Village Cistern", outline(1750, -6950, 22, 129), lake("reservoir", covered="yes", depth_m=4.0)),
            73.0, 2.0, 0.30,
        ),
    ]  # fmt: skip


def fill(ground: F, flow: F) -> tuple[F, list[Water]]:
    """Put every water on the island.

    Returns
    -------
    tuple
        The ground with the waters in it, and the waters.
    """
    ground, crater = caldera(ground)
    ground, flooded = reservoir(ground)
    ground, river = gorge(ground, flow)
    ground = cirque(ground)
    waters = [
        Water("Crown Lake", crater, {"natural": "water", "water": "lake", "depth_m": 60.0}),
        Water("Weir Reservoir", flooded, {"natural": "water", "water": "reservoir", "depth_m": 35.0}),
    ]
    for water, level, bank, cut in round_waters():
        ground = hold(ground, cells(water.polygon), level, bank, 0.3, cut, 450.0)
        waters.append(water)
    rings = features.shapes((ground > 0).astype(np.uint8), ground > 0, transform=LOCAL)
    land = shapely.union_all([Polygon(shape(g).exterior) for g, known in rings if known])  # with the islets
    land = land.buffer(30).buffer(-30).simplify(8)
    sea = box(-HALF_M, -HALF_M, HALF_M, HALF_M).difference(land)
    waters.append(Water("Gannet River", river.intersection(land), {"natural": "water", "water": "river"}))
    waters.append(Water("Outer sea", sea, {"natural": "water", "water": "sea", "salt": "yes"}))
    return ground, waters
