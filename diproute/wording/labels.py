"""The one word that a screen uses for a key of the plan: `docs/glossary.md` holds the same list with its sources."""

from __future__ import annotations

from typing import Final

from diproute.units import Units

LABELS: Final[dict[str, str]] = {}
US_LABELS: Final[dict[str, str]] = {}  # where the US reader has another word


def label(key: str, units: Units = "si") -> str:
    """Give the screen's word for a key: ``"hover limit"`` as the load sheet calls it."""
    return (US_LABELS.get(key) if units == "us" else None) or LABELS[key]
