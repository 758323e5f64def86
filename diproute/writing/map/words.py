"""What the page says besides its numbers."""

from __future__ import annotations

from typing import Final

LAYERS: Final[tuple[tuple[str, str], ...]] = (
    ("water", "Water in use"),
    ("left-out", "Water left out, and why"),
    ("sites", "Suitable dip site, with its rank"),
    ("refused", "Unsuitable dip site, and why"),
    ("legs", "Loaded leg, and empty leg (dashed)"),
    ("others", "Loaded legs of the other sites"),
    ("ferry", "To and from the helibase (dotted)"),
    ("wires", "Wires; a ring where a leg crosses"),
    ("obstacles", "Obstacle, with its height above ground"),
    ("avoid", "Closed to a load; light hatch: at a price"),
    ("blocked", "What blocks the way of an unsuitable site"),
    ("search", "Search limit"),
    ("names", "Names and heights"),
    ("graticule", "Latitude and longitude"),
)
