"""The words by which waters are mapped, whatever the column that carries them.

OpenStreetMap's keys, extracts of it with one column for the kind, and plain tables use the same words; what they mean
does not depend on the key. Only a name is no such word: Marsh Lake is a lake.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from diproute.reading import attributes as at
from diproute.reading.attributes import Tags

# what a thing is may stand in any of these, the more particular first
KIND_KEYS: Final = (
    "water", "waterway", "reservoir_type", "reservoir:type", "basin", "wetland", "natural", "landuse", "leisure",
    "man_made", "amenity", "place", "kind", "class", "fclass", "subtype", "type", "featuretypelabel",
)  # fmt: skip
# OpenStreetMap's keys for things of every sort: a thing that has one of them and no word for water is no water
_THING_KEYS: Final = (
    "natural", "landuse", "leisure", "man_made", "amenity", "waterway", "building", "highway", "railway", "barrier",
    "tourism", "aeroway", "fclass",
)  # fmt: skip
_MERE_YES: Final = frozenset({"", "yes", "no", "true", "false", "1", "0", "y", "n"})  # natural or made by people

_LEFT_OUT: Final = {  # code of the finding -> words
    "wetland": "wetland, swamp, marsh, bog, fen, mire, mangrove, reedbed, swamp/marsh, swampmarsh, salt marsh, "
    "saltmarsh, peat bog, wet meadow, string bog",
    "ice": "glacier, ice, icemass, ice mass, snowfield, permanent snow, permanent snow/ice",
    "mud": "mud, mudflat, mud flat",
    "tidal-flat": "tidalflat, tidal flat, foreshore",
    "shoal": "shoal, sandbank",
    "reef": "reef",
    "rock": "rock, rocks",
    "hot-spring": "hot spring, geyser",
    "swimming-pool": "swimming pool, swimmingpool, paddling pool, wading pool, water park, plunge pool",
    "covered": "covered, roofed, covered reservoir, reservoir covered, roofed reservoir, covered basin, "
    "service reservoir, underground reservoir",
    "tank": "tank, cistern, water tank, watertank, storage tank, rainwater tank, water tower",
    "salt-pond": "salt pond, saltpond, salt pan, saltpan, saltern, salt works, saltworks, salt evaporator",
    "fish-pass": "fish pass, fishpass, fish ladder, fishway",
    "fountain": "fountain, drinking fountain",
    "sewage": "sewage, wastewater, waste water, wastewater plant, sewage works, sewage treatment",
    "tailings": "tailings, tailings pond, tailing pond, mine tailings",
    "dry": "dry, playa, dry lake, dry pan, salt flat",
    "intermittent": "intermittent, intermittent lake, intermittent pond, intermittent river, intermittent stream, "
    "intermittent water, non-perennial",
    "ephemeral": "ephemeral, ephemeral lake, ephemeral river, ephemeral stream",
    "seasonal": "seasonal, seasonal lake, seasonal pond, seasonal water, seasonal river, seasonal stream",
    "rapids": "rapids",
    "waterfall": "waterfall, falls",
    "weir": "weir",
    "pipeline": "pressurised, pipeline, penstock",
    "spillway": "spillway",
    "shallow": "shallow",
    "detention-basin": "detention, detention basin",
    "infiltration-basin": "infiltration, infiltration basin, soakaway",
    "in-tunnel": "culvert",
}
_LEFT_OUT_BY: Final = {word: code for code, said in _LEFT_OUT.items() for word in said.split(", ")}
_FLAGS: Final = {  # columns that say yes or no -> code of the finding
    "wetland": "wetland", "glacier": "ice", "swimming_pool": "swimming-pool", "tank": "tank", "salt_pond": "salt-pond",
    "fish_pass": "fish-pass", "fountain": "fountain", "sewage": "sewage", "tailings": "tailings",
}  # fmt: skip
# no water, and not left out either: it says nothing of the water beside it
_NO_WATER: Final = frozenset({
    "dam", "beach", "coastline", "lock gate", "dyke", "levee", "embankment", "pier", "groyne", "breakwater", "spring",
    "water well", "water works", "drinking water", "shingle", "sand", "riverbed", "fuel", "boatyard", "sluice gate",
    "turning point", "water point", "artificial path", "artificialpath", "island", "islet", "slipway",
})  # fmt: skip
FLOWING_WORDS: Final = frozenset(
    {"river", "stream", "canal", "ditch", "drain", "tidal channel", "brook", "creek", "riverbank"}
)
SALT_WORDS: Final = frozenset({
    "sea", "ocean", "bay", "strait", "estuary", "lagoon", "fjord", "sound", "coast", "saltwater", "tidal channel",
    "salt water", "salt lake", "inlet",
})  # fmt: skip
_STILL_WORDS: Final = frozenset({
    "water", "lake", "pond", "reservoir", "basin", "tarn", "loch", "lough", "oxbow", "lake pond", "lake/pond",
    "lakepond", "waterbody", "water body", "fishpond", "fish pond", "aquaculture", "harbour", "harbor", "dock", "lock",
    "moat", "stream pool", "reflecting pool", "canal pond", "quarry", "dugout", "stock pond", "farm pond",
})  # fmt: skip
_SAME: Final = {
    "riverbank": "river", "aquaculture": "reservoir", "lake pond": "lake", "lake/pond": "lake", "lakepond": "lake",
    "ocean": "sea", "waterbody": "water", "water body": "water",
}  # fmt: skip
WATER_WORDS: Final = _STILL_WORDS | FLOWING_WORDS | SALT_WORDS


def words(tags: Tags) -> Iterator[tuple[str, str]]:
    """Give each key that may say what a thing is, with its word in lower case; lists are taken apart."""
    for key in KIND_KEYS:
        for word in at.word(tags, key).split(";"):
            if word := word.strip():
                yield key, word


def left_out_by(tags: Tags) -> tuple[str, str] | None:
    """Code and key of the first word that leaves a water out; None where no word does."""
    found = ((code, key) for key, word in words(tags) if (code := _LEFT_OUT_BY.get(word)) is not None)
    flags = ((code, key) for key, code in _FLAGS.items() if at.yes(tags, key))
    return next(found, None) or next(flags, None)


def kind_of(tags: Tags) -> str | None:
    """Give the kind of water that a feature says it is, the more particular word first; None where it says none."""
    found = [_SAME.get(word, word) for _, word in words(tags) if word in WATER_WORDS]
    return next((kind for kind in found if kind != "water"), found[0] if found else None)


def is_other_thing(tags: Tags) -> bool:
    """Whether a feature says that it is something beside the water, or a thing of another sort."""
    beside = any(word in _NO_WATER for _, word in words(tags))
    return beside or at.yes(tags, "building") or any(at.word(tags, key) not in _MERE_YES for key in _THING_KEYS)
