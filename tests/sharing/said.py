"""Invented records for the tests: made quickly, each different by a few words."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from diproute.sharing.record import Point, Properties, Seen, SiteRecord, Water, Who
from diproute.sharing.seal import Sealed, seal

NOW = datetime(2026, 8, 1, 12, tzinfo=UTC)
WHEN, UNTIL = "2026-07-01T12:00:00Z", "2027-05-01T00:00:00Z"


def record(name: str = "Heron Pond", at: tuple[float, float] = (-160.02, 42.12), **changed: Any) -> Sealed:
    """Make a record; `seen` and `who` take dictionaries and words, the rest are keys of the properties."""
    seen = changed.pop("seen", {"depth_dm": 25})
    agency = changed.pop("agency", "North District")
    water = changed.pop("water", name)
    said = {
        "invented": True,
        "name": name,
        "water": Water(name=water, kind="pond", salt=False),
        "how": "dipped",
        "who": Who(agency=agency, by="R. Doe"),
        "when": WHEN,
        "until": UNTIL,
        "seen": None if seen is None else Seen(**seen),
        **changed,
    }
    return seal(SiteRecord(geometry=Point(coordinates=at), properties=Properties(**said)))
