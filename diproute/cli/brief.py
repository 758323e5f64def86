"""``diproute brief``: from a plan file to what a crew carries on paper."""

from __future__ import annotations

from pathlib import Path

import click

from diproute.errors import plain


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="Folder for the three PDFs.")
@click.option("--site", "sites", multiple=True, help="A page for this site, by rank or id; may be repeated.")
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), help="Paper; the kneeboard is half of it.")
def brief(plan: Path, out: Path, sites: tuple[str, ...], paper: str | None) -> None:
    """Write brief.pdf, kneeboard.pdf and sheet.pdf of a PLAN file.

    The brief has a page for the incident, a page for each of the first ten sites or those asked for, and the check
    lists; the kneeboard cards for the first three or those asked for; the sheet the map, with its place on the ground.
    """
    from diproute.document.file import read_plan
    from diproute.document.run import is_as_written
    from diproute.writing.brief.brief import brief as make_brief
    from diproute.writing.brief.brief import chosen_sites, kneeboard, paper_of
    from diproute.writing.sheet.sheet import sheet
    from diproute.writing.swap import write_set

    if out.exists() and not out.is_dir():
        raise click.UsageError(f"--out {out} is a file; name a folder")
    read = read_plan(plan)
    chosen = chosen_sites(read, sites) if sites else None
    made = {
        "brief.pdf": make_brief(read, chosen, paper),
        "kneeboard.pdf": kneeboard(read, chosen, paper),
        "sheet.pdf": sheet(read, paper or paper_of(read)),
    }
    if not is_as_written(read, plan):
        click.echo(f"{plain(str(plan))} was changed after it was written; the brief shows it as it is now", err=True)
    for path in write_set(made, out):
        click.echo(f"wrote {plain(str(path))}", err=True)
