"""The plan as a document: models that are written and read back, their schema generated from them."""

from __future__ import annotations

from diproute.document.compose import compose
from diproute.document.file import plan_text, read_plan, write_plan
from diproute.document.findings import Finding
from diproute.document.legs import Leg
from diproute.document.plan import FORMAT, Plan
from diproute.document.site import Site

__all__ = ["FORMAT", "Finding", "Leg", "Plan", "Site", "compose", "plan_text", "read_plan", "write_plan"]
