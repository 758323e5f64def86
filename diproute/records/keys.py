"""The keys by which records and files name parts of a cycle, places, limits and lines of a load sheet.

They are stable and no words for a screen: `diproute.wording.label` gives the word that a reader sees.
"""

from __future__ import annotations

from typing import Final

# parts of a cycle, in flying order: `CyclePart.name`
FILL: Final = "fill"
LIFT: Final = "lift"
TRANSIT_LOADED: Final = "transit loaded"
DROP_LOWER: Final = "lower at the drop"
DROPPING: Final = "drop"
DROP_TURN: Final = "turn at the drop"
DROP_LIFT: Final = "lift at the drop"
TRANSIT_EMPTY: Final = "transit empty"
WAIT: Final = "wait for the dip"
LOWER: Final = "lower"
DIP_TURN: Final = "turn at the dip"
MANOEUVRE: Final = "manoeuvre"
CYCLE_PARTS: Final = (
    FILL, LIFT, TRANSIT_LOADED, DROP_LOWER, DROPPING, DROP_TURN, DROP_LIFT, TRANSIT_EMPTY, WAIT, LOWER, DIP_TURN,
    MANOEUVRE,
)  # fmt: skip
MAY_BE_NOTHING: Final = frozenset({DROP_LOWER, DROP_TURN, DROP_LIFT, WAIT, DIP_TURN})
AFTER_DROP: Final = frozenset({DROP_TURN, DROP_LIFT, TRANSIT_EMPTY, WAIT, LOWER, DIP_TURN})
IN_THE_DIP: Final = frozenset({LOWER, DIP_TURN, FILL, LIFT})  # nobody else can use it meanwhile

# where a load hovers: `Load.place`
DIP: Final = "dip"
DROP: Final = "drop"
HERE: Final = "hover"  # a load calculation for a height alone

# what holds a load: `Load.governed_by`
HOVER_LIMIT: Final = "hover limit"
HOOK_LIMIT: Final = "hook limit"
CERTIFICATED_MASS: Final = "certificated mass"
FILL_SETTING: Final = "fill setting"
GOVERNING: Final = (HOVER_LIMIT, HOOK_LIMIT, CERTIFICATED_MASS, FILL_SETTING)

# lines of the load sheet, in the order of the form: `LoadLine.name`
SHEET_LINES: Final = (
    "equipped", "crew", "fuel", "operating mass", "chart limit", "vertical climb", "weight reduction", "hover "
    "margin", "adjusted",
    "certificated limit", "selected", "allowable payload", "bucket", "line", "gear", "hook limit", "water allowed",
    "water carried", "left",
)  # fmt: skip


def drop_place(name: str, drops: int) -> str:
    """Give the key of a drop as a place: ``"drop"`` where there is one, else ``"drop NAME"``."""
    return DROP if drops == 1 else f"{DROP} {name}"
