"""The helicopter and bucket files as pydantic models: one field a key, named as in the file (docs/formats.md)."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from diproute.constants import TURN_BANK_DEG, TURN_SPEED_M_S
from diproute.reading.schema import Quantity, Reader, Table, WrongKeyError
from diproute.units import show_share

Name = Annotated[str, Field(min_length=1)]
Speed = Annotated[float, Quantity("speed", "5 kt", "250 kt")]
VerticalSpeed = Annotated[float, Quantity("speed", "50 ft/min", "4000 ft/min")]
Burn = Annotated[float, Quantity("flow", "20 L/h", "5000 L/h")]
Duration = Annotated[float, Quantity("time", "1 s", "15 min")]
ChartHeight = Annotated[float, Quantity("length", "-2000 ft", "25000 ft")]
ChartTemperature = Annotated[float, Quantity("temperature", "-60 degC", "60 degC")]


class Cell(Reader):
    """A gross mass of a hover chart; ``""``, ``"-"`` and ``"none"`` for a place that the chart leaves blank."""

    example = 'write it like "2640 kg", or "-" where the chart is blank'
    _mass = Quantity("mass", "0 kg", "60 t", above=True)

    def read(self, value: object) -> float:
        """Read one cell [kg]; NaN where the chart gives no answer."""
        if isinstance(value, str) and value.strip().lower() in ("", "-", "none"):
            return math.nan
        mass = self._mass.read(value)
        assert mass is not None
        return mass


ChartMass = Annotated[float, Cell()]


class CurveTable(Table):
    """One curve of a chart: at one temperature, gross mass against pressure altitude."""

    temperature: ChartTemperature
    pressure_altitude: Annotated[list[ChartHeight], Field(min_length=2)]
    mass: Annotated[list[ChartMass], Field(min_length=2)]

    @model_validator(mode="after")
    def _same_length(self) -> Self:
        if len(self.mass) != len(self.pressure_altitude):
            raise WrongKeyError(
                "mass",
                f"{len(self.mass)} masses for {len(self.pressure_altitude)} pressure altitudes; give one for each",
            )
        return self


class ChartTable(Table):
    """A hover chart in one of its three forms: a table, curves of mass, or curves of ceiling."""

    pressure_altitude: Annotated[list[ChartHeight] | None, Field(min_length=2)] = None
    temperature: Annotated[list[ChartTemperature] | None, Field(min_length=2)] = None
    mass: list[list[ChartMass]] | None = None
    curve: Annotated[list[CurveTable] | None, Field(min_length=2)] = None
    ceiling: Annotated[list[CurveTable] | None, Field(min_length=2)] = None

    def forms(self) -> list[str]:
        """Name the forms that are given."""
        table = self.pressure_altitude or self.temperature or self.mass
        return [name for name, given in (("mass", table), ("curve", self.curve), ("ceiling", self.ceiling)) if given]

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        forms = self.forms()
        if len(forms) > 1:
            raise WrongKeyError(forms[1], f'a chart has one form, and "{forms[0]}" is given too; keep one of them')
        if forms == ["mass"]:
            for name in ("pressure_altitude", "temperature", "mass"):
                if getattr(self, name) is None:
                    raise WrongKeyError(name, "missing; a table needs pressure_altitude, temperature and mass")
            rows, columns, mass = self.pressure_altitude or [], self.temperature or [], self.mass or []
            if len(mass) != len(rows):
                raise WrongKeyError(
                    "mass", f"{len(mass)} rows for {len(rows)} pressure altitudes; give one row for each"
                )
            for i, row in enumerate(mass):
                if len(row) != len(columns):
                    raise WrongKeyError(
                        f"mass[{i}]", f"{len(row)} cells for {len(columns)} temperatures; give one for each"
                    )
        return self


class OptionTable(ChartTable):
    """``[hoge.option.NAME]``: what a kit takes off the chart, or a chart of its own."""

    reduction: Annotated[float | None, Quantity("mass", "0 kg", "5000 kg")] = None

    @model_validator(mode="after")
    def _one_thing(self) -> Self:
        if (self.reduction is None) == (not self.forms()):
            raise WrongKeyError(
                "reduction", 'an option has either reduction = "35 kg" or a chart of its own; give one of them'
            )
        return self


class HogeTable(ChartTable):
    """``[hoge]``: the chart, and what options do to it."""

    option: dict[str, OptionTable] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _some_form(self) -> Self:
        if not self.forms():
            raise WrongKeyError(
                "mass", "missing; give a table, [[hoge.curve]] or [[hoge.ceiling]] (docs/helicopter.md)"
            )
        return self


class BurnTable(Table):
    """Fuel flow by phase."""

    hover: Burn
    loaded: Burn
    empty: Burn


class EmptyBucketTable(Table):
    """Highest airspeed with the empty bucket, on the belly hook and on a line."""

    belly: Speed | None = None
    line: Speed | None = None


class SpeedTable(Table):
    """True airspeed with the bucket on."""

    loaded: Speed
    empty: Speed
    empty_bucket: EmptyBucketTable = EmptyBucketTable()


class VerticalTable(Table):
    """Rate of climb or descent."""

    loaded: VerticalSpeed
    empty: VerticalSpeed


class RatesTable(Table):
    """``[climb_table]``, ``[descent_table]``: rates by gross mass and density altitude."""

    mass: Annotated[list[Annotated[float, Quantity("mass", "300 kg", "60 t")]], Field(min_length=2)]
    density_altitude: Annotated[list[ChartHeight], Field(min_length=2)]
    rate: list[list[VerticalSpeed]]

    @model_validator(mode="after")
    def _full(self) -> Self:
        for name in ("mass", "density_altitude"):
            values = getattr(self, name)
            for i, (a, b) in enumerate(pairwise(values)):
                if b <= a:
                    raise WrongKeyError(f"{name}[{i + 1}]", "does not rise from the one before; sort them, each once")
        if len(self.rate) != len(self.density_altitude):
            raise WrongKeyError(
                "rate",
                f"{len(self.rate)} rows for {len(self.density_altitude)} density altitudes; give one row for each",
            )
        for i, row in enumerate(self.rate):
            if len(row) != len(self.mass):
                raise WrongKeyError(f"rate[{i}]", f"{len(row)} rates for {len(self.mass)} masses; give one for each")
        return self


class HelicopterFile(Table):
    """The whole file of a helicopter."""

    name: Name
    source: Name
    type: Literal[1, 2, 3]
    rotor_diameter: Annotated[float, Quantity("length", "5 m", "40 m")]
    equipped: Annotated[float, Quantity("mass", "300 kg", "40 t")]
    max_gross_external: Annotated[float, Quantity("mass", "500 kg", "60 t")]
    hook_limit: Annotated[float, Quantity("mass", "100 kg", "25 t")]
    weight_reduction: Annotated[float, Quantity("mass", "0 kg", "5 t")]
    fuel_capacity: Annotated[float, Quantity("volume", "50 L", "20000 L")]
    fuel_density: Annotated[float, Quantity("density", "0.70 kg/L", "0.90 kg/L")]
    burn: BurnTable
    speed: SpeedTable
    climb: VerticalTable
    descent: VerticalTable
    lift_speed: Annotated[float, Quantity("speed", "0.1 m/s", "10 m/s")]
    lower_speed: Annotated[float, Quantity("speed", "0.1 m/s", "10 m/s")]
    manoeuvre: Annotated[float, Quantity("time", "0 s", "15 min")]
    turn_speed: Annotated[float, Quantity("speed", "30 kt", "120 kt")] = TURN_SPEED_M_S.value
    turn_bank: Annotated[float, Quantity("direction", "5 deg", "45 deg")] = TURN_BANK_DEG.value
    rotor_turns: Literal["counterclockwise", "clockwise"] | None = None
    climb_table: RatesTable | None = None
    descent_table: RatesTable | None = None
    hoge: HogeTable

    @model_validator(mode="after")
    def _masses_hold_together(self) -> Self:
        if self.equipped >= self.max_gross_external:
            raise WrongKeyError("equipped", "not below max_gross_external, so nothing could be lifted; check both")
        if self.hook_limit >= self.max_gross_external:
            raise WrongKeyError("hook_limit", "not below max_gross_external; check both, and whether one is in lb")
        return self


class BucketFile(Table):
    """The whole file of a bucket."""

    name: Name
    source: Name
    capacity: Annotated[float, Quantity("volume", "50 L", "15000 L")]
    empty: Annotated[float, Quantity("mass", "5 kg", "2000 kg")]
    length: Annotated[float, Quantity("length", "0.5 m", "30 m")]
    depth_needed: Annotated[float, Quantity("length", "0 m", "20 m", above=True)]
    fills: Annotated[list[Annotated[float, Quantity("ratio", "1 %", "100 %")]], Field(min_length=1)]
    fill_time: Duration
    drop_time: Duration
    part_fill: bool = False
    gear: Annotated[float, Quantity("mass", "0 kg", "2000 kg")] = 0.0

    @model_validator(mode="after")
    def _fills_fall(self) -> Self:
        for i, (a, b) in enumerate(zip(self.fills, self.fills[1:], strict=False)):
            if b >= a:
                raise WrongKeyError(
                    f"fills[{i + 1}]",
                    f"{show_share(b)} after {show_share(a)}; list the settings from the fullest down, each once",
                )
        return self
