"""What the tags and codes of a mapped water mean: usable, unusable and why, or no water at all.

OpenStreetMap tags, codes of the US National Hydrography Dataset (NHD), and plain columns (name, kind, depth, salt,
intermittent, …). ``docs/layers.md`` lists the same rules for people.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from diproute.reading import attributes as at
from diproute.reading.attributes import Tags

# NHD feature domains: first three digits are the type (USGS data dictionary; groupings as restated in a public style
# sheet; the types without a reference here from memory)
_NHD_STILL: Final = {"perennial": {39004, 39009, 39010, 39011, 39012}, "intermittent": {39001, 39005, 39006}}
_NHD_RIVER: Final = {"perennial": {46006}, "intermittent": {46003}, "ephemeral": {46007}}
_NHD_STORAGE: Final = {
    "unknown": {43600, 43613, 43617, 43618, 43619}, "perennial": {43615, 43621}, "intermittent": {43614},
}  # fmt: skip
_NHD_LEFT_OUT: Final = {
    307: "land that a dam is still to flood",
    361: "a dry lake bed",
    364: "ground that the tide uncovers",
    378: "ice",
    403: "land that only floods reach",
    420: "an underground conduit",
    428: "a pipeline",
    431: "rapids",
    441: "a rocky patch",
    466: "a swamp or marsh",
    484: "a wash, dry but after rain",
    487: "a waterfall",
    537: "shifting channels between bars",
}
_NHD_KINDS: Final = {
    312: "bay", 336: "canal", 390: "lake", 398: "lock", 436: "reservoir", 445: "sea", 460: "river", 493: "estuary",
}  # fmt: skip
_NHD_NAMES: Final = {
    "lakepond": 390,
    "streamriver": 460,
    "reservoir": 436,
    "canalditch": 336,
    "swampmarsh": 466,
    "seaocean": 445,
    "bayinlet": 312,
    "estuary": 493,
    "playa": 361,
    "icemass": 378,
    "pipeline": 428,
    "artificialpath": 558,
}
_NHD_NO_WATER: Final = {558, 318, 343, 566, 568}  # centre line, bridge, dam, coast line, levee

_FOUL: Final = re.compile(
    r"\b(tailings?|sewage|waste ?water|effluent|evaporat\w+|slurry|sludge|leachate|settling|manure|brine|acid"
    r"|(?:oxidation|stabili[sz]ation|treatment|ash) pond|disposal)\b"
)
_FOUL_KEYS: Final = (
    "water",
    "kind",
    "type",
    "reservoir_type",
    "reservoir:type",
    "basin",
    "landuse",
    "man_made",
    "name",
    "gnis_name",
    "lake_name",
    "content",
    "substance",
    "usage",
    "industrial",
    "wastewater",
    "description",
)
_UNSURE_WATERWAYS: Final = frozenset({"stream", "ditch", "drain", "brook", "creek"})
_LINES: Final = frozenset({"river", "stream", "canal", "ditch", "drain", "tidal channel", "brook", "creek"})
_SALT_KINDS: Final = frozenset(
    {"sea", "ocean", "bay", "strait", "estuary", "lagoon", "fjord", "sound", "coast", "saltwater", "tidal channel"}
)
_OSM_LEFT_OUT: Final = {  # key, value in words
    ("natural", "wetland"): "a wetland: open water is not sure",
    ("natural", "glacier"): "ice",
    ("natural", "mud"): "mud",
    ("natural", "shoal"): "a shoal",
    ("natural", "reef"): "a reef",
    ("natural", "hot spring"): "a hot spring",
    ("leisure", "swimming pool"): "a swimming pool",
    ("man_made", "reservoir covered"): "covered",
    ("man_made", "wastewater plant"): "sewage",
    ("man_made", "tailings pond"): "tailings",
    ("man_made", "water tank"): "a tank",
    ("waterway", "rapids"): "rapids",
    ("waterway", "waterfall"): "a waterfall",
    ("waterway", "weir"): "a weir",
    ("waterway", "pressurised"): "a pressure pipe",
    ("waterway", "spillway"): "a spillway, dry but in floods",
    ("water", "rapids"): "rapids",
    ("water", "fish pass"): "a fish pass",
    ("water", "shallow"): "shallow",
    ("water", "intermittent"): "intermittent",
    ("landuse", "salt pond"): "a salt pond, left to evaporate",
    ("basin", "detention"): "a basin that is dry between floods",
    ("basin", "infiltration"): "a basin that drains into the ground",
}
_AREAL_WATERWAYS: Final = _LINES | {"riverbank", "dock", "lock"}


@dataclass(frozen=True, slots=True)
class Usable:
    """Open water that a bucket may use."""

    kind: str
    salt: bool
    unsure: str | None = None  # why it may not hold water now


@dataclass(frozen=True, slots=True)
class Unusable:
    """Water that no bucket can use."""

    because: str


def judge(tags: Tags, *, osm: bool) -> Usable | Unusable | None:
    """Say what a mapped water is.

    Parameters
    ----------
    tags
        Attributes, keys in lower case.
    osm
        True for OpenStreetMap data, where a feature without a water tag is no water; elsewhere everything in a water
        layer is water.

    Returns
    -------
    Usable, Unusable or None
        None: no water.
    """
    code = _nhd_code(tags)
    if code is not None:
        verdict = _nhd(*code)
    elif osm:
        verdict = _osm(tags)
    else:
        verdict = _plain(tags)
    return None if verdict is None else _common(tags) or verdict


def _common(tags: Tags) -> Unusable | None:
    """Find what makes any water unusable, wherever it was mapped."""
    for key in _FOUL_KEYS:
        if (found := _FOUL.search(at.word(tags, key))) is not None:
            return Unusable(f"{found[0]} ({key} = {at.text(tags, key)!r})")
    for key in ("intermittent", "ephemeral", "dry"):
        if at.yes(tags, key):
            return Unusable(f"{key}: no water is sure")
    if at.yes(tags, "seasonal"):
        return Unusable(f"seasonal ({at.text(tags, 'seasonal')}): no water is sure")
    if at.word(tags, "persistence", "hydro_category", "hydroperiod") in (
        "intermittent",
        "ephemeral",
        "seasonal",
        "dry",
    ):
        return Unusable(f"{at.word(tags, 'persistence', 'hydro_category', 'hydroperiod')}: no water is sure")
    if at.yes(tags, "covered") or at.yes(tags, "indoor"):
        return Unusable("covered")
    if at.yes(tags, "tunnel"):
        return Unusable("in a tunnel or culvert")
    if at.word(tags, "location") in ("underground", "indoor", "roof", "underwater"):
        return Unusable(f"{at.word(tags, 'location')}")
    for key in ("disused", "abandoned", "proposed", "construction"):
        if at.yes(tags, key):
            return Unusable(f"{key}: no water is sure")
    return None


def _nhd_code(tags: Tags) -> tuple[int, int] | None:
    """NHD type and code of a feature; None when it carries none."""
    code = at.number(tags, "fcode")
    if code is not None and 30000 <= code <= 57999:
        return int(code) // 100, int(code)
    kind = at.number(tags, "ftype")
    named = _NHD_NAMES.get(at.word(tags, "ftype").replace(" ", "").replace("/", ""))
    found = int(kind) if kind is not None and 300 <= kind <= 579 else named
    return None if found is None else (found, found * 100)


def _nhd(kind: int, code: int) -> Usable | Unusable | None:
    if kind in _NHD_NO_WATER:
        return None
    if kind in _NHD_LEFT_OUT:
        return Unusable(f"{_NHD_LEFT_OUT[kind]} (NHD code {code})")
    if kind not in _NHD_KINDS:
        return Unusable(f"NHD code {code} is not known as open water")
    table = {390: _NHD_STILL, 460: _NHD_RIVER, 436: _NHD_STORAGE}.get(kind, {})
    said = next((word for word, codes in table.items() if code in codes), None)
    if kind == 436 and said is None:
        return Unusable(f"a reservoir not for storing water: tailings, sewage, evaporation, … (NHD code {code})")
    if said in ("intermittent", "ephemeral"):
        return Unusable(f"{said} (NHD code {code})")
    name = _NHD_KINDS[kind]
    sure = said == "perennial" or name in ("sea", "bay", "estuary")
    return Usable(
        name, name in _SALT_KINDS, None if sure else f"NHD code {code} does not say that it holds water all year"
    )


def _osm(tags: Tags) -> Usable | Unusable | None:
    for (key, value), because in _OSM_LEFT_OUT.items():
        if at.word(tags, key) == value:
            return Unusable(because)
    natural, landuse, waterway = at.word(tags, "natural"), at.word(tags, "landuse"), at.word(tags, "waterway")
    place, water = at.word(tags, "place"), at.word(tags, "water")
    if natural in ("bay", "strait") or place in ("sea", "ocean"):
        kind = natural if natural in ("bay", "strait") else "sea"
    elif natural == "water":
        kind = water or "water"
    elif landuse in ("reservoir", "basin", "aquaculture", "pond"):
        kind = {"basin": "basin", "pond": "pond"}.get(landuse, "reservoir")
    elif waterway in _AREAL_WATERWAYS:
        kind = "river" if waterway == "riverbank" else waterway
    else:
        return None
    said = at.no(tags, "intermittent") or at.no(tags, "seasonal")
    unsure = None
    if not said and (kind in _UNSURE_WATERWAYS or kind in ("water", "basin")):
        unsure = "no tag says that it holds water all year"
    if at.yes(tags, "tidal"):
        unsure = "tidal: it may be dry at low water"
    return Usable(kind, kind in _SALT_KINDS or at.yes(tags, "salt") or at.yes(tags, "tidal"), unsure)


def _plain(tags: Tags) -> Usable | Unusable | None:
    lake_type = (
        at.number(tags, "lake_type") if "hylak_id" in tags else None
    )  # HydroLAKES v1.0: 1 lake, 2 reservoir, 3 controlled
    kind = {1: "lake", 2: "reservoir", 3: "lake"}.get(int(lake_type)) if lake_type is not None else None
    kind = kind or at.word(tags, "kind", "water", "type", "featuretypelabel", "class", "fclass") or "water"
    if kind in ("wetland", "swamp", "marsh", "glacier", "ice", "playa", "swimming pool", "rapids", "waterfall", "dry"):
        return Unusable(f"{kind}: open water is not sure")
    said = (
        at.no(tags, "intermittent")
        or at.no(tags, "seasonal")
        or at.word(tags, "persistence") in ("perennial", "permanent")
    )
    unsure = "nothing says that it holds water all year" if kind in _UNSURE_WATERWAYS | {"water"} and not said else None
    if at.yes(tags, "tidal"):
        unsure = "tidal: it may be dry at low water"
    return Usable(kind, kind in _SALT_KINDS or at.yes(tags, "salt") or at.yes(tags, "saline"), unsure)
