"""What the tags and codes of a mapped water mean: usable, unusable and why, or no water at all.

Codes of the US National Hydrography Dataset (NHD), and words (`diproute.reading.water_words`), which mean the same as
OpenStreetMap tags, packed or not, and as plain columns. ``docs/layers.md`` lists the same rules for people.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from diproute.reading import attributes as at
from diproute.reading.attributes import Tags
from diproute.reading.water_words import SALT_WORDS, is_other_thing, kind_of, left_out_by
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
_UNSURE_KINDS: Final = frozenset({"stream", "ditch", "drain", "brook", "creek", "water", "basin"})
_NOT_ALWAYS: Final = {
    "intermittent": "intermittent", "is_intermittent": "intermittent", "ephemeral": "ephemeral", "dry": "dry",
    "seasonal": "seasonal",
}  # fmt: skip
_OUT_OF_USE: Final = ("disused", "abandoned", "proposed", "construction")
_PERSISTENCE: Final = ("persistence", "hydro_category", "hydroperiod")
_LOCATIONS: Final = {
    "underground": "underground", "underwater": "underground", "indoor": "covered", "roof": "covered",
}  # fmt: skip
_ROOFED: Final = ("covered", "indoor", "roof", "roofed", "building")
_PLAIN_KEYS: Final = ("kind", "class", "subtype", "type", "featuretypelabel")  # of tables that have their own words
_NO_KIND: Final = frozenset({"", "multipolygon", "polygon", "area", "boundary", "natural", "yes"})


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
        True for OpenStreetMap data, where a feature without a word for water is no water; elsewhere everything in a
        water layer is water that does not say to be another thing. The words mean the same everywhere.

    Returns
    -------
    Usable, Unusable or None
        None: no water.
    """
    code = _nhd_code(tags)
    verdict = _by_words(tags, osm=osm) if code is None else _nhd(*code)
    return None if verdict is None else _common(tags) or verdict


def _common(tags: Tags) -> Unusable | None:
    """Find what makes any water unusable, wherever it was mapped."""
    for key in _FOUL_KEYS:
        if (found := _FOUL.search(at.word(tags, key))) is not None:
            return _foul(tags, key, found[0])
    for key, code in _NOT_ALWAYS.items():
        if at.yes(tags, key):
            return _out(code, tags, key)
    for key in _PERSISTENCE:
        if (said := at.word(tags, key)) in _NOT_ALWAYS:
            return _out(said, tags, key)
    for key in _ROOFED:
        if at.yes(tags, key):
            return _out("covered", tags, key)
    if at.yes(tags, "tunnel"):
        return _out("in-tunnel", tags, "tunnel")
    if (place := _LOCATIONS.get(at.word(tags, "location"))) is not None:
        return _out(place, tags, "location")
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
    return Usable(name, name in SALT_WORDS, None if sure else _unsure(nhd_code=code))


def _by_words(tags: Tags, *, osm: bool) -> Usable | Unusable | None:
    if (out := left_out_by(tags)) is not None:
        return _out(out[0], tags, out[1])
    kind, known = _hydrolakes(tags) or kind_of(tags), True
    if kind is None:
        if osm or is_other_thing(tags):
            return None
        kind = next((word for key in _PLAIN_KEYS if (word := at.word(tags, key)) not in _NO_KIND), "water")
        known = False
    tidal = at.yes(tags, "tidal") or kind.startswith("tidal")
    salt = kind in SALT_WORDS or tidal or at.yes(tags, "salt", "saline", "is_salt")
    lasting = at.word(tags, "persistence") in ("perennial", "permanent") or at.no(
        tags, "intermittent", "seasonal", "is_intermittent"
    )
    if tidal:
        return Usable(kind, salt, _unsure(tidal=True))
    return Usable(kind, salt, None if lasting or (known and kind not in _UNSURE_KINDS) else _unsure())


def _hydrolakes(tags: Tags) -> str | None:
    """Kind of a lake of HydroLAKES v1.0: 1 lake, 2 reservoir, 3 controlled; None of any other."""
    kind = at.number(tags, "lake_type") if "hylak_id" in tags else None
    return None if kind is None else {1: "lake", 2: "reservoir", 3: "lake"}.get(int(kind))
