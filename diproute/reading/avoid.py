"""Areas to avoid: closed to a slung load, or open at a price; roads and places widened by a sideways distance."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from typing import Any, Final

from diproute import units
from diproute.constants import AVOID_DISTANCE_M, FT_M
from diproute.errors import LayerError, QuantityError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import attributes as at
from diproute.reading.grid import Box
from diproute.reading.vectors import Entry, Feature, read_features
from diproute.records import AvoidArea, Finding

_KEY: Final = "layers.avoid"
_BEYOND_M: Final = 2000.0  # roads this far out may still reach in by their distance
_DISTANCES: Final = ("distance", "sideways", "buffer")
_ROADS: Final = frozenset(
    {"motorway", "trunk", "primary", "secondary", "tertiary", "residential", "living street", "unclassified"}
)
_OSM: Final = (  # key, values (empty: any), words
    ("building", frozenset[str](), "buildings"),
    ("landuse", frozenset({"residential", "commercial", "retail", "industrial", "education"}), "built-up area"),
    ("place", frozenset({"village", "hamlet", "town", "isolated dwelling", "farm"}), "place where people live"),
    (
        "tourism",
        frozenset({"camp site", "caravan site", "picnic site", "camp pitch", "alpine hut", "wilderness hut"}),
        "camp",
    ),
    (
        "amenity",
        frozenset({"school", "hospital", "kindergarten", "college", "university", "prison"}),
        "school or hospital",
    ),
    (
        "leisure",
        frozenset({"stadium", "sports centre", "water park", "pitch", "playground", "beach resort"}),
        "leisure ground",
    ),
    ("aeroway", frozenset({"aerodrome", "runway", "heliport", "helipad"}), "aerodrome"),
    ("railway", frozenset({"rail", "light rail", "station"}), "railway"),
)
_FLIGHT_LEVEL: Final = re.compile(r"FL\s*(\d{2,3})\Z", re.IGNORECASE)
_GROUND: Final = frozenset({"sfc", "gnd", "surface", "ground", "0"})
_UNLIMITED: Final = frozenset({"unl", "unlimited", "unlim"})


def read_avoid(
    entries: Sequence[Entry], frame: LocalFrame, box: Box
) -> tuple[tuple[AvoidArea, ...], tuple[Finding, ...]]:
    """Read the areas to avoid.

    Areas are taken as they are, widened when they give a ``distance``; lines and points are widened by their
    ``distance``, or `constants.AVOID_DISTANCE_M`. Of OpenStreetMap data the roads with traffic and the places of
    people count, kept together by kind; of any other file everything.

    Parameters
    ----------
    entries
        The layers.
    frame
        The working frame.
    box
        Left, bottom, right and top of what is looked at [m].

    Returns
    -------
    areas : tuple of AvoidArea
        By name, reason and place, whatever the order of files and features.
    cautions : tuple of Finding
        What was dropped or lies elsewhere.

    Raises
    ------
    LayerError
        A file that cannot be read, or a floor, ceiling or cost that cannot be understood.
    """
    wider = (box[0] - _BEYOND_M, box[1] - _BEYOND_M, box[2] + _BEYOND_M, box[3] + _BEYOND_M)
    areas: list[AvoidArea] = []
    cautions: list[Finding] = []
    for entry in sorted(entries, key=lambda e: (str(e[0]), e[1] or "")):
        features, said = read_features(entry, frame, wider, _KEY)
        cautions += said
        areas += [_area(feature) for feature in features if not feature.osm]
        areas += _of_osm([feature for feature in features if feature.osm])
    return tuple(sorted(areas, key=_place)), tuple(cautions)


def _area(feature: Feature) -> AvoidArea:
    tags, source = feature.tags, feature.source
    name = at.text(tags, "name", "title", "kind", "type") or "area to avoid"
    cost = at.number(tags, "cost", "extra_cost")
    hard = not at.no(tags, "hard", "closed") if cost is None or at.text(tags, "hard", "closed") else False
    if not hard and cost is None:
        raise LayerError(
            f"{_KEY}: {source}: {name!r} is not hard and has no cost; write how many times a minute inside counts, "
            "such as cost = 3",
            where=_KEY,
        )
    if cost is not None and not 1 <= cost < 1000:
        raise LayerError(
            f"{_KEY}: {source}: {name!r} has cost {cost:g}, wanted 1 (no extra) or more", where=_KEY, got=cost
        )
    floor, ceiling = _level(tags, "floor", name, source), _level(tags, "ceiling", name, source)
    if floor is not None and ceiling is not None and floor >= ceiling:
        raise LayerError(
            f"{_KEY}: {source}: {name!r} has its floor {floor:.0f} m at or above its ceiling {ceiling:.0f} m",
            where=_KEY,
        )
    said = at.text(tags, "because", "reason", "kind", "type")
    why = Finding.of("area-said", text=said) if said else Finding.of("area-closed" if hard else "area-costs")
    return AvoidArea(name, why, hard, 1.0 if hard or cost is None else cost, _widened(feature), floor, ceiling)


def _widened(feature: Feature) -> Any:
    distance = at.length_m(feature.tags, *_DISTANCES)
    if distance is None and not feature.osm:
        said = at.text(feature.tags, *(key for stem in _DISTANCES for key in (f"{stem}_m", f"{stem}_ft", stem)))
        if said:
            raise LayerError(
                f'{_KEY}: {feature.source}: cannot read the distance {said!r}; write it like "50 m", at most 10 km',
                where=_KEY,
                got=said,
            )
    if feature.geometry.geom_type in ("Polygon", "MultiPolygon"):
        return feature.geometry.buffer(distance) if distance else feature.geometry
    return feature.geometry.buffer(distance or AVOID_DISTANCE_M.value)


def _of_osm(features: Sequence[Feature]) -> list[AvoidArea]:
    import shapely

    kinds: dict[str, list[Any]] = defaultdict(list)
    for feature in features:
        tags = feature.tags
        if at.yes(tags, "tunnel") or at.word(tags, "location") == "underground":
            continue
        words = (
            "road"
            if at.word(tags, "highway").removesuffix(" link") in _ROADS
            else next(
                (
                    words
                    for key, values, words in _OSM
                    if at.yes(tags, key) and (not values or at.word(tags, key) in values)
                ),
                None,
            )
        )
        if words is not None:
            kinds[words].append(_widened(feature))
    source = features[0].source if features else ""
    return [
        AvoidArea(kind, Finding.of("area-mapped", kind=kind, file=source), True, 1.0, shapely.union_all(shapes))
        for kind, shapes in kinds.items()
    ]


def _level(tags: at.Tags, stem: str, name: str, source: str) -> float | None:
    """Height above sea level of an airspace's floor or ceiling [m]; None: the ground, or no upper end."""
    for key, factor in ((f"{stem}_m", 1.0), (f"{stem}_ft", FT_M.value)):
        if (value := at.number(tags, key)) is not None:
            return value * factor
    said = at.text(tags, stem)
    if not said or said.lower() in _UNLIMITED or (stem == "floor" and said.lower() in _GROUND):
        return None
    if (level := _FLIGHT_LEVEL.match(said)) is not None:
        return int(level[1]) * 100 * FT_M.value
    try:
        return units.parse(
            re.sub(r"\s*(a?msl)\Z", "", said, flags=re.IGNORECASE), "length", f"{_KEY}: {source}: {stem} of {name!r}"
        )
    except QuantityError as error:
        raise LayerError(str(error), where=_KEY, got=said) from error


def _place(area: AvoidArea) -> tuple[object, ...]:
    centre = area.geometry.centroid
    return area.name, repr(area.why), round(-centre.y, 2), round(centre.x, 2), round(area.geometry.area, 2)
