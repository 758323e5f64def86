"""``diproute share look``: what a store says of each place now, and whose word it is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click


@click.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.option("--trust", type=click.Path(path_type=Path), help="The list of the keys that you trust.")
@click.option("--box", nargs=4, type=float, metavar="W S E N", help="Only what lies in this box, degrees.")
@click.option("--id", "start", metavar="ID", help="One record, as JSON on stdout; the beginning of its id is enough.")
@click.option("--display", type=click.Choice(["us", "metric"]), default="us", show_default=True, help="Units.")
def look(
    store: Path, trust: Path | None, box: tuple[float, float, float, float] | None, start: str | None, display: str
) -> None:
    """Show each place of a STORE: the newest valid word of somebody who was there, what disagrees, what may be one."""
    from diproute.cli.share_tables import print_places
    from diproute.sharing.keys import NOBODY, read_trust
    from diproute.sharing.places import Word, likely_matches, places
    from diproute.sharing.statement import vouched
    from diproute.sharing.store import Store

    trusted = NOBODY if trust is None else read_trust(trust)
    with Store(store) as opened:
        if start is not None:
            click.echo(opened.get(start).body.decode("utf-8"))
            return
        vouching = vouched(opened.statements(), trusted)
        words = [
            Word.of(one, vouching.standing(one.id, one.record.properties.who.agency))
            for one in (opened.box(box) if box else opened.records())
        ]
    now = datetime.now(UTC)
    print_places(places(words, now), likely_matches(words), now, "us" if display == "us" else "metric")
