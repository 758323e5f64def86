"""The verbs of ``diproute share`` that make something: records of a plan, a note of what was seen, a key."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from diproute.errors import ShareError, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from diproute.sharing.seal import Sealed

_Verb = TypeVar("_Verb", bound=Callable[..., Any])
SEEN = ("snags", "owner", "permission", "invasive_species", "contact", "closed", "remarks")
PASSPHRASE = "The passphrase's file; left out, it is asked for."


def _signed(verb: _Verb) -> _Verb:
    """Give a verb the options of whoever says something."""
    for option in (
        click.option("--passphrase-file", type=click.Path(path_type=Path), help=PASSPHRASE),
        click.option("--key", type=click.Path(path_type=Path), help="Sign with this private key."),
        click.option("--until", required=True, metavar="DATE", help="The last day that it counts, 2027-05-01."),
        click.option("--by", required=True, metavar="NAME", help="Who says it."),
        click.option("--agency", required=True, metavar="NAME", help="For which agency."),
    ):
        verb = option(verb)
    return verb


@click.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.argument("plan", type=click.Path(path_type=Path))
@_signed
def desk(
    store: Path, plan: Path, agency: str, by: str, until: str, key: Path | None, passphrase_file: Path | None
) -> None:
    """Put the sites of a PLAN file into a STORE: what was computed at the desk, before anybody was there."""
    from diproute.document.file import read_plan
    from diproute.sharing.desk import desk_records
    from diproute.sharing.record import Who
    from diproute.sharing.seal import in_one_line

    now = datetime.now(UTC)
    ends = _end_of(until, now)
    with in_one_line():
        made = desk_records(read_plan(plan), Who(agency=agency, by=by), now, ends)
    _keep(store, made, agency, now, key, passphrase_file)


@click.command()
@click.argument("store", type=click.Path(path_type=Path))
@click.option("--of", "of", multiple=True, metavar="ID", help="Of the place of this record; several are joined.")
@click.option("--supersedes", multiple=True, metavar="ID", help="Puts this record of your own agency right.")
@click.option("--at", "place", metavar="POSITION", help='Of a place that has no record yet, "+42.1200 -160.0200".')
@click.option("--name", metavar="NAME", help="The place's name.")
@click.option("--water", metavar="NAME", help="The water's name.")
@click.option("--how", required=True, type=click.Choice(["desk", "overflown", "dipped", "on foot"]), help="How seen.")
@click.option("--depth", metavar="DEPTH", help='"8 ft" or "2.5 m"; rounded down.')
@click.option("--snags", metavar="WORDS", help="What lies or stands in the water.")
@click.option("--wire", "wires", multiple=True, metavar="WORDS", help="A wire that was found; may be repeated.")
@click.option("--owner", metavar="NAME", help="Whose water it is.")
@click.option("--permission", type=click.Choice(["given", "refused", "not needed", "not asked"]), help="To dip there.")
@click.option("--invasive", "invasive_species", metavar="WORDS", help="Invasive species in the water.")
@click.option("--contact", metavar="WORDS", help="Whom to ask.")
@click.option("--closed/--open", default=None, help="Nobody may dip here; or it is open again.")
@click.option("--remarks", metavar="WORDS", help="Anything else.")
@click.option("--invented", is_flag=True, help="It is an exercise: no real place.")
@_signed
def note(store: Path, **said: Any) -> None:
    """Note in a STORE what somebody saw at a place.

    The place is that of an earlier record (--of or --supersedes and the beginning of its id), or a new one (--at,
    --name, --water).
    """
    from diproute.sharing.record import Point, Properties, Seen, SiteRecord, Water, Who, Wire, moment_text
    from diproute.sharing.seal import in_one_line, seal
    from diproute.sharing.store import Store
    from diproute.units import parse

    now = datetime.now(UTC)
    ends = _end_of(said["until"], now)
    named = [*said["of"], *said["supersedes"]]
    earlier: list[Sealed] = []
    if named:
        with Store(store) as opened:
            earlier = [opened.get(start) for start in named]
    where, name, water = _place(earlier, said)
    with in_one_line():
        seen = {key: said[key] for key in SEEN}
        depth_m = None if said["depth"] is None else parse(said["depth"], "length", "--depth")
        record = SiteRecord(
            geometry=Point(coordinates=where),
            properties=Properties(
                invented=said["invented"] or any(one.record.properties.invented for one in earlier),
                name=name,
                water=Water(name=water) if said["water"] or not earlier else earlier[0].record.properties.water,
                how=said["how"],
                who=Who(agency=said["agency"], by=said["by"]),
                when=moment_text(now),
                until=moment_text(ends),
                of=tuple(one.id for one in earlier[: len(said["of"])]),
                supersedes=tuple(one.id for one in earlier[len(said["of"]) :]),
                seen=Seen(
                    depth_dm=None if depth_m is None else math.floor(depth_m * 10 + 1e-6),
                    wires=tuple(Wire(what=words) for words in said["wires"]),
                    **seen,
                ),
            ),
        )
        made = seal(record)
    _keep(store, [made], said["agency"], now, said["key"], said["passphrase_file"])
    click.echo(made.id)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--passphrase-file", type=click.Path(path_type=Path), help=PASSPHRASE)
def key(file: Path, passphrase_file: Path | None) -> None:
    """Make a key to sign with: the private part goes into FILE, the public line is printed for others' trust lists."""
    from diproute.sharing.keys import make_key

    click.echo(make_key(file, _passphrase(passphrase_file, new=True)))
    click.echo(f"wrote {plain(str(file))}: keep it and its passphrase to yourselves", err=True)


def _keep(
    store: Path, made: Sequence[Sealed], agency: str, now: datetime, key: Path | None, passphrase_file: Path | None
) -> None:
    """Sign records where a key is given, and put them into the store."""
    from diproute.sharing.keys import read_signer
    from diproute.sharing.statement import sign
    from diproute.sharing.store import Store

    statements: list[bytes] = []
    if key is not None:
        signer = read_signer(key, _passphrase(passphrase_file))
        statements = sign([one.id for one in made], agency, now, signer)
    with Store(store, make=True) as opened:
        added = opened.add(made, statements)
    how = "signed" if statements else "not signed"
    click.echo(f"{plain(str(store))}: {added.new} new record{'' if added.new == 1 else 's'}, {how}", err=True)


def _place(earlier: Sequence[Sealed], said: dict[str, Any]) -> tuple[tuple[float, float], str, str]:
    """Give position [deg], name and water: those of the first earlier record, where no others are given."""
    from diproute.physics.coordinates import parse_position

    if not earlier and not (said["place"] and said["name"] and said["water"]):
        raise click.UsageError("which place? Give --of ID of a record of it, or --at, --name and --water")
    first = earlier[0].record if earlier else None
    if said["place"]:
        lat, lon = parse_position(said["place"], "--at")
        where = (round(lon, 6), round(lat, 6))
    else:
        assert first is not None
        where = first.geometry.coordinates
    name = said["name"] or (first.properties.name if first else "")
    return where, name, said["water"] or (first.properties.water.name if first else "")


def _end_of(text: str, now: datetime) -> datetime:
    try:
        ends = datetime.combine(date.fromisoformat(text), time(23, 59, 59), UTC)
    except ValueError:
        raise ShareError(f'--until: got {text!r}, wanted a day like "2027-05-01"', where="--until", got=text) from None
    if ends <= now:
        raise ShareError(f"--until: {text} is over; give a day to come", where="--until", got=text)
    return ends


def _passphrase(file: Path | None, *, new: bool = False) -> str:
    if file is None:
        return str(click.prompt("Passphrase", hide_input=True, err=True, confirmation_prompt=new))
    try:
        with file.open("rb") as opened:
            return opened.read(4096).decode("utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise ShareError(f"{file}: the passphrase cannot be read: {error}", where=str(file)) from None
