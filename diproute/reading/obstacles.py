"""Obstacles: wires, towers and whatever else stands up, from mapped points, lines and areas and from obstacle files."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from diproute.constants import ASSUMED_HEIGHT_M, OBSTACLE_FILE_DAYS
from diproute.physics.geodesy import LocalFrame, beside
from diproute.reading.grid import bounds_of
from diproute.reading.obstacle_file import FiledObstacle, read_obstacle_file
from diproute.reading.obstacle_rules import WIRES, Hidden, accuracy_m, kind_of, name_obstacle, vertical_error_m
from diproute.reading.vectors import Entry, Feature, read_features
from diproute.records import Finding, Grid, Obstacle

_KEY: Final = "layers.obstacles"
_COUNTLESS: Final = frozenset({"building", "tree"})  # unnamed ones of one height are kept together


def read_obstacles(
    entries: Sequence[Entry], frame: LocalFrame, grid: Grid, today: date
) -> tuple[tuple[Obstacle, ...], tuple[Finding, ...]]:
    """Read the obstacle layers.

    Parameters
    ----------
    entries
        Vector layers, and FAA obstacle files by their ending ``.dat``.
    frame, grid
        The working frame, and the grid to whose bounds they are read.
    today
        The incident's day, against which an obstacle file's date is held.

    Returns
    -------
    obstacles : tuple of Obstacle
        By kind, name and place, whatever the order of files and features.
    cautions : tuple of Finding
        Heights assumed, places not verified, lines without direction, files grown old, what was left out.

    Raises
    ------
    LayerError
        A file that cannot be read, has no reference system, or is in an old layout.
    """
    found: list[Obstacle] = []
    cautions: list[Finding] = []
    for entry in sorted(entries, key=lambda e: (str(e[0]), e[1] or "")):
        if entry[0].suffix.lower() == ".dat":
            obstacles, said = _from_file(entry, frame, grid, today)
        else:
            obstacles, said = _from_features(entry, frame, grid)
        found += obstacles
        cautions += said
    found = sorted(_together(found), key=_place)
    return tuple(found), (*cautions, *_cautions(found))


def _from_features(entry: Entry, frame: LocalFrame, grid: Grid) -> tuple[list[Obstacle], tuple[Finding, ...]]:
    features, cautions = read_features(entry, frame, bounds_of(grid), _KEY)
    found: list[Obstacle] = []
    hidden: Counter[Hidden] = Counter()
    for feature in features:
        named = name_obstacle(feature.tags, _dimension(feature), osm=feature.osm)
        if isinstance(named, Hidden):
            hidden[named] += 1
        elif named is not None:
            found.append(
                Obstacle(
                    named.words,
                    named.kind,
                    named.height_m,
                    named.assumed,
                    None,
                    accuracy_m(feature.tags),
                    feature.geometry,
                    feature.source,
                    named.kind in WIRES,
                    vertical_error_m=vertical_error_m(feature.tags),
                )
            )
    if hidden:
        left = tuple(
            Finding.of(what.code, count=hidden[what], state=what.state, filed=False)
            for what in sorted(hidden, key=lambda what: (what.code, what.state or ""))
        )
        cautions = (*cautions, Finding.of("obstacles-left-out", file=entry[0].name, left=left))
    return found, cautions


def _from_file(entry: Entry, frame: LocalFrame, grid: Grid, today: date) -> tuple[list[Obstacle], tuple[Finding, ...]]:
    left, bottom, right, top = bounds_of(grid)
    lon, lat = frame.to_lonlat([left, 0.0, right] * 2, [bottom] * 3 + [top] * 3)  # north and south reach furthest at 0
    lon = beside(lon, frame.lon_deg)
    file = read_obstacle_file(entry[0], min(lon), min(lat), max(lon), max(lat))
    name = entry[0].name
    standing = [record for record in file.obstacles if not record.dismantled]
    cautions = []
    if (gone := len(file.obstacles) - len(standing)) > 0:
        filed = Finding.of("obstacle-gone", count=gone, state="dismantled", filed=True)
        cautions.append(Finding.of("obstacles-left-out", file=name, left=(filed,)))
    if file.current is None:
        cautions.append(Finding.of("obstacle-file-undated", file=name))
    elif (days := (today - file.current).days) > OBSTACLE_FILE_DAYS.value:
        cautions.append(
            Finding.of(
                "obstacle-file-old",
                file=name,
                current=file.current.isoformat(),
                days=days,
                every_days=int(OBSTACLE_FILE_DAYS.value),
            )
        )
    placeless = sum(record.accuracy_m is None for record in standing)
    if placeless:
        cautions.append(Finding.of("obstacle-place-unknown", file=name, count=placeless))
    return [_filed(record, frame, name) for record in standing], tuple(cautions)


def _filed(record: FiledObstacle, frame: LocalFrame, source: str) -> Obstacle:
    from shapely import Point

    kind = kind_of(record.type) or "obstacle"
    assumed = not record.height_m
    height = ASSUMED_HEIGHT_M[kind].value if assumed or record.height_m is None else record.height_m
    point = Point(*frame.to_xy(record.lon_deg, record.lat_deg))
    return Obstacle(
        f"{record.type or kind} {record.number}",
        kind,
        height,
        assumed,
        record.verified,
        record.accuracy_m,
        point,
        source,
        kind in WIRES,
        record.top_m,
        record.vertical_error_m,
    )


def _dimension(feature: Feature) -> int:
    return {"Point": 0, "MultiPoint": 0, "Polygon": 2, "MultiPolygon": 2}.get(feature.geometry.geom_type, 1)


def _together(obstacles: Sequence[Obstacle]) -> list[Obstacle]:
    """Keep countless unnamed things of one height together, for the grid names 65 000 obstacles and no more."""
    import shapely

    single = [o for o in obstacles if o.kind not in _COUNTLESS or o.name != o.kind]
    groups: dict[tuple[object, ...], list[Obstacle]] = defaultdict(list)
    for o in obstacles:
        if o.kind in _COUNTLESS and o.name == o.kind:
            dimension = int(shapely.get_dimensions(o.geometry))
            groups[o.kind, dimension, o.height_m, o.height_assumed, o.accuracy_m, o.vertical_error_m, o.source].append(
                o
            )
    for members in groups.values():
        parts: list[Any] = [part for o in members for part in getattr(o.geometry, "geoms", (o.geometry,))]
        many = {"Point": shapely.MultiPoint, "Polygon": shapely.MultiPolygon}.get(
            parts[0].geom_type, shapely.MultiLineString
        )
        single.append(replace(members[0], geometry=many(parts) if len(parts) > 1 else parts[0]))
    return single


def _place(obstacle: Obstacle) -> tuple[object, ...]:
    centre = obstacle.geometry.centroid
    return obstacle.kind, obstacle.name, round(-centre.y, 2), round(centre.x, 2), obstacle.height_m, obstacle.source


def _cautions(obstacles: Sequence[Obstacle]) -> list[Finding]:
    cautions = []
    assumed = [o for o in obstacles if o.height_assumed]
    if assumed:
        taken = tuple(
            Finding.of("assumed-height", kind=kind, height_m=height)
            for kind, height in sorted({(o.kind, o.height_m) for o in assumed})
        )
        cautions.append(Finding.of("obstacle-height-assumed", count=len(assumed), of=len(obstacles), assumed=taken))
    if strange := sum(o.kind == "obstacle" for o in obstacles):
        cautions.append(Finding.of("obstacle-kind-unknown", count=strange))
    if unverified := sum(o.verified is False for o in obstacles):
        cautions.append(Finding.of("obstacle-unverified", count=unverified))
    if lone := sum(o.kind == "catenary" and o.geometry.geom_type == "Point" for o in obstacles):
        cautions.append(Finding.of("wire-direction-unknown", count=lone))
    return cautions
