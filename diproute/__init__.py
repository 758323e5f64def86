"""Dip sites, loads, routes and water per hour for helicopter bucket work on wildfires.

>>> from diproute import read_incident, make_plan, draw_map  # doctest: +SKIP
>>> draw_map(make_plan(read_incident("incident.toml")), "map.html")  # doctest: +SKIP

The names are imported when they are first used, so that ``import diproute`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from diproute.version import __version__

if TYPE_CHECKING:
    from diproute.planning.plan import make_plan
    from diproute.reading.incident import read_incident
    from diproute.writing.map.draw import draw_map
    from diproute.writing.plan_file import write_plan

__all__ = ["__version__", "draw_map", "make_plan", "read_incident", "write_plan"]

_HOMES = {
    "draw_map": "diproute.writing.map.draw",
    "make_plan": "diproute.planning.plan",
    "read_incident": "diproute.reading.incident",
    "write_plan": "diproute.writing.plan_file",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'diproute' has no attribute {name!r}; it has {', '.join(__all__)}")
