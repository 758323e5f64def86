"""Sentences about the plan as a whole: score, hours, uncertainty, fleet, duty."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Codes

CODES: Final[Codes] = {}
