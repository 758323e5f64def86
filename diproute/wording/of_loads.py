"""Sentences about the load, the fuel and the lines compared."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Codes

CODES: Final[Codes] = {}
