"""``diproute sample``: copy the invented scenario to a folder of yours."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
def sample(folder: Path) -> None:
    """Copy the invented sample scenario into FOLDER, which must be new or empty."""
    from diproute.reading.sample import copy_sample

    incident = copy_sample(folder)
    click.echo(str(incident))
    click.echo(f"invented data, no real place; now: diproute plan {incident} --out plan", err=True)
