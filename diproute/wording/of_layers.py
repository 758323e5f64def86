"""Sentences about the layers: ground, canopy, obstacles, water, areas."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Codes

CODES: Final[Codes] = {}
