"""``diproute load``: what can be lifted here, now."""

from __future__ import annotations

import json
import math
from pathlib import Path

import click


@click.command()
@click.argument("incident", type=click.Path(path_type=Path))
@click.option("--elevation", required=True, metavar="HEIGHT", help='Where the load hovers, "1800 m".')
@click.option("--line", metavar="LENGTH", help='One of the carried lines, "30 m"; left out, the shortest.')
@click.option("--fuel", metavar="SHARE", help='Fuel on board as a share of full tanks, "80 %".')
@click.option("--salt", is_flag=True, help="Sea water, which weighs more.")
@click.option("--chart", type=click.Path(path_type=Path), help="Draw the hover chart and the reading to this SVG file.")
@click.option("--json", "as_json", is_flag=True, help="SI numbers as JSON on stdout, nothing else.")
def load(
    incident: Path, elevation: str, line: str | None, fuel: str | None, salt: bool, chart: Path | None, as_json: bool
) -> None:
    """Work the load calculation line by line for one height, with the helicopter and weather of an INCIDENT file."""
    from diproute.cli.tables import load_table
    from diproute.planning.load_here import load_here
    from diproute.reading.incident import read_incident

    asked = read_incident(incident)
    answer = load_here(asked, elevation=elevation, line=line, fuel=fuel, salt=salt)
    if chart is not None:
        from diproute.writing.drawings.chart import hover_chart
        from diproute.files import write_atomically

        drawn = hover_chart(
            asked.helicopter.hoge,
            pressure_altitude_m=answer.pressure_altitude_m,
            temperature_k=answer.temperature_k,
            mass_kg=math.nan if answer.load is None else answer.load.hoge_limit_kg,
            display=asked.display,
        )
        write_atomically(chart, drawn)
    if as_json:
        click.echo(json.dumps(answer.as_dict(), indent=1))
    else:
        load_table(answer, asked)
