"""What the numbers of a plan are: each kind rounded to what it is worth, unknown is None."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict


class Part(BaseModel):
    """A part of the plan: frozen, strict about types; keys of a later release are kept as they came."""

    model_config = ConfigDict(frozen=True, strict=True, extra="allow", allow_inf_nan=False)

    def __repr__(self) -> str:
        """Name the part and what it is called, not all that it holds."""
        named = next((str(getattr(self, key)) for key in ("name", "title", "code", "id") if hasattr(self, key)), "")
        return f"<{type(self).__name__} {named}>" if named else f"<{type(self).__name__}>"

    __str__ = __repr__


def rounded(value: float | None, decimals: int) -> float | None:
    """Round a number; None, NaN and infinities are None, and no zero carries a minus sign."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), decimals) + 0.0


def _to(decimals: int) -> BeforeValidator:
    def to(value: Any) -> Any:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return rounded(value, decimals) if is_number else value

    return BeforeValidator(to)


def _course(value: Any) -> Any:
    number = rounded(value, 1) if isinstance(value, int | float) and not isinstance(value, bool) else value
    return rounded(number % 360.0, 1) if isinstance(number, float) else number


Coordinate = Annotated[float, _to(6)]  # latitude or longitude [deg], to a tenth of a metre
MaybeCoordinate = Annotated[float | None, _to(6)]
Course = Annotated[float, BeforeValidator(_course)]  # direction [deg true unless named], 0 <= course < 360
MaybeCourse = Annotated[float | None, BeforeValidator(_course)]
Whole = Annotated[float, _to(0)]  # pressures [Pa]
Tenth = Annotated[float, _to(1)]  # lengths [m], times [s], masses [kg], litres, angles [deg]
MaybeTenth = Annotated[float | None, _to(1)]
Hundredth = Annotated[float, _to(2)]  # speeds [m/s], temperatures [K], the declination [deg]
MaybeHundredth = Annotated[float | None, _to(2)]
Share = Annotated[float, _to(4)]  # shares, ratios, weights
MaybeShare = Annotated[float | None, _to(4)]
Rate = Annotated[float, _to(5)]  # burn [kg/s], lapse [K/m]
MaybeRate = Annotated[float | None, _to(5)]
