"""``diproute export``: from a plan file to a format that another program reads."""

from __future__ import annotations

from pathlib import Path

import click

from diproute.errors import plain

NAMES = ("gpkg", "geojson", "kml", "gpx", "csv")


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--as", "name", required=True, type=click.Choice(NAMES), help="The format.")
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The file to write.")
def export(plan: Path, name: str, out: Path) -> None:
    """Write a PLAN file as GeoPackage, GeoJSON, KML, GPX or CSV.

    Positions are WGS 84, heights above mean sea level unless their column says above ground. Refused sites carry
    their reasons and no load, no course and no legs; GPX leaves them out.
    """
    from diproute.document.file import read_plan
    from diproute.document.run import is_as_written
    from diproute.files import write_atomically
    from diproute.writing.exchange.formats import exchange

    if out.is_dir():
        raise click.UsageError(f"--out {out} is a folder; name a file")
    read = read_plan(plan)
    written = write_atomically(out, exchange(read, name))
    if not is_as_written(read, plan):
        click.echo(f"{plain(str(plan))} was changed after it was written; the file shows it as it is now", err=True)
    click.echo(f"wrote {plain(str(written))}", err=True)
