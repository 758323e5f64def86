"""Helicopters and buckets: a file with flight-manual numbers, or a built-in one that is made up for the demo."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from diproute.errors import IncidentError
from diproute.reading.toml_file import read_toml
from diproute.records import Bucket, Helicopter, RateTable

if TYPE_CHECKING:
    from diproute.reading.fleet_schema import RatesTable

_SHELF = Path(str(files("diproute.reading") / "fleet_data"))


def fleet_names(kind: Literal["helicopter", "bucket"]) -> tuple[str, ...]:
    """Name the built-in helicopters or buckets, all made up for the demo."""
    return tuple(sorted(path.stem for path in (_SHELF / f"{kind}s").glob("*.toml")))


def _find(path_or_name: Path | str, kind: Literal["helicopter", "bucket"]) -> Path:
    """Give the file that is meant: a path ends in ``.toml``, anything else names a built-in one."""
    if isinstance(path_or_name, Path) or path_or_name.endswith(".toml"):
        return Path(path_or_name)
    names = fleet_names(kind)
    if path_or_name in names:
        return _SHELF / f"{kind}s" / f"{path_or_name}.toml"
    raise IncidentError(
        f'no built-in {kind} "{path_or_name}"; there are {", ".join(names)}, or give a file that ends in .toml',
        where=f"{kind}.name",
        got=path_or_name,
    )


def read_helicopter(path_or_name: Path | str, options: Sequence[str] = ()) -> Helicopter:
    """Read a helicopter.

    Parameters
    ----------
    path_or_name
        A TOML file (docs/formats.md, docs/helicopter.md), or the name of a built-in one, ``"demo-light"``.
    options
        Names of ``[hoge.option.NAME]`` that are fitted.

    Returns
    -------
    Helicopter
        SI, the hover chart as it holds with the options.

    Raises
    ------
    IncidentError
        No such file or name, a wrong, missing or unknown key, an odd cell in the chart, an unknown option.
    """
    from pydantic import ValidationError

    from diproute.reading.fleet_schema import HelicopterFile
    from diproute.reading.hover_table import hover_chart
    from diproute.reading.schema import WrongKeyError, explain

    path = _find(path_or_name, "helicopter")
    raw = read_toml(path, "helicopter file")
    try:
        told = HelicopterFile.model_validate(raw)
        chart = hover_chart(told.hoge, options, told.equipped, told.max_gross_external)
    except ValidationError as error:
        explain(error, path.name, IncidentError)
    except WrongKeyError as error:
        raise IncidentError(f"{path.name}: {error.key}: {error}", where=error.key) from None
    kg_s = told.fuel_density / 3600
    return Helicopter(
        name=told.name,
        source=told.source + (f"; fitted: {', '.join(options)}" if options else ""),
        type=told.type,
        rotor_diameter_m=told.rotor_diameter,
        equipped_kg=told.equipped,
        max_gross_external_kg=told.max_gross_external,
        hook_limit_kg=told.hook_limit,
        weight_reduction_kg=told.weight_reduction,
        fuel_capacity_l=told.fuel_capacity,
        fuel_density_kg_l=told.fuel_density,
        burn_hover_kg_s=told.burn.hover * kg_s,
        burn_loaded_kg_s=told.burn.loaded * kg_s,
        burn_empty_kg_s=told.burn.empty * kg_s,
        speed_loaded_m_s=told.speed.loaded,
        speed_empty_m_s=told.speed.empty,
        climb_loaded_m_s=told.climb.loaded,
        climb_empty_m_s=told.climb.empty,
        descent_loaded_m_s=told.descent.loaded,
        descent_empty_m_s=told.descent.empty,
        lift_speed_m_s=told.lift_speed,
        lower_speed_m_s=told.lower_speed,
        manoeuvre_s=told.manoeuvre,
        hoge=chart,
        turn_speed_m_s=told.turn_speed,
        turn_bank_deg=told.turn_bank,
        rotor_turns=told.rotor_turns,
        empty_belly_m_s=told.speed.empty_bucket.belly,
        empty_line_m_s=told.speed.empty_bucket.line,
        climb_table=_rates(told.climb_table),
        descent_table=_rates(told.descent_table),
    )


def _rates(told: RatesTable | None) -> RateTable | None:
    """Take a table of rates as a record."""
    if told is None:
        return None
    return RateTable(tuple(told.mass), tuple(told.density_altitude), tuple(tuple(row) for row in told.rate))


def read_bucket(path_or_name: Path | str, gear_kg: float = 0.0) -> Bucket:
    """Read a bucket.

    Parameters
    ----------
    path_or_name
        A TOML file (docs/formats.md), or the name of a built-in one, ``"demo-760"``.
    gear_kg
        What hangs with it beside its own gear [kg].

    Raises
    ------
    IncidentError
        No such file or name, or a wrong, missing or unknown key.
    """
    from pydantic import ValidationError

    from diproute.reading.fleet_schema import BucketFile
    from diproute.reading.schema import explain

    path = _find(path_or_name, "bucket")
    raw: dict[str, Any] = read_toml(path, "bucket file")
    try:
        told = BucketFile.model_validate(raw)
    except ValidationError as error:
        explain(error, path.name, IncidentError)
    return Bucket(
        name=told.name,
        source=told.source,
        capacity_l=told.capacity,
        empty_kg=told.empty,
        length_m=told.length,
        depth_needed_m=told.depth_needed,
        fills=tuple(round(fill, 9) for fill in told.fills),
        fill_s=told.fill_time,
        drop_s=told.drop_time,
        gear_kg=told.gear + gear_kg,
        part_fill=told.part_fill,
    )
