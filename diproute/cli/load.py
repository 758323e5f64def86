"""``diproute load``: what can be lifted here, now."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

if TYPE_CHECKING:
    from diproute.planning.load_here import LoadHere
    from diproute.records import Display, Incident


@click.command()
@click.argument("incident", type=click.Path(path_type=Path))
@click.option("--elevation", required=True, metavar="HEIGHT", help='Where the load hovers, "1800 m".')
@click.option("--line", metavar="LENGTH", help='One of the carried lines, "30 m"; left out, the shortest.')
@click.option("--fuel", metavar="SHARE", help='Fuel on board as a share of full tanks, "80 %".')
@click.option("--salt", is_flag=True, help="Sea water, which weighs more.")
@click.option("--chart", type=click.Path(path_type=Path), help="Draw the hover chart and the reading to this SVG file.")
@click.option("--display", type=click.Choice(["us", "metric"]), help="Units of the answer, whatever the file says.")
@click.option("--json", "as_json", is_flag=True, help="SI numbers as JSON on stdout, nothing else.")
def load(
    incident: Path, elevation: str, salt: bool, chart: Path | None, display: str | None, as_json: bool,
    **values: str | None,
) -> None:  # fmt: skip
    """Work the load calculation line by line for one height, with the helicopter and weather of an INCIDENT file."""
    from diproute.cli.tables import load_table
    from diproute.planning.load_here import load_here
    from diproute.reading.incident import read_incident
    from diproute.units import parse

    asked = read_incident(incident)
    if display is not None:
        asked = replace(asked, display=cast("Display", display))
    line, fuel = values["line"], values["fuel"]
    answer = load_here(
        asked,
        parse(elevation, "length", "--elevation"),
        line_m=None if line is None else parse(line, "length", "--line"),
        fuel=None if fuel is None else parse(fuel, "ratio", "--fuel"),
        salt=salt,
    )
    if chart is not None:
        _draw(chart, asked, answer)
    if as_json:
        click.echo(json.dumps(answer.as_dict(), indent=1))
    else:
        load_table(answer, asked)


def _draw(path: Path, asked: Incident, answer: LoadHere) -> None:
    """Draw the hover chart and the reading."""
    from diproute.files import write_atomically
    from diproute.writing.drawings.chart import hover_chart

    drawn = hover_chart(
        asked.helicopter.hoge.curves,
        pressure_altitude_m=answer.pressure_altitude_m,
        temperature_k=answer.temperature_k,
        mass_kg=None if answer.load is None else answer.load.hoge_limit_kg,
        display=asked.display,
    )
    write_atomically(path, drawn)
