"""Sentences about a dip site: water, depth, line, lift, approach."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Codes

CODES: Final[Codes] = {}
