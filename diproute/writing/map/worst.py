"""What of a site stands first: what refuses it, then the cautions that can hurt at once."""

from __future__ import annotations

from typing import Final

from diproute.document.findings import Finding
from diproute.document.site import Site

# what kills comes first; what is not named here keeps the plan's order behind these
WORST: Final = (
    "obstacles-unknown", "directions-unknown", "wire-oblique", "wire-height-assumed", "people-near", "drop-people",
    "tailwind-loaded", "steep-tailwind", "yaw-sector", "one-way", "drop-climb-out", "surface-penetrated",
    "surface-unknown", "density-altitude-high", "legs-close", "fast-descent", "descent-capped", "water-slopes",
    "water-unsure", "level-unknown", "level-wide", "depth-unknown", "depths-differ",
)  # fmt: skip
_RANK: Final = {code: rank for rank, code in enumerate(WORST)}


def first_worst(site: Site) -> tuple[Finding, ...]:
    """Give what refuses a site, then its cautions, the worst first."""
    cautions = sorted(site.cautions, key=lambda found: _RANK.get(found.code, len(WORST)))
    return (*site.refused, *cautions)
