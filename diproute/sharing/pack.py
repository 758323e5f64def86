"""Packs: one file with records and the statements that vouch for them, for a stick or a mail.

A gzipped text of GeoJSON features, one a line. A record's line is the record with its ``id`` in front; a statement's
line a feature without a place that holds the envelope. There are no file names in a pack that could lead anywhere,
and every line, and all lines together, stop at a limit.
"""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from diproute.errors import ShareError
from diproute.files import write_atomically
from diproute.sharing.keys import NOBODY, Trust
from diproute.sharing.places import Match, Place, Word, likely_matches, places
from diproute.sharing.seal import Sealed, canonical, check_record, is_id, parse_strictly
from diproute.sharing.statement import MOST_BYTES as MOST_STATEMENT
from diproute.sharing.statement import STANDINGS, Standing, read_statement, vouched
from diproute.sharing.store import Box, Store, strictly

FORMAT: Final = "diproute-statement/1"
MOST_LINE: Final = MOST_STATEMENT + 1024
MOST_TOTAL: Final = 2 * 2**30
MOST_RECORDS: Final = 1_000_000
MOST_STATEMENTS: Final = 200_000
NEAR_DEG: Final = 0.05  # round the new records, where others are looked at
_SQLITE: Final = b"SQLite format 3\0"
_GZIP: Final = b"\x1f\x8b"


@dataclass(frozen=True, slots=True)
class Taken:
    """What a taking brought.

    ``standings`` count the new records; ``disagreeing`` are places with a new record in them whose records say
    different things; ``matches`` pairs that may be one place.
    """

    came: int
    new: int
    standings: dict[Standing, int]
    disagreeing: tuple[Place, ...]
    matches: tuple[Match, ...]


def give(records: Iterable[Sealed], statements: Iterable[bytes], path: str | Path) -> int:
    """Write a pack.

    Parameters
    ----------
    records
        The records.
    statements
        Signed statements; those that vouch for none of the records stay at home.
    path
        The file.

    Returns
    -------
    int
        How many records are in it.

    Raises
    ------
    ShareError
        There is no record to give.
    OutputError
        The file cannot be written.
    """
    packed, ids = BytesIO(), set()
    with gzip.GzipFile(fileobj=packed, mode="wb", mtime=0, filename="") as text:
        for sealed in records:
            ids.add(sealed.id)
            text.write(b'{"id":"' + sealed.id.encode("ascii") + b'",' + sealed.body[1:] + b"\n")
        for body in statements:
            if read_statement(body).ids & ids:
                envelope = parse_strictly(body, "the signed statement", MOST_STATEMENT)
                said = {"format": FORMAT, "envelope": envelope}
                text.write(canonical({"type": "Feature", "geometry": None, "properties": said}) + b"\n")
    if not ids:
        raise ShareError("there is no record to give; choose another box, or another store")
    write_atomically(path, packed.getvalue())
    return len(ids)


class Pack:
    """A pack that is read: its records come one by one, its statements lie there when the last has come.

    Raises
    ------
    ShareError
        It is no pack.
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        self.statements: list[bytes] = []
        self._number = 0
        if _first_bytes(self.path)[:2] != _GZIP:
            raise ShareError(f"{self.path}: is no pack; name a file that diproute share give wrote", where=str(path))

    def records(self) -> Iterator[Sealed]:
        """Give the records.

        Raises
        ------
        ShareError
            Anything in the pack that may not be there.
        """
        seen, self.statements = set[str](), []
        self._number = 0
        try:
            with gzip.open(self.path, "rb") as text:
                for line in self._lines(text):
                    sealed = self._line(line)
                    if sealed is None:
                        continue
                    if sealed.id in seen:
                        raise ShareError("a record stands twice in the pack")
                    seen.add(sealed.id)
                    if len(seen) > MOST_RECORDS:
                        raise ShareError(f"a pack may hold {MOST_RECORDS} records")
                    yield sealed
        except ShareError as error:
            raise ShareError(
                f"{self.path}: line {self._number}: {error}; nothing was taken", where=str(self.path)
            ) from None
        except (EOFError, zlib.error, OSError) as error:
            why = "it is damaged or cut short; ask for it again"
            raise ShareError(f"{self.path}: {why}; nothing was taken", where=str(self.path)) from error

    def _lines(self, text: gzip.GzipFile) -> Iterator[bytes]:
        total = 0
        while line := text.readline(MOST_LINE + 1):
            self._number += 1
            total += len(line)
            if len(line) > MOST_LINE:
                raise ShareError(f"a line may hold {MOST_LINE} bytes, and this one holds more")
            if total > MOST_TOTAL:
                raise ShareError(f"a pack may hold {MOST_TOTAL / 2**30:.0f} GB, and this one holds more")
            yield line

    def _line(self, line: bytes) -> Sealed | None:
        told = parse_strictly(line, "the line", MOST_LINE)
        if not isinstance(told, dict):
            raise ShareError("it is no GeoJSON feature")
        if "id" not in told:
            self._statement(told)
            return None
        id_ = told.pop("id")
        sealed = check_record(told)
        if not is_id(id_) or sealed.id != id_:
            raise ShareError("the record is not the one that its id names; it was changed on the way")
        return sealed

    def _statement(self, told: dict[str, Any]) -> None:
        said = told.get("properties")
        fits = told.keys() == {"type", "geometry", "properties"} and told["geometry"] is None
        if not fits or not isinstance(said, dict) or set(said) != {"format", "envelope"} or said["format"] != FORMAT:
            raise ShareError("it is neither a record with its id nor a signed statement")
        body = canonical(said["envelope"])
        read_statement(body)
        self.statements.append(body)
        if len(self.statements) > MOST_STATEMENTS:
            raise ShareError(f"a pack may hold {MOST_STATEMENTS} signed statements")


def take(store: Store, path: str | Path, now: datetime, trust: Trust = NOBODY) -> Taken:
    """Take what a pack or another store holds into a store: all of it or nothing.

    Parameters
    ----------
    store
        The store.
    path
        A pack, or a store of records.
    now
        The time, with its offset from UTC.
    trust
        The keys that are trusted; they decide what is said of the records, not which are taken.

    Raises
    ------
    ShareError
        It is neither, or anything in it may not be there; nothing was taken.
    """
    known, agency_of, places_of = store.ids(), dict[str, str](), list[tuple[float, float]]()

    def noted(records: Iterable[Sealed]) -> Iterator[Sealed]:
        for sealed in records:
            if sealed.id not in known:
                agency_of[sealed.id] = sealed.record.properties.who.agency
                places_of.append((sealed.record.lon_deg, sealed.record.lat_deg))
            yield sealed

    if _first_bytes(Path(path))[: len(_SQLITE)] == _SQLITE:
        with Store(path) as other:
            came = len(other)
            store.add(noted(map(strictly, other.records(known))), other.statements())
    else:
        pack = Pack(path)
        came = store.add(noted(pack.records()), _late(pack)).came
    vouching = vouched(store.statements(), trust)
    standings = dict.fromkeys(STANDINGS, 0)
    for id_, agency in agency_of.items():
        standings[vouching.standing(id_, agency)] += 1
    words = []
    if agency_of:
        near = store.box(_round(places_of))
        words = [Word.of(one, vouching.standing(one.id, one.record.properties.who.agency)) for one in near]
    disagreeing = (
        place for place in places(words, now) if place.disagreements and any(w.id in agency_of for w in place.words)
    )
    matches = (match for match in likely_matches(words) if {match.one, match.other} & agency_of.keys())
    return Taken(came, len(agency_of), standings, tuple(disagreeing), tuple(matches))


def _late(pack: Pack) -> Iterator[bytes]:
    """Give a pack's statements, which lie there when its records have come."""
    yield from pack.statements


def _round(where: list[tuple[float, float]]) -> Box:
    lons, lats = [lon for lon, _ in where], [lat for _, lat in where]
    wide = NEAR_DEG if max(map(abs, lats)) < 60 else 10 * NEAR_DEG
    return max(-180, min(lons) - wide), min(lats) - NEAR_DEG, min(180, max(lons) + wide), max(lats) + NEAR_DEG


def _first_bytes(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise ShareError(f"{path}: there is no such file", where=str(path))
        with path.open("rb") as file:
            return file.read(16)
    except OSError as error:
        raise ShareError(f"{path}: cannot be read: {error.strerror or error}", where=str(path)) from error
