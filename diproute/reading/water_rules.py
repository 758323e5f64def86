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
from diproute.records import Finding

# NHD feature domains: first three digits are the type (USGS data dictionary; groupings as restated in a public style
# sheet; the types without a reference here from memory)
_NHD_STILL: Final = {"perennial": {39004, 39009, 39010, 39011, 39012}, "intermittent": {39001, 39005, 39006}}
_NHD_RIVER: Final = {"perennial": {46006}, "intermittent": {46003}, "ephemeral": {46007}}
_NHD_STORAGE: Final = {
    "unknown": {43600, 43613, 43617, 43618, 43619}, "perennial": {43615, 43621}, "intermittent": {43614},
}  # fmt: skip
_NHD_LEFT_OUT: Final = {  # type -> code of the finding
    307: "to-be-flooded", 361: "dry", 364: "tidal-flat", 378: "ice", 403: "flood-land", 420: "underground",
    428: "pipeline", 431: "rapids", 441: "rock", 466: "wetland", 484: "wash", 487: "waterfall", 537: "shifting-bars",
}  # fmt: skip
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
_OSM_LEFT_OUT: Final = {  # key, value -> code of the finding
    ("natural", "wetland"): "wetland",
    ("natural", "glacier"): "ice",
    ("natural", "mud"): "mud",
    ("natural", "shoal"): "shoal",
    ("natural", "reef"): "reef",
    ("natural", "hot spring"): "hot-spring",
    ("leisure", "swimming pool"): "swimming-pool",
    ("man_made", "reservoir covered"): "covered",
    ("man_made", "wastewater plant"): "sewage",
    ("man_made", "tailings pond"): "tailings",
    ("man_made", "water tank"): "tank",
    ("waterway", "rapids"): "rapids",
    ("waterway", "waterfall"): "waterfall",
    ("waterway", "weir"): "weir",
    ("waterway", "pressurised"): "pipeline",
    ("waterway", "spillway"): "spillway",
    ("water", "rapids"): "rapids",
    ("water", "fish pass"): "fish-pass",
    ("water", "shallow"): "shallow",
    ("water", "intermittent"): "intermittent",
    ("landuse", "salt pond"): "salt-pond",
    ("basin", "detention"): "detention-basin",
    ("basin", "infiltration"): "infiltration-basin",
}
_PLAIN_LEFT_OUT: Final = {  # kind -> code of the finding
    "wetland": "wetland", "swamp": "wetland", "marsh": "wetland", "glacier": "ice", "ice": "ice", "playa": "dry",
    "swimming pool": "swimming-pool", "rapids": "rapids", "waterfall": "waterfall", "dry": "dry",
}  # fmt: skip
_NOT_ALWAYS: Final = ("intermittent", "ephemeral", "dry", "seasonal")  # tags, and codes of the finding
_OUT_OF_USE: Final = ("disused", "abandoned", "proposed", "construction")
_PERSISTENCE: Final = ("persistence", "hydro_category", "hydroperiod")
_LOCATIONS: Final = {
    "underground": "underground", "underwater": "underground", "indoor": "covered", "roof": "covered",
}  # fmt: skip
_KIND_KEYS: Final = ("kind", "water", "type", "featuretypelabel", "class", "fclass")
_AREAL_WATERWAYS: Final = _LINES | {"riverbank", "dock", "lock"}


@dataclass(frozen=True, slots=True)
class Usable:
    """Open water that a bucket may use."""

    kind: str
    salt: bool
    unsure: Finding | None = None  # why it may not hold water now


@dataclass(frozen=True, slots=True)
class Unusable:
    """Water that no bucket can use."""

    why: Finding


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
            return _foul(tags, key, found[0])
    for key in _NOT_ALWAYS:
        if at.yes(tags, key):
            return _out(key, tags, key)
    for key in _PERSISTENCE:
        if (said := at.word(tags, key)) in _NOT_ALWAYS:
            return _out(said, tags, key)
    for key in ("covered", "indoor"):
        if at.yes(tags, key):
            return _out("covered", tags, key)
    if at.yes(tags, "tunnel"):
        return _out("in-tunnel", tags, "tunnel")
    if (code := _LOCATIONS.get(at.word(tags, "location"))) is not None:
        return _out(code, tags, "location")
    for key in _OUT_OF_USE:
        if at.yes(tags, key):
            return Unusable(Finding.of("out-of-use", state=key, tag=key, said=at.text(tags, key), nhd_code=None))
    return None


def _foul(tags: Tags, key: str, what: str) -> Unusable:
    if what.startswith("tailing"):
        return _out("tailings", tags, key)
    if what in ("sewage", "waste water", "wastewater", "effluent"):
        return _out("sewage", tags, key)
    return Unusable(Finding.of("foul", what=what, tag=key, said=at.text(tags, key), nhd_code=None))


def _out(code: str, tags: Tags, key: str) -> Unusable:
    """Leave a water out by one of its tags."""
    return Unusable(Finding.of(code, tag=key, said=at.text(tags, key), nhd_code=None))


def _out_by_nhd(code: str, nhd_code: int) -> Unusable:
    return Unusable(Finding.of(code, tag=None, said=None, nhd_code=nhd_code))


def _unsure(*, tidal: bool = False, nhd_code: int | None = None) -> Finding:
    return Finding.of("water-unsure", tidal=tidal, nhd_code=nhd_code)


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
        return _out_by_nhd(_NHD_LEFT_OUT[kind], code)
    if kind not in _NHD_KINDS:
        return _out_by_nhd("not-open-water", code)
    table = {390: _NHD_STILL, 460: _NHD_RIVER, 436: _NHD_STORAGE}.get(kind, {})
    said = next((word for word, codes in table.items() if code in codes), None)
    if kind == 436 and said is None:
        return _out_by_nhd("not-for-storage", code)
    if said in ("intermittent", "ephemeral"):
        return _out_by_nhd(said, code)
    name = _NHD_KINDS[kind]
    sure = said == "perennial" or name in ("sea", "bay", "estuary")
    return Usable(name, name in _SALT_KINDS, None if sure else _unsure(nhd_code=code))


def _osm(tags: Tags) -> Usable | Unusable | None:
    for (key, value), code in _OSM_LEFT_OUT.items():
        if at.word(tags, key) == value:
            return _out(code, tags, key)
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
        unsure = _unsure()
    if at.yes(tags, "tidal"):
        unsure = _unsure(tidal=True)
    return Usable(kind, kind in _SALT_KINDS or at.yes(tags, "salt") or at.yes(tags, "tidal"), unsure)


def _plain(tags: Tags) -> Usable | Unusable | None:
    lake_type = (
        at.number(tags, "lake_type") if "hylak_id" in tags else None
    )  # HydroLAKES v1.0: 1 lake, 2 reservoir, 3 controlled
    kind = {1: "lake", 2: "reservoir", 3: "lake"}.get(int(lake_type)) if lake_type is not None else None
    key = next((key for key in _KIND_KEYS if at.word(tags, key)), "kind")
    kind = kind or at.word(tags, key) or "water"
    if (code := _PLAIN_LEFT_OUT.get(kind)) is not None:
        return _out(code, tags, key)
    said = (
        at.no(tags, "intermittent")
        or at.no(tags, "seasonal")
        or at.word(tags, "persistence") in ("perennial", "permanent")
    )
    unsure = _unsure() if kind in _UNSURE_WATERWAYS | {"water"} and not said else None
    if at.yes(tags, "tidal"):
        unsure = _unsure(tidal=True)
    return Usable(kind, kind in _SALT_KINDS or at.yes(tags, "salt") or at.yes(tags, "saline"), unsure)
