"""From SI to the numbers along an axis."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from diproute.units import SHOWN, UNITS, Display, Kind, unit_name

# what a reading measures, of those that pictures and the page print by themselves
MEASURES: Final[dict[str, Kind]] = {
    "height": "length", "distance": "length", "line": "length", "depth": "length", "mass": "mass", "volume": "volume",
    "wind": "speed", "speed": "speed", "temperature": "temperature",
}  # fmt: skip


def shown(value: float, what: str, display: Display) -> float:
    """Turn an SI value into the unit that `units.show` prints, as a number."""
    name = SHOWN[what][0 if display == "us" else 1][0]
    factor, offset = UNITS[MEASURES[what]][name]
    return (value - offset) / factor


@dataclass(frozen=True, slots=True)
class Axis:
    """A straight scale: SI values from `low` to `high` drawn from `start` to `end`, with round ticks in trade units."""

    what: str
    display: Display
    low: float
    high: float
    start: float
    end: float
    ticks_wanted: int = 5

    def at(self, value: float) -> float:
        """Place of an SI value on the drawing."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    @property
    def ticks(self) -> list[tuple[float, str]]:
        """Places and words of the round numbers inside the scale."""
        unit = shown(1.0, self.what, self.display) - shown(0.0, self.what, self.display)
        zero = shown(0.0, self.what, self.display)
        low, high = shown(self.low, self.what, self.display), shown(self.high, self.what, self.display)
        step = round_step((high - low) / self.ticks_wanted)
        decimals = max(0, -math.floor(math.log10(step)))
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        return [
            (self.at((i * step - zero) / unit), f"{i * step + 0.0:,.{decimals}f}".replace(",", "\u202f"))
            for i in range(first, last + 1)
        ]

    @property
    def unit(self) -> str:
        """Name of the unit along the scale."""
        return unit_name(self.what, self.display)


def round_step(rough: float) -> float:
    """Give the round number (1, 2 or 5 times a power of ten) nearest to a rough step."""
    power = 10.0 ** math.floor(math.log10(rough))
    return min((m * power for m in (1.0, 2.0, 5.0, 10.0)), key=lambda step: abs(math.log(step / rough)))
