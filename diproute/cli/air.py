"""``diproute air``: pressure altitude and density altitude."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import click


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
    incident: Path | None,
    elevations: tuple[str, ...],
    temperature: str | None,
    measured_at: str | None,
    qnh: str | None,
    dew_point: str | None,
    lapse: str | None,
    display: str | None,
    as_json: bool,
) -> None:
    """Density altitude at one height or several, from an INCIDENT file's weather or from values."""
    from diproute.cli.tables import air_table
    from diproute.planning.air import air_at, asked_air

    station, shown = asked_air(
        incident,
        elevations,
        temperature=temperature,
        measured_at=measured_at,
        qnh=qnh,
        dew_point=dew_point,
        lapse=lapse,
        display=display,
    )
    rows = air_at(station, elevations)
    if as_json:
        click.echo(json.dumps([asdict(row) for row in rows], indent=1))
    else:
        air_table(rows, station, shown)
