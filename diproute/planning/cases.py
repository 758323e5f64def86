"""The cases of the uncertainty: what every usable site brings in each, and whether the plan's own load hovers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diproute.records import F64

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Cases:
    """The sites that are usable in the plan's own weather, worked in every case."""

    seed: int
    rows: tuple[int, ...]  # indices of the sites
    litres_per_hour: F64  # (rows, cases) with the fill and fuel best there; NaN: does not work
    hovers: Bools  # (rows, cases) the plan's own first load
    planned: F64  # (rows,) of the plan itself, with its own weather and times

    def row(self, site: int) -> int | None:
        """Give the row of a site; None: it is refused."""
        return self.rows.index(site) if site in self.rows else None
