"""A wind in one text, in the ways that people write it: in words, as numbers with a stroke, as in a METAR, calm."""

from __future__ import annotations

import re
from dataclasses import dataclass

from diproute.errors import QuantityError
from diproute.reading.schema import HERE, Quantity, Reader


@dataclass(frozen=True, slots=True)
class WindText:
    """A wind written in one text."""

    from_deg: float
    speed_m_s: float
    gust_m_s: float | None


class WindReader(Reader):
    """``"240 deg 12 kt"`` (with ``gust 20 kt`` or not), ``"280/8"``, ``"28008G15KT"`` as in a METAR, or ``"calm"``."""

    example = (
        'write it like "240 deg 12 kt" or "240 deg 12 kt gust 20 kt", or short like "280/8", "28008G15KT" or "calm"'
    )
    _written = re.compile(r"(\S+\s*deg)\s+(\S+\s*[a-z/]+)(?:\s+gust\s+(\S+\s*[a-z/]+))?\Z")
    _short = re.compile(r"(\d{3})\s*/\s*(\d{1,3})(?:\s*G\s*(\d{1,3}))?(?:\s*KT)?\Z", re.IGNORECASE)  # knots
    _report = re.compile(r"(\d{3})(\d{2})(?:G(\d{2}))?(KT|MPS)\Z", re.IGNORECASE)
    _direction, _speed = Quantity("direction", "0 deg", "360 deg"), Quantity("speed", "0 kt", "150 kt")

    def read(self, value: object) -> WindText:
        """Read one wind, from true."""
        parts = self._parts(value.strip()) if isinstance(value, str) else None
        if parts is None:
            raise QuantityError(f"{HERE}: cannot read {value!r} as a wind; {self.example}", where=HERE, got=value)
        direction, speed = self._direction.read(parts[0]), self._speed.read(parts[1])
        gust = None if parts[2] is None else self._speed.read(parts[2])
        assert direction is not None
        assert speed is not None
        if gust is not None and gust < speed:
            raise QuantityError(f'{HERE}: the gust of "{value}" is below its steady wind', where=HERE, got=value)
        return WindText(direction, speed, gust)

    def _parts(self, text: str) -> tuple[str, str, str | None] | None:
        """Direction, speed and gust as quantities with their units; None when it is no wind."""
        if text.lower() == "calm":
            return "0 deg", "0 kt", None
        if text.upper().startswith("VRB"):
            raise QuantityError(
                f'{HERE}: "{text}" has no direction to plan with; give the wind you expect, or "calm"',
                where=HERE,
                got=text,
            )
        if (written := self._written.match(text)) is not None:
            return written[1], written[2], written[3]
        match = self._short.match(text) or self._report.match(text)
        if match is None:
            return None
        unit = "m/s" if text.upper().endswith("MPS") else "kt"
        return f"{match[1]} deg", f"{match[2]} {unit}", f"{match[3]} {unit}" if match[3] else None
