"""What the numbers of a plan are: each kind rounded to what it is worth, unknown is None."""

from __future__ import annotations

import math
from datetime import datetime, timedelta, timezone
from typing import Annotated, Any, Final

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field

MOST: Final = 1e9  # no number of a plan is larger; one that is comes of a damaged file


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


def _fixed(when: datetime) -> datetime:
    if not 1900 <= when.year <= 2200:
        raise ValueError("a year from 1900 to 2200 is wanted")
    return when.replace(tzinfo=timezone(when.utcoffset() or timedelta()))


_Number = Annotated[float, Field(ge=-MOST, le=MOST)]
_Latitude = Annotated[float, Field(ge=-90, le=90)]
_Longitude = Annotated[float, Field(ge=-360, le=360)]

Moment = Annotated[AwareDatetime, AfterValidator(_fixed)]  # with its offset from UTC, as a reader's file has it
Index = Annotated[int, Field(ge=0, le=10_000_000)]  # into a row of the plan; counts
Latitude = Annotated[_Latitude, _to(6)]  # [deg], to a tenth of a metre
Longitude = Annotated[_Longitude, _to(6)]
MaybeLatitude = Annotated[_Latitude | None, _to(6)]
MaybeLongitude = Annotated[_Longitude | None, _to(6)]
Course = Annotated[_Number, BeforeValidator(_course)]  # direction [deg true unless named], 0 <= course < 360
MaybeCourse = Annotated[_Number | None, BeforeValidator(_course)]
Whole = Annotated[_Number, _to(0)]  # pressures [Pa]
Tenth = Annotated[_Number, _to(1)]  # lengths [m], times [s], masses [kg], litres, angles [deg]
MaybeTenth = Annotated[_Number | None, _to(1)]
Hundredth = Annotated[_Number, _to(2)]  # speeds [m/s], temperatures [K], the declination [deg]
MaybeHundredth = Annotated[_Number | None, _to(2)]
Share = Annotated[_Number, _to(4)]  # shares, ratios, weights
MaybeShare = Annotated[_Number | None, _to(4)]
Rate = Annotated[_Number, _to(5)]  # burn [kg/s], lapse [K/m]
MaybeRate = Annotated[_Number | None, _to(5)]

# long rows, rounded by whoever makes them
Row = tuple[_Number, ...]
MaybeRow = tuple[_Number | None, ...]
Path = tuple[tuple[_Longitude, _Latitude, _Number], ...]  # longitude and latitude [deg], height [m AMSL]
