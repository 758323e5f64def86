"""The short word of why that stands on the map: under a hollow disc, and in a water that is left out."""

from __future__ import annotations

from typing import Final

SHORT: Final[dict[str, str]] = {
    # a site that is refused
    "out-of-reach": "out of reach",
    "shore-clearance": "too narrow",
    "too-shallow": "too shallow",
    "obstacles-unknown": "obstacles not known",
    "line-too-short": "line too short",
    "no-way-in": "no approach open",
    "no-way-out": "no departure open",
    "wind-in": "wind on approach",
    "wind-out": "wind on departure",
    "blocked-area": "closed area",
    "blocked-wind": "too much wind",
    "blocked-unknown": "way not known",
    "wind-too-strong": "too much wind",
    "gusts-too-wide": "gusts too wide",
    "people-near": "people near",
    "no-flyable-departure": "no flyable departure",
    "no-flyable-arrival": "no flyable approach",
    "audit-area": "closed area",
    "audit-wire": "wire too near",
    "drop-line": "drop asks for line",
    "no-lift": "too heavy",
    "outside-chart": "outside hover chart",
    "fuel-short": "too little fuel",
    # a node of the what-if grid that is closed
    "no-leg-found": "no leg found",
    "rates-end": "rates not given",
    # a water that is left out
    "line-without-width": "width not known",
    "dry": "dry",
    "intermittent": "water not sure",
    "ephemeral": "water not sure",
    "seasonal": "water not sure",
    "out-of-use": "out of use",
    "covered": "covered",
    "in-tunnel": "in a tunnel",
    "underground": "underground",
    "pipeline": "pipeline",
    "tank": "tank",
    "tailings": "tailings",
    "sewage": "sewage",
    "foul": "foul water",
    "not-for-storage": "not for water storage",
    "not-open-water": "no open water",
    "salt-pond": "salt pond",
    "detention-basin": "dry between floods",
    "infiltration-basin": "drains away",
    "to-be-flooded": "not yet flooded",
    "flood-land": "flood land",
    "tidal-flat": "tidal flat",
    "wash": "dry wash",
    "shifting-bars": "shifting channels",
    "wetland": "wetland",
    "ice": "ice",
    "mud": "mud",
    "rock": "rock",
    "shoal": "shoal",
    "reef": "reef",
    "shallow": "shallow",
    "hot-spring": "hot spring",
    "swimming-pool": "swimming pool",
    "rapids": "rapids",
    "waterfall": "waterfall",
    "weir": "weir",
    "spillway": "spillway",
    "fish-pass": "fish pass",
    "fountain": "fountain",
}
UNHEARD: Final = "see why"  # a code of a later release


def short(code: str) -> str:
    """Give the short word for a code that refuses a site or leaves a water out."""
    return SHORT.get(code, UNHEARD)
