"""The heights under the pointer, from the plan's decimetres to whole numbers of the reader's unit."""

from __future__ import annotations

import base64
import zlib
from typing import Any, Final

import numpy as np

from diproute.document.ground import Heights
from diproute.errors import PlanError
from diproute.units import Display
from diproute.writing.drawings.axes import shown

MOST_BYTES: Final = 16_000_000
UNKNOWN: Final = -32768  # of the page
_UNKNOWN_DM: Final = np.iinfo("<i4").min  # of the plan


def cells(heights: Heights, display: Display) -> dict[str, Any]:
    """Give the highest thing in each coarse cell, unknown where any of it is.

    Parameters
    ----------
    heights
        The plan's.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    dict
        ``rows``, ``cols``, ``bounds`` [[south, west], [north, east]], and ``cells``: 16-bit whole numbers in base64,
        in the unit of a height and rounded up, `UNKNOWN` where not known.

    Raises
    ------
    PlanError
        The plan's heights cannot be unpacked, or are not as many as it says.
    """
    wanted = heights.rows * heights.cols * 4
    if not (heights.rows > 0 and heights.cols > 0 and wanted <= MOST_BYTES):
        raise PlanError(
            f"terrain.heights: {heights.rows} rows of {heights.cols} came; a plan holds 1 to {MOST_BYTES // 4} heights",
            where="terrain.heights",
        )
    try:
        unpacked = zlib.decompressobj().decompress(base64.b64decode(heights.top, validate=True), wanted + 1)
    except (ValueError, zlib.error) as error:
        raise PlanError(
            "terrain.heights.top cannot be unpacked; make the plan again", where="terrain.heights.top"
        ) from error
    if len(unpacked) != wanted:
        raise PlanError(
            f"terrain.heights.top does not hold {heights.rows} rows of {heights.cols} heights; make the plan again",
            where="terrain.heights.top",
        )
    decimetres = np.frombuffer(unpacked, dtype="<i4").astype(np.float64)
    high = np.ceil(decimetres / 10 * shown(1.0, "height", display) - 1e-6)
    known = (decimetres != _UNKNOWN_DM) & (high < -UNKNOWN) & (high > UNKNOWN)
    south, west, north, east = heights.bounds
    return {
        "rows": heights.rows,
        "cols": heights.cols,
        "bounds": [[south, west], [north, east]],
        "cells": base64.b64encode(np.where(known, high, UNKNOWN).astype("<i2").tobytes()).decode("ascii"),
    }
