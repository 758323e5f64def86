"""The reader of a plan: in whose units, and from whose north, its findings and heights are told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from diproute.document import Plan
from diproute.units import Units, show
from diproute.wording import Reader, label, say


class Said(Protocol):
    """A finding of the document, or a part of it that is one."""

    @property
    def code(self) -> str:
        """The code."""

    @property
    def values(self) -> Mapping[str, Any]:
        """The values by name, SI."""


def told(found: Said, plan: Plan) -> str:
    """Say a finding in the units of the plan's reader, bearings magnetic; it begins small and has no full stop."""
    return say(found, Reader(plan.display, plan.declination_deg))


def sentence(found: Said, plan: Plan) -> str:
    """Say a finding as a sentence of its own."""
    text = told(found, plan)
    return f"{text[:1].upper()}{text[1:]}."


def altitude(value_m: float | None, display: Units) -> str:
    """Print a height above mean sea level, and that it is one: ``"4 210 ft MSL"``."""
    return f"{show(value_m, 'height', display)} {label('altitude', display)}"
