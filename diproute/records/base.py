"""What every record is made of: arrays, units for reading, and reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

F32 = npt.NDArray[np.float32]
F64 = npt.NDArray[np.float64]
U16 = npt.NDArray[np.uint16]
Display = Literal["us", "metric"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One refusal or caution: a short stable code, and the sentence of why."""

    code: str  # "line-too-short", "depth-unknown"
    because: str


@dataclass(frozen=True, slots=True)
class Criterion:
    """One part of a site's score."""

    name: Literal["distance", "altitude", "obstacles", "approach"]
    points: float  # 0..100
    weight: float
    because: str
