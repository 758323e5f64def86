"""What stands on everything that leaves the screen: that data are invented, and the usual cautions."""

from __future__ import annotations

from typing import Final

INVENTED: Final = "Invented data: this ground, these waters and this helicopter do not exist. Nobody may fly by it."

# Restated and shortened from the project's list of cautions
CAUTIONS: Final[tuple[tuple[str, str], ...]] = (
    (
        "An estimate, no more.",
        "It approves nothing. The flight manual, the operator, the agency and the pilot in command come first.",
    ),
    (
        "Check the hover chart.",
        "Compare with the current chart for this airframe, engine and kit before lifting, and again when the "
        "temperature, the height, the fuel, the crew or the kit changes.",
    ),
    (
        "Wires and trees may be missing.",
        "Cables, new towers, cranes and trees can be absent or misplaced here. A clear map is not a clear sky: "
        "look from high, then from low.",
    ),
    (
        "Know what the elevation is.",
        "Bare earth or treetops, in its own datum, with an error that its source states or does not.",
    ),
    (
        "The water is not inspected.",
        "Depth, bottom, snags, current, debris, weed, salt, ownership and invasive species are to be checked on site.",
    ),
    (
        "The wind here is not the wind there.",
        "Expect lee turbulence, downdraught and smoke. A downwind approach or a steep slow descent can end in "
        "settling with power.",
    ),
    (
        "Begin with less than a full load.",
        "Confirm the power in hand; know both releases and keep them armed; keep people clear; no load over "
        "people, roads or buildings.",
    ),
    (
        "The reserve is the legal least.",
        "Add for what may happen, and for the way home with the bucket on.",
    ),
    (
        "Many dips tire a crew.",
        "Count flight and duty time, take breaks, vary the circuit. Over glassy water nobody can judge height.",
    ),
    (
        "Say what a number is.",
        "Local time, WGS 84, degrees and minutes, true or magnetic, above sea level or above ground, and the unit.",
    ),
    (
        "Data grow old.",
        "Look at the date of every layer and of the weather; what is missing is not zero.",
    ),
    (
        "Others fly here too.",
        "Check flight restrictions, drones, other aircraft, and who else uses the same water.",
    ),
)
