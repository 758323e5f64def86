"""The heights under the pointer, from the plan's decimetres to whole numbers of the reader's unit."""

from __future__ import annotations

import base64
import zlib
from typing import Any, Final

import numpy as np

from diproute.document.ground import Heights
from diproute.units import Display
from diproute.writing.drawings.axes import shown

UNKNOWN: Final = -32768  # of the page
_UNKNOWN_DM: Final = int(np.iinfo("<i4").min)  # of the plan
_GRAIN: Final = 1e-6  # what arithmetic alone adds is no reason to round up


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
    """
    decimetres = np.frombuffer(zlib.decompress(base64.b64decode(heights.top)), dtype="<i4").astype(np.float64)
    high = np.ceil(decimetres / 10 * shown(1.0, "height", display) - _GRAIN)
    known = (decimetres != _UNKNOWN_DM) & (high > UNKNOWN) & (high < -UNKNOWN)
    south, west, north, east = heights.bounds
    return {
        "rows": heights.rows,
        "cols": heights.cols,
        "bounds": [[south, west], [north, east]],
        "cells": base64.b64encode(np.where(known, high, UNKNOWN).astype("<i2").tobytes()).decode("ascii"),
    }
