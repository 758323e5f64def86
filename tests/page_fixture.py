"""Invented plans for the page: with a grid of other weathers, and with hundreds of sites. No number is a result."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from composed import changed, full

from diproute.document import Finding, Plan, Site
from diproute.document.geometry import Geometry
from diproute.document.legs import Leg

KNOT = 1852 / 3600
SPEEDS_KT, HEATS_C = (5, 10, 15, 20, 30), (15, 20, 25, 30, 35, 40)
METRES = 111_120.0  # a degree of latitude, near enough to spread sites


@dataclass(frozen=True)
class WhatIfSite:
    """One site over the grid, temperature by temperature."""

    site: str
    litres_per_hour: tuple[float | None, ...]
    fill: tuple[float | None, ...]
    line_m: tuple[float | None, ...]
    approach_deg: tuple[float | None, ...]
    departure_deg: tuple[float | None, ...]
    why: tuple[int | None, ...]


@dataclass(frozen=True)
class WhatIf:
    """A grid of weathers: calm, then 16 directions by 5 speeds; 6 temperatures."""

    sites: tuple[WhatIfSite, ...]
    wind_from_deg: tuple[float | None, ...] = (None, *(22.5 * d for d in range(16) for _ in SPEEDS_KT))
    wind_m_s: tuple[float, ...] = (0.0, *(kt * KNOT for _ in range(16) for kt in SPEEDS_KT))
    temperature_k: tuple[float, ...] = tuple(c + 273.15 for c in HEATS_C)
    reasons: tuple[Finding, ...] = field(default_factory=lambda: (
        Finding(code="no-lift"),
        Finding(code="wind-too-strong", values={"strongest_m_s": 30 * KNOT, "limit_m_s": 25 * KNOT}),
    ))  # fmt: skip


def cells(site: Site, number: int) -> WhatIfSite:
    """Each site its own answers: less when hot, none in 30 kt, the first none from the north."""
    rates: list[float | None] = []
    why: list[int | None] = []
    courses: list[float | None] = []
    nodes = [(None, 0), *((22.5 * d, kt) for d in range(16) for kt in SPEEDS_KT)]
    for heat in HEATS_C:
        for from_deg, kt in nodes:
            shut = (
                1 if kt == 30 else 0 if (heat == 40 and number % 3 == 2) or (number == 0 and from_deg == 0.0) else None
            )
            why.append(shut)
            rates.append(None if shut is not None else 5000.0 - 40 * heat - 150 * number + 10 * kt)
            courses.append(None if shut is not None else (from_deg if from_deg is not None else 90.0) // 5 * 5)
    fill = tuple(None if r is None else 0.9 if i < len(nodes) * 3 else 0.7 for i, r in enumerate(rates))
    line = tuple(None if r is None else 30.0 for r in rates)
    return WhatIfSite(site.id, tuple(rates), fill, line, tuple(courses), tuple(courses), tuple(why))


def with_grid(plan: Plan) -> Plan:
    """The plan with answers for other weathers."""
    return changed(plan, what_if=WhatIf(tuple(cells(site, i) for i, site in enumerate(plan.suitable))))


def _moved(leg: Leg, north_m: float, east_m: float, id_: str) -> Leg:
    wide = METRES * np.cos(np.radians(42.1))
    path = tuple((lon + east_m / wide, lat + north_m / METRES, height) for lon, lat, height in leg.path)
    return changed(leg, id=id_, path=path)


def _shifted(coordinates: Any, north: float, east: float) -> Any:
    if isinstance(coordinates[0], float):
        return [coordinates[0] + east, coordinates[1] + north]
    return [_shifted(inner, north, east) for inner in coordinates]


def many(count: int = 300, side_m: float = 40_000.0) -> Plan:
    """The full plan's sites and waters again and again over a square, each elsewhere; 24 hours; the grid."""
    plan = full()
    across = int(np.ceil(np.sqrt(count)))
    sites, waters, ferries, obstacles = [], [], [], []
    wide = METRES * np.cos(np.radians(42.1))
    for i in range(count):
        row, col = divmod(i, across)
        north, east = ((v + 0.5) / across * side_m - side_m / 2 for v in (row, col))
        pattern = plan.sites[i % len(plan.sites)]
        there = (42.1 + north / METRES - pattern.lat, -160.05 + east / wide - pattern.lon)
        metres = (there[0] * METRES, there[1] * wide)
        legs = tuple(_moved(leg, *metres, f"{leg.id}-{i}") for leg in pattern.routes)
        ferry = None
        if pattern.ferry is not None:
            both = [plan.ferry(id_) for id_ in (pattern.ferry.from_base, pattern.ferry.to_base)]
            pair = [_moved(leg, *metres, f"{leg.id}-{i}-{n}") for n, leg in enumerate(both) if leg is not None]
            ferries += pair
            ferry = changed(pattern.ferry, from_base=pair[0].id, to_base=pair[-1].id)
        sites.append(changed(pattern, ferry=ferry, id=f"s{i}", name=f"{pattern.name} {i}", lat=pattern.lat + there[0],
                             lon=pattern.lon + there[1], routes=legs, water_id=f"w{i // 2}"))  # fmt: skip
        pond = plan.waters[i % 3]
        shape = Geometry(type=pond.geometry.type, coordinates=_shifted(pond.geometry.coordinates, *there))
        waters.append(changed(pond, id=f"w{i}", name=f"{pond.name} {i}", geometry=shape))
        mast = plan.obstacles[1 + i % 2]
        if mast.geometry is not None:
            at = Geometry(type=mast.geometry.type, coordinates=_shifted(mast.geometry.coordinates, *there))
            obstacles.append(changed(mast, height_m=20.0 + i / 5, geometry=at))
    ranked = sorted(
        (s for s in sites if s.rank is not None), key=lambda s: -(s.sortie.litres_per_hour if s.sortie else 0)
    )
    ranked = [changed(s, rank=n + 1, rank_band=1 + n // 4) for n, s in enumerate(ranked)]
    refused = [s for s in sites if s.rank is None]
    every = (*ranked, *refused)
    assert plan.day is not None
    hours = []
    for hour in (*plan.day.hours, *plan.day.hours[:8]):
        told = tuple(changed(hour.sites[i % len(hour.sites)], site=site.id) for i, site in enumerate(every))
        hours.append(changed(hour, best=None, sites=told))
    day = changed(plan.day, hours=tuple(hours), last_site=every[0].id, last_short=None, story=())
    bounds = (
        42.1 - side_m / 2 / METRES,
        -160.05 - side_m / 2 / wide,
        42.1 + side_m / 2 / METRES,
        -160.05 + side_m / 2 / wide,
    )
    terrain = changed(plan.terrain, bounds=bounds, heights=changed(plan.terrain.heights, bounds=bounds))
    things = {"waters": tuple(waters), "obstacles": (*plan.obstacles, *obstacles), "ferries": tuple(ferries)}
    return with_grid(changed(plan, sites=every, day=day, doubt=None, fleet=None, terrain=terrain, **things))
