"""What every formula does with its arguments: arrays of float64, the range checked, NaN let through."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError

F64 = npt.NDArray[np.float64]
Numbers: TypeAlias = float | npt.ArrayLike
Result: TypeAlias = Any  # a float when every argument was a scalar, else an array of float64


@dataclass(frozen=True, slots=True)
class Range:
    """The values a formula is good for, and the usual slips of those who give others.

    ``slips`` lists ``(low, high, advice)``: a refused value between the two is most likely that slip.
    """

    name: str
    low: float
    high: float
    unit: str
    slips: tuple[tuple[float, float, str], ...] = ()

    def check(self, values: Numbers) -> F64:
        """Give the values as float64.

        Parameters
        ----------
        values
            Any shape [``unit``]; NaN passes.

        Raises
        ------
        RangeError
            A value below ``low`` or above ``high``; names the first one and the slip it looks like.
        """
        array = np.asarray(values, dtype=np.float64)
        wrong = (array < self.low) | (array > self.high)
        if wrong.any():
            got = float(array[wrong].flat[0])
            advice = next((f"; {text}" for low, high, text in self.slips if low <= got <= high), "")
            raise RangeError(
                f"{self.name}: got {got:g}, wanted {self.low:g} to {self.high:g} {self.unit}{advice}",
                where=self.name,
                got=got,
            )
        return array


def plain(values: npt.ArrayLike) -> Result:
    """Give a float for a single number, the array otherwise."""
    array = np.asarray(values, dtype=np.float64)
    return float(array) if array.ndim == 0 else array
