"""How large a layer may be, checked before work starts: what is beyond these would take all the memory or all day."""

from __future__ import annotations

from typing import Final

MOST_VERTICES_A_FEATURE: Final = 1_000_000
MOST_VERTICES: Final = 10_000_000  # of one layer, within what is looked at
MOST_FEATURES: Final = 500_000  # of one layer, within what is looked at
MOST_CELLS: Final = 400_000_000  # of all the files of one raster layer, within what is looked at
MOST_CROSSINGS: Final = 20_000  # of an area's edge with itself
MOST_SITE_HOURS: Final = 200_000  # sites kept times hours of the weather: some kilobytes each
