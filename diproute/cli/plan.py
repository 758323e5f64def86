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
@click.option("--out", "folder", type=click.Path(path_type=Path), help="Folder for plan.json and map.html.")
@click.option("--json", "as_json", is_flag=True, help="plan.json on stdout and nothing else.")
@click.option("--display", type=click.Choice(["us", "metric"]), help="Units of the answer, whatever the file says.")
@click.option(
    "--set", "changes", multiple=True, metavar="KEY=VALUE",
    help="Plan with a key of the incident file set to another value, and say what that changes. May be given again.",
)  # fmt: skip
def plan(incident: Path, folder: Path | None, as_json: bool, display: str | None, changes: tuple[str, ...]) -> int:
    """Plan an INCIDENT: rank the dip sites, write the plan and the map, print the ranking.

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
    unfinished: str | None = None
    written: tuple[Path, ...] = ()
    with shown():
        keys = told_changes(changes)
        asked, changed = (_read(incident, some, display) for some in ({}, keys))
        planned = make_plan(asked, grid=not keys)
        answer = planned.document
        moved: tuple[Finding, ...] = ()
        if keys:
            answer = plan_again(planned, changed, keys).document
            moved = tell(planned.document, answer)
        if folder is not None:
            from diproute.writing.folder import check_folder, write_folder

            progress.at("drawing the map")
            unfinished = check_folder(folder)
            written = write_folder(answer, folder)
    if unfinished:
        click.echo(f"{plain(unfinished)}; it was replaced", err=True)
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
