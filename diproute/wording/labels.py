"""The one word that a screen uses for a key of the plan: `docs/glossary.md` holds the same list with its sources."""

from __future__ import annotations

from typing import Final

from diproute.units import Units

LABELS: Final[dict[str, str]] = {
    # what holds a load: `Load.governed_by`
    "hover limit": "hover limit",
    "hook limit": "hook limit",
    "certificated mass": "gross weight limit",
    "fill setting": "bucket setting",
    # where a load hovers: `Load.place`
    "dip": "dip",
    "drop": "drop",
    "hover": "hover",
    # parts of a cycle: `CyclePart.name`; "drop" is above
    "fill": "fill",
    "lift": "lift",
    "transit loaded": "loaded leg",
    "lower at the drop": "lower at the drop",
    "turn at the drop": "turn at the drop",
    "lift at the drop": "lift at the drop",
    "transit empty": "empty leg",
    "turn at the dip": "turn at the dip",
    "wait for the dip": "wait for the dip",
    "lower": "lower",
    "manoeuvre": "manoeuvre",
    # lines of the load sheet: `LoadLine.name`; "hook limit" is above
    "equipped": "equipped weight",
    "crew": "crew weight",
    "fuel": "fuel weight",
    "operating mass": "operating weight",
    "chart limit": "computed gross weight (HOGE chart)",
    "vertical climb": "vertical climb",
    "weight reduction": "weight reduction",
    "hover margin": "hover margin",
    "adjusted": "adjusted weight",
    "certificated limit": "gross weight limit",
    "selected": "selected weight",
    "allowable payload": "allowable payload",
    "bucket": "bucket",
    "line": "line",
    "gear": "gear",
    "water allowed": "water allowed",
    "water carried": "water carried",
    "left": "margin",
    # parts of the score, by their code
    "score-distance": "distance",
    "score-altitude": "density altitude",
    "score-obstacles": "obstacles",
    "score-approach": "approach and departure",
    # other keys of the plan
    "arrival": "approach",
    "departure": "departure",
    "base": "helibase",
    "site": "dip site",
    "usable": "suitable",
    "refused": "unsuitable",
    "doubt": "uncertainty",
    "draws": "cases",
    "qnh": "QNH",
    "altitude": "AMSL",
}
# where the US reader has another word
US_LABELS: Final[dict[str, str]] = {
    "manoeuvre": "maneuver",
    "qnh": "altimeter setting",
    "altitude": "MSL",
}


def label(key: str, units: Units = "si") -> str:
    """Give the screen's word for a key.

    Parameters
    ----------
    key
        One of `diproute.records.keys`, or another of the plan's keys.
    units
        The reader's; a US reader has a few words of his own.

    Returns
    -------
    str
        ``"computed gross weight (HOGE chart)"`` for ``"chart limit"``; the key itself where it has no other word, as a
        drop's own name has none.
    """
    return (US_LABELS.get(key) if units == "us" else None) or LABELS.get(key, key)
