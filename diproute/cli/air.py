"""``diproute air``: pressure altitude and density altitude."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

if TYPE_CHECKING:
    from diproute.records import Display
    from diproute.units import Kind


@click.command()
@click.argument("incident", required=False, type=click.Path(path_type=Path))
@click.option("--elevation", "elevations", multiple=True, metavar="HEIGHT", help='Where, "5883 ft"; may be repeated.')
@click.option("--temperature", metavar="T", help='At the thermometer, "70 degF".')
@click.option(
    "--measured-at", metavar="HEIGHT", help="Height of the thermometer; left out, the temperature is on the spot."
)
@click.option("--qnh", metavar="P", help='"30.10 inHg" or "1013 hPa".')
@click.option("--dew-point", metavar="T", help="For moist air.")
@click.option("--lapse", metavar="RATE", help='"6.5 K/km"; left out, the warmer of standard and dry adiabatic.')
@click.option("--display", type=click.Choice(["us", "metric"]), help="Units of the answer.")
@click.option("--json", "as_json", is_flag=True, help="SI numbers as JSON on stdout, nothing else.")
def air(
    incident: Path | None, elevations: tuple[str, ...], display: str | None, as_json: bool, **values: str | None
) -> None:
    """Density altitude at one height or several, from an INCIDENT file's weather or from values."""
    from diproute.cli.tables import air_table
    from diproute.errors import IncidentError
    from diproute.planning.air import Told, air_at, station_air
    from diproute.units import parse

    def si(flag: str, kind: Kind) -> float | None:
        text = values[flag.removeprefix("--").replace("-", "_")]
        return None if text is None else parse(text, kind, flag)

    heights_m = [parse(text, "length", "--elevation") for text in elevations]
    told = Told(
        si("--temperature", "temperature"),
        si("--measured-at", "length"),
        si("--qnh", "pressure"),
        si("--dew-point", "temperature"),
        si("--lapse", "lapse"),
    )
    shown: Display = "us"
    if incident is not None:
        from diproute.reading.incident import read_incident

        asked = read_incident(incident)
        station, shown = station_air(told, asked.weather.air), asked.display
    else:
        flags = {"--elevation": elevations, "--temperature": values["temperature"], "--qnh": values["qnh"]}
        if missing := [flag for flag, value in flags.items() if not value]:
            raise IncidentError(
                f'{", ".join(missing)} missing; give an incident file, or --elevation "5883 ft" '
                '--temperature "70 degF" --qnh "30.10 inHg"'
            )
        measured_at_m = heights_m[0] if told.measured_at_m is None else told.measured_at_m
        station = station_air(replace(told, measured_at_m=measured_at_m))
    rows = air_at(station, heights_m)
    if as_json:
        click.echo(json.dumps([asdict(row) for row in rows], indent=1))
    else:
        air_table(rows, station, cast("Display", display) if display else shown)
