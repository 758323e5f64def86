"""``diproute plan``: from an incident file to ranked dip sites, a plan file and a map."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from diproute.errors import plain
from diproute.units import Display

if TYPE_CHECKING:
    from diproute.document import Finding
    from diproute.records import Incident

EVERY_SITE_REFUSED = 3


@click.command()
@click.argument("incident", type=click.Path(path_type=Path))
@click.option("--out", "folder", type=click.Path(path_type=Path), help="Folder for the plan, the map and the rest.")
@click.option("--only", help="Names with commas: plan, map, brief, kneeboard, sheet, gpkg, geojson, kml, gpx, csv.")
@click.option("--json", "as_json", is_flag=True, help="plan.json on stdout and nothing else.")
@click.option("--display", type=click.Choice(["us", "metric"]), help="Units of the answer, whatever the file says.")
@click.option(
    "--set", "changes", multiple=True, metavar="KEY=VALUE",
    help="Plan with a key of the incident file set to another value, and say what that changes. May be given again.",
)  # fmt: skip
def plan(
    incident: Path,
    folder: Path | None,
    only: str | None,
    as_json: bool,
    display: str | None,
    changes: tuple[str, ...],
) -> int:
    """Plan an INCIDENT: rank the dip sites, write plan, map, brief and exchange files, print the ranking.

    PDFs are written where diproute[brief] is installed; --only plan,map skips what is not named.

    With --set weather.temperature=36degC, and any other key, the incident as it stands is planned first: what is
    printed and written is the changed plan, and below it stands what changed and why.

    Exit code 3 when every site is refused: the reasons are printed and all files still written.
    """
    from diproute import progress
    from diproute.cli.progress import shown
    from diproute.document.file import plan_text
    from diproute.planning.changed import tell
    from diproute.planning.plan import make_plan, plan_again
    from diproute.reading.changes import told_changes

    if folder is None and not as_json:
        raise click.UsageError("nowhere to write: give --out FOLDER, or --json for stdout")
    if folder is not None and folder.exists() and not folder.is_dir():
        raise click.UsageError(f"--out {folder} is a file; name a folder")
    if only is not None and folder is None:
        raise click.UsageError("--only says what goes into a folder: give --out FOLDER")
    unfinished: str | None = None
    parts: tuple[str, ...] = ()
    if folder is not None:
        from diproute.writing.folder import parts_of

        parts = parts_of(only)
    written: tuple[Path, ...] = ()
    others: tuple[str, ...] = ()
    with shown():
        keys = told_changes(changes)
        asked, changed = (_read(incident, some, display) for some in ({}, keys))
        planned = make_plan(asked, grid=not keys)
        answer = planned.document
        moved: tuple[Finding, ...] = ()
        if keys:
            answer = plan_again(planned, changed, keys, grid=True).document
            moved = tell(planned.document, answer)
        if folder is not None:
            from diproute.writing.folder import check_folder, of_other_runs, write_folder

            progress.at("drawing the map, the brief and the rest")
            unfinished = check_folder(folder)
            written = write_folder(answer, folder, parts)
            others = of_other_runs(answer, folder)
    if unfinished:
        click.echo(f"{plain(unfinished)}; it was replaced", err=True)
    if others:
        click.echo(f"{', '.join(others)} in {plain(str(folder))}: of another run, not written now", err=True)
    for path in written:
        click.echo(f"wrote {plain(str(path))}", err=True)
    if as_json:
        click.echo(plan_text(answer), nl=False)
    else:
        from diproute.cli.tables import changes_told, ranking_table

        ranking_table(answer)
        changes_told(moved, answer)
    return 0 if answer.suitable else EVERY_SITE_REFUSED


def _read(path: Path, keys: dict[str, Any], display: str | None) -> Incident:
    """Read the incident with some keys set, told in the units that are asked for."""
    from diproute.reading.incident import read_incident

    incident = read_incident(path, keys)
    return incident if display is None else replace(incident, display=cast(Display, display))
