"""The plan in other weather, packed: the nodes of the grid that was worked, and nothing between or beyond them."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from typing import Any, Final, Protocol

import numpy as np

from diproute.document.findings import Finding
from diproute.document.plan import Plan
from diproute.units import show, show_course
from diproute.wording.short import short
from diproute.writing.map.moments import course
from diproute.writing.map.packing import Texts, tenths
from diproute.writing.reader import told

MOST: Final = 32_767  # of a 16-bit whole number
NONE: Final = 255  # no entry of a table


class WhatIfSite(Protocol):
    """What one site gives in each weather of the grid, temperature by temperature; None litres: closed."""

    @property
    def site(self) -> str:
        """Its id."""

    @property
    def litres_per_hour(self) -> Sequence[float | None]:
        """Water an hour."""

    @property
    def fill(self) -> Sequence[float | None]:
        """Bucket setting."""

    @property
    def line_m(self) -> Sequence[float | None]:
        """Line."""

    @property
    def approach_deg(self) -> Sequence[float | None]:
        """Course of the approach [deg true]."""

    @property
    def departure_deg(self) -> Sequence[float | None]:
        """Course of the departure [deg true]."""

    @property
    def why(self) -> Sequence[int | None]:
        """Why it is closed, as the number of a reason."""


class WhatIf(Protocol):
    """The grid of weathers that was worked; nothing stands between its nodes and nothing beyond them."""

    @property
    def wind_from_deg(self) -> Sequence[float | None]:
        """Where the wind of each wind node comes from; None: calm."""

    @property
    def wind_m_s(self) -> Sequence[float]:
        """Its speed."""

    @property
    def temperature_k(self) -> Sequence[float]:
        """Temperatures at the reporting station."""

    @property
    def reasons(self) -> Sequence[Finding]:
        """Why a site is closed."""

    @property
    def sites(self) -> Sequence[WhatIfSite]:
        """The sites."""


def what_if(plan: Plan, texts: Texts) -> dict[str, Any] | None:
    """Pack the grid of other weathers.

    Parameters
    ----------
    plan
        The plan; one without a grid has no dials.
    texts
        The page's table of texts.

    Returns
    -------
    dict or None
        The nodes in words, the tables that the cells point into, and for each site its cells in base64: 16-bit water
        an hour (a closed one is −1 less the number of its reason), then a byte each for setting, line and courses.
    """
    grid: WhatIf | None = getattr(plan, "what_if", None)
    if grid is None or not grid.sites:
        return None
    display = plan.display
    number = {site.id: i for i, site in enumerate(plan.sites)}
    highest = max((rate for one in grid.sites for rate in one.litres_per_hour if rate is not None), default=0.0)
    step = max(1, math.ceil(highest / MOST))
    tables = {key: _Table() for key in ("fill", "line", "course")}
    cells = {str(number[one.site]): _cells(one, step, tables) for one in grid.sites if one.site in number}
    speeds = sorted({speed for speed, from_deg in zip(grid.wind_m_s, grid.wind_from_deg, strict=True)
                     if from_deg is not None})  # fmt: skip
    towards = sorted({from_deg for from_deg in grid.wind_from_deg if from_deg is not None})
    return {
        "from": [texts(show_course(value) + " true") for value in towards],
        "fromDeg": towards,
        "speed": [texts(show(value, "wind", display)) for value in speeds],
        "speedMs": speeds,
        "heat": [texts(show(value, "temperature", display)) for value in grid.temperature_k],
        "heatK": list(grid.temperature_k),
        "node": _nodes(grid, towards, speeds),
        "winds": len(grid.wind_m_s),
        "step": step,
        "fill": [round(value * 100) for value in tables["fill"].values],
        "line": [tenths(value) for value in tables["line"].values],
        "course": [course(value, plan, texts) for value in tables["course"].values],
        "why": [[texts(short(found.code)), texts(told(found, plan))] for found in grid.reasons],
        "sites": cells,
    }


class _Table:
    """The few values that many cells have."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self._numbers: dict[float, int] = {}

    def number(self, value: float | None) -> int:
        if value is None:
            return NONE
        if value not in self._numbers:
            if len(self.values) == NONE:  # a plan has 72 courses, a few lines and settings
                return NONE
            self._numbers[value] = len(self.values)
            self.values.append(value)
        return self._numbers[value]


def _nodes(grid: WhatIf, towards: Sequence[float], speeds: Sequence[float]) -> list[list[int | None]]:
    """Give the wind node of each direction (rows) and speed (columns); the last row is calm. None: not worked."""
    place = {pair: i for i, pair in enumerate(zip(grid.wind_from_deg, grid.wind_m_s, strict=True))}
    calm = next((i for i, from_deg in enumerate(grid.wind_from_deg) if from_deg is None), None)
    return [[place.get((a, v)) for v in speeds] for a in towards] + [[calm]]


def _cells(one: WhatIfSite, step: int, tables: dict[str, _Table]) -> str:
    rates = [
        -1 - (0 if why is None else why) if rate is None else round(rate / step)
        for rate, why in zip(one.litres_per_hour, one.why, strict=True)
    ]
    columns = [
        [tables[key].number(value) for value in values]
        for key, values in (
            ("fill", one.fill), ("line", one.line_m), ("course", one.approach_deg), ("course", one.departure_deg)
        )
    ]  # fmt: skip
    packed = np.array(rates, dtype="<i2").tobytes() + np.array(columns, dtype=np.uint8).tobytes()
    return base64.b64encode(packed).decode("ascii")
