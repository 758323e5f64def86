"""The one word that a screen uses for a key of the plan: `docs/glossary.md` holds the same list with its sources."""

from __future__ import annotations

from typing import Final

from diproute.units import Units

LABELS: Final[dict[str, str]] = {
    # what holds a load: `Load.governed_by`
    "hover limit": "hover limit",
    "hook limit": "hook limit",
    "certificated mass": "certificated mass",
    "fill setting": "bucket setting",
}
# where the US reader has another word
US_LABELS: Final[dict[str, str]] = {
    "certificated mass": "certificated gross weight",
}


def label(key: str, units: Units = "si") -> str:
    """Give the screen's word for a key: ``"hover limit"`` as the load sheet calls it; one of a later release as it is."""
    return (US_LABELS.get(key) if units == "us" else None) or LABELS.get(key, key)
