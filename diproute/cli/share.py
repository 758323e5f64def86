"""``diproute share``: records of dip sites that agencies pass on to each other, in a file of one's own."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from diproute.cli.share_make import desk, key, note
from diproute.cli.share_show import look
from diproute.errors import plain


@click.group()
def share() -> None:
    """Keep what agencies know of dip sites, pass it on, and take what others know (docs/sharing.md).

    A record never changes: a correction is a new one. What others say is their word: look at the place yourselves
    before a bucket goes in.
    """


@share.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The pack; NAME.gpkg: a copy of the store.")
@click.option("--box", nargs=4, type=float, metavar="W S E N", help="Only records in this box, degrees.")
def give(store: Path, out: Path, box: tuple[float, float, float, float] | None) -> None:
    """Write the records of a STORE, and what was signed of them, into one file for a stick or a mail."""
    from diproute.sharing.pack import give as write_pack
    from diproute.sharing.store import Store

    with Store(store) as opened:
        if out.suffix == ".gpkg":
            if box:
                raise click.UsageError("a copy of the store holds all of it; leave --box out, or write a pack")
            opened.copy_to(out)
            count = len(opened)
        else:
            records = opened.box(box) if box else opened.records()
            count = write_pack(records, opened.statements(), out)
    click.echo(f"wrote {plain(str(out))}: {count} record{'' if count == 1 else 's'}", err=True)


@share.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--trust", type=click.Path(path_type=Path), help="The list of the keys that you trust.")
@click.option("--display", type=click.Choice(["us", "metric"]), default="us", show_default=True, help="Units.")
def take(store: Path, file: Path, trust: Path | None, display: str) -> None:
    """Take a FILE that somebody gave, a pack or a store, into your STORE: all of it, or nothing.

    Prints what came, what was known, whose word the new records are, what disagrees, and what may be one place.
    """
    from diproute.cli.share_tables import print_taken
    from diproute.sharing.keys import NOBODY, read_trust
    from diproute.sharing.pack import take as take_in
    from diproute.sharing.store import Store

    trusted = NOBODY if trust is None else read_trust(trust)
    with Store(store, make=True) as opened:
        print_taken(take_in(opened, file, _now(), trusted), "us" if display == "us" else "metric")


@share.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.option("--trust", type=click.Path(path_type=Path), help="The list of the keys that you trust.")
def verify(store: Path, trust: Path | None) -> int:
    """Look whether a STORE is whole, every record as it was written, and whose signatures hold.

    Exit code 3: something is not as it was written.
    """
    from diproute.cli.share_tables import print_verified
    from diproute.sharing.keys import NOBODY, read_trust
    from diproute.sharing.store import Store

    trusted = NOBODY if trust is None else read_trust(trust)
    with Store(store) as opened:
        return print_verified(opened, trusted)


def _now() -> datetime:
    return datetime.now(UTC)


for made in (desk, note, look, key):
    share.add_command(made)
