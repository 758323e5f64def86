"""``diproute map``: from a plan file to its map, with no other file."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="map")
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The HTML file to write.")
def map_(plan: Path, out: Path) -> None:
    """Draw the map of a PLAN file: the same bytes as the map that was made with the plan.

    Layers and incident file are not needed; the plan holds all that the map shows.
    """
    from diproute.document.file import read_plan
    from diproute.writing.map.draw import draw_map

    if out.is_dir():
        raise click.UsageError(f"--out {out} is a folder; name a file")
    click.echo(f"wrote {draw_map(read_plan(plan), out)}", err=True)
