"""Dip sites, loads, routes and water per hour for helicopter bucket work on wildfires.

>>> from diproute import read_incident, make_plan, draw_map  # doctest: +SKIP
>>> draw_map(make_plan(read_incident("incident.toml")), "map.html")  # doctest: +SKIP

`read_incident` gives an `Incident`, `make_plan` a `Planned`: its ``document`` is the `Plan`, which `write_plan` writes
and `read_plan` reads back to equal, and which holds `Site` and `Leg`. `write_exchange` gives it to other programs, and
its `to_geodataframe` to Python. Every error is a `DiprouteError`.

The names are imported when they are first used, so that ``import diproute`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from diproute.version import __version__

if TYPE_CHECKING:
    from diproute.document import Finding, Leg, Plan, Site
    from diproute.document.file import read_plan, write_plan
    from diproute.errors import (
        DiprouteError,
        IncidentError,
        InputError,
        LayerError,
        OutputError,
        PlanError,
        QuantityError,
        RangeError,
        ShareError,
        WeatherError,
    )
    from diproute.planning.plan import make_plan
    from diproute.planning.planned import Planned
    from diproute.reading.incident import read_incident
    from diproute.records import Incident
    from diproute.threads import set_threads
    from diproute.writing.exchange.formats import write_exchange
    from diproute.writing.map.draw import draw_map

__all__ = [
    "DiprouteError",
    "Finding",
    "Incident",
    "IncidentError",
    "InputError",
    "LayerError",
    "Leg",
    "OutputError",
    "Plan",
    "PlanError",
    "Planned",
    "QuantityError",
    "RangeError",
    "ShareError",
    "Site",
    "WeatherError",
    "__version__",
    "draw_map",
    "make_plan",
    "read_incident",
    "read_plan",
    "set_threads",
    "write_exchange",
    "write_plan",
]

_HOMES = {
    "diproute.document": ("Finding", "Leg", "Plan", "Site"),
    "diproute.document.file": ("read_plan", "write_plan"),
    "diproute.errors": (
        "DiprouteError", "IncidentError", "InputError", "LayerError", "OutputError", "PlanError", "QuantityError",
        "RangeError", "ShareError", "WeatherError",
    ),
    "diproute.planning.plan": ("make_plan",),
    "diproute.planning.planned": ("Planned",),
    "diproute.reading.incident": ("read_incident",),
    "diproute.records": ("Incident",),
    "diproute.threads": ("set_threads",),
    "diproute.writing.exchange.formats": ("write_exchange",),
    "diproute.writing.map.draw": ("draw_map",),
}  # fmt: skip


def __getattr__(name: str) -> Any:
    home = next((home for home, names in _HOMES.items() if name in names), None)
    if home is None:
        raise AttributeError(f"module 'diproute' has no attribute {name!r}; it has {', '.join(__all__)}")
    return getattr(import_module(home), name)


def __dir__() -> list[str]:
    return sorted(__all__)
