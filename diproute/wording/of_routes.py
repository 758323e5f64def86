"""Sentences about the legs and what blocks them."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Codes

CODES: Final[Codes] = {}
