"""Findings as the plan holds them: code, values, and the SI sentence for readers outside, made anew on reading."""

from __future__ import annotations

from typing import Any, Self

from pydantic import Field, model_validator

from diproute import records
from diproute.document.fields import Part, rounded
from diproute.wording import CODES, say

_DECIMALS = 4  # finer than a value is worth, so that a sentence rounds it up or down by itself; places finer still
_PLACES = ("lat_deg", "lon_deg", "south_deg", "north_deg", "west_deg", "east_deg")


class Finding(Part):
    """One refusal, caution or reason."""

    code: str
    values: dict[str, Value] = Field(default_factory=dict)
    because: str = ""  # in SI units and true bearings; of a code that this release does not know, as it came

    @model_validator(mode="after")
    def _say(self) -> Self:
        if self.code in CODES:
            try:
                self.__dict__["because"] = say(self)
            except (TypeError, ValueError, ArithmeticError, AttributeError) as error:
                raise ValueError(f"the values of {self.code!r} do not fit it") from error
        return self

    @classmethod
    def of(cls, found: records.Finding, **more: Any) -> Self:
        """Take over a record's finding, and the other fields of the part that it explains."""
        return cls(code=found.code, values={name: _plain(name, value) for name, value in found.items}, **more)


Value = str | bool | int | float | None | Finding | tuple[Finding, ...]
Finding.model_rebuild()


def findings(found: tuple[records.Finding, ...] | list[records.Finding]) -> tuple[Finding, ...]:
    """Take over several findings."""
    return tuple(Finding.of(one) for one in found)


def maybe(found: records.Finding | None) -> Finding | None:
    """Take over a finding that may be missing."""
    return None if found is None else Finding.of(found)


def _plain(name: str, value: records.Value) -> Value:
    """Take over a value; an unknown number is None."""
    if isinstance(value, records.Finding):
        return Finding.of(value)
    if isinstance(value, tuple):
        return tuple(Finding.of(one) for one in value)
    if isinstance(value, float):
        return rounded(value, 6 if name in _PLACES else _DECIMALS)
    return value
