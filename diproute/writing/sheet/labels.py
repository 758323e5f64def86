"""Words on a sheet that keep off each other and off the signs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from diproute.writing.drawings.svg import halo

Box = tuple[float, float, float, float]  # left, top, right, bottom

LETTER: Final = 0.52  # width of a letter, in sizes of the type
SIDES: Final = ("right", "left", "below", "above")


class Labels:
    """What is written so far, and where nothing may be."""

    def __init__(self, width: float, height: float) -> None:
        self._size = (width, height)
        self._taken: list[Box] = []
        self.drawn: list[str] = []

    def keep_off(self, x: float, y: float, radius: float) -> None:
        """Take a place for a sign."""
        self._taken.append((x - radius, y - radius, x + radius, y + radius))

    def write(self, x: float, y: float, text: str, *, size: float, fill: str = "ink", off: float = 0.0,
              sides: Sequence[str] = SIDES, **style: object) -> bool:  # fmt: skip
        """Write beside a place (in the middle of it when ``off`` is 0), where there is room.

        Returns
        -------
        bool
            False: there was none, and nothing is written.
        """
        wide, high = LETTER * size * len(text), size
        for side in sides if off else ("middle",):
            dx, dy, at = {
                "right": (off, 0.0, "start"), "left": (-off, 0.0, "end"), "middle": (0.0, 0.0, "middle"),
                "below": (0.0, off + high / 2, "middle"), "above": (0.0, -off - high / 2, "middle"),
            }[side]  # fmt: skip
            left = x + dx - {"start": 0.0, "middle": wide / 2, "end": wide}[at]
            box = (left, y + dy - high / 2, left + wide, y + dy + high / 2)
            if self._free(box):
                self._taken.append(box)
                self.drawn.append(halo(x + dx, y + dy + 0.35 * size, text, at=at, fill=fill, font_size=size, **style))
                return True
        return False

    def _free(self, box: Box) -> bool:
        left, top, right, bottom = box
        if left < 0 or top < 0 or right > self._size[0] or bottom > self._size[1]:
            return False
        return all(right <= a or left >= c or bottom <= b or top >= d for a, b, c, d in self._taken)
