"""What every record is made of: arrays, units for reading, and reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

F32 = npt.NDArray[np.float32]
F64 = npt.NDArray[np.float64]
I64 = npt.NDArray[np.int64]
U16 = npt.NDArray[np.uint16]
Display = Literal["us", "metric"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found: a stable code, and the values that its sentence is made from.

    The sentence is made where it is shown, by `diproute.wording`, in the units of its reader. Values are SI with the
    unit in their name, bearings true; a value that is not known is None; one that is a finding itself, or several,
    stands inside the sentence.
    """

    code: str  # "line-too-short"; `docs/findings.md` lists them all
    items: tuple[tuple[str, Value], ...] = ()

    @classmethod
    def of(cls, code: str, **values: Value) -> Finding:
        """Put a code and its values together: ``Finding.of("too-shallow", depth_m=0.6, needed_m=1.5)``."""
        return cls(code, tuple(values.items()))

    @property
    def values(self) -> dict[str, Value]:
        """The values by name."""
        return dict(self.items)


Value = str | float | int | bool | Finding | tuple[Finding, ...] | None


@dataclass(frozen=True, slots=True)
class Criterion:
    """One part of a site's score."""

    name: Literal["distance", "altitude", "obstacles", "approach"]
    points: float  # 0..100
    weight: float
    why: Finding
