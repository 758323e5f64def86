"""``diproute map``: from a plan file to its map, with no other file."""

from __future__ import annotations

from pathlib import Path

import click

from diproute.errors import PlanError, plain


@click.command(name="map")
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The HTML file to write.")
def map_(plan: Path, out: Path) -> None:
    """Draw the map of a PLAN file: the same bytes as the map that was made with the plan.

    Layers and incident file are not needed; the plan holds all that the map shows.
    """
    from diproute.document.file import read_plan
    from diproute.document.run import is_as_written
    from diproute.writing.folder import MAP, PLAN, check_folder
    from diproute.writing.map.draw import draw_map

    if out.is_dir():
        raise click.UsageError(f"--out {out} is a folder; name a file")
    beside = check_folder(plan.parent) if plan.name == PLAN else None
    if beside and not plan.exists():
        raise PlanError(f"{beside}; plan the incident again", where=str(plan))
    drawn = read_plan(plan)
    written = draw_map(drawn, out)
    if not is_as_written(drawn, plan):
        click.echo(f"{plain(str(plan))} was changed after it was written; the map shows it as it is now", err=True)
    elif beside and written.resolve() != (plan.parent / MAP).resolve():
        click.echo(f"{plain(beside)}; plan the incident again", err=True)
    click.echo(f"wrote {plain(str(written))}", err=True)
