"""The store of records: one GeoPackage file that several processes may use at once, and that only ever grows.

Nothing in it is changed or removed. Adding is all or nothing, also when the machine dies. What comes from outside is
checked before the file is locked, so that others wait for the writing alone.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Self

from diproute.errors import OutputError, ShareError
from diproute.files import cannot_write, check_free, discard, own_name, settle
from diproute.sharing.seal import Sealed, digest, read_record
from diproute.sharing.store_tables import APPLICATION, COLUMNS, MAKE, TABLES, TRIGGERS, row

WAIT_S: Final = 60.0
PAGE_BYTES: Final = 16_384  # records take 2 to 3 kB; a page of 4 kB would hold one and stand half empty
CACHE_BYTES: Final = 32 * 2**20
MOST_CELL: Final = 4 * 2**20  # bytes of one value
_NAMES: Final = ",".join(COLUMNS)
_INTO: Final = f"INSERT INTO incoming VALUES({','.join('?' * len(COLUMNS))})"
_OUR_TRIGGERS: Final = (
    "SELECT name,sql FROM sqlite_master WHERE type='trigger' AND tbl_name IN ('records','statements','gpkg_contents')"
)
_IN_BOX: Final = (  # the index keeps single precision, rounded outward
    "SELECT a.id,a.body FROM rtree_records_geom r JOIN records a ON a.fid=r.id WHERE r.minx<=? AND r.maxx>=? "
    "AND r.miny<=? AND r.maxy>=? AND a.lon BETWEEN ? AND ? AND a.lat BETWEEN ? AND ?"
)
_TAKE_RECORDS: Final = (
    f"INSERT INTO records({_NAMES}) SELECT {_NAMES} FROM temp.incoming WHERE true ON CONFLICT(id) DO NOTHING"
)
_TAKE_STATEMENTS: Final = (
    "INSERT INTO statements(id,body) SELECT id,body FROM temp.vouching WHERE true ON CONFLICT(id) DO NOTHING"
)
_MERGE_RECORDS: Final = (
    f"INSERT INTO main.records({_NAMES}) SELECT {_NAMES} FROM other.records o "
    "WHERE NOT EXISTS(SELECT 1 FROM main.records m WHERE m.id=o.id) AND fits(o.id,o.body)"
)
_MERGE_STATEMENTS: Final = (
    "INSERT INTO main.statements(id,body) SELECT id,body FROM other.statements WHERE true ON CONFLICT(id) DO NOTHING"
)
_SAY_BOUNDS: Final = (
    "UPDATE gpkg_contents SET last_change=strftime('%Y-%m-%dT%H:%M:%fZ','now'),(min_x,max_x,min_y,max_y)="
    "(SELECT min(minx),max(maxx),min(miny),max(maxy) FROM rtree_records_geom) WHERE table_name='records'"
)

Box = tuple[float, float, float, float]  # west, south, east, north [deg]; west > east runs over the antimeridian


@dataclass(frozen=True, slots=True)
class Added:
    """How many records came, and how many of them were new."""

    came: int
    new: int


@dataclass(frozen=True, slots=True)
class Fault:
    """A row that is not as it was written."""

    fid: int
    why: str


class Store:
    """A store of records in one file.

    Parameters
    ----------
    path
        The GeoPackage. On a medium that can only be read it is read, and nothing is written beside it.
    make
        Make it when it is missing.

    Raises
    ------
    ShareError
        It is no store, or cannot be opened.
    """

    def __init__(self, path: str | Path, *, make: bool = False) -> None:
        self.path = Path(path)
        with self._said():
            self._db = self._open(make)
            try:
                self._prepare(make)
            except BaseException:
                self._db.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __len__(self) -> int:
        """Count the records."""
        with self._said():
            return int(self._db.execute("SELECT count(*) FROM records").fetchone()[0])

    def add(self, records: Iterable[Sealed], statements: Iterable[bytes] = ()) -> Added:
        """Add records and signed statements that are not yet there: all or none.

        Parameters
        ----------
        records
            They may come one by one; when one of them cannot be had, nothing is added.
        statements
            The signed statements that vouch for records, as they came.
        """
        with self._said():
            self._stage()
            with self._at_once("BEGIN"):
                came = self._db.executemany(_INTO, map(row, records)).rowcount
                self._db.executemany(
                    "INSERT INTO vouching VALUES(?,?)", ((digest(s), s.decode("utf-8")) for s in statements)
                )
            return Added(max(came, 0), self._take_in())

    def merge(self, other: Store) -> Added:
        """Add all that another store of one's own holds: all or nothing.

        Each new record must fit its id; what a stranger's store holds is looked at more closely, by
        `diproute.sharing.pack.take`.

        Raises
        ------
        ShareError
            A record there is not as it was written; nothing was added.
        """
        with self._said():
            spoilt: list[object] = []

            def fits(id_: object, body: object) -> bool:
                if not _fits(id_, body):
                    spoilt.append(id_)
                return not spoilt

            self._db.create_function("fits", 2, fits)
            self._db.execute("ATTACH ? AS other", (other.uri("ro"),))
            try:
                with self._at_once("BEGIN IMMEDIATE"):
                    came = self._db.execute("SELECT count(*) FROM other.records").fetchone()[0]
                    new = self._db.execute(_MERGE_RECORDS).rowcount
                    if spoilt:
                        raise ShareError(f"{other.path}: the record {str(spoilt[0])[:16]!a} is not as it was written")
                    self._db.execute(_MERGE_STATEMENTS)
                    self._db.execute(_SAY_BOUNDS)
            finally:
                self._db.execute("DETACH other")
            return Added(came, new)

    def records(self, without: frozenset[str] = frozenset()) -> Iterator[Sealed]:
        """Give the records one by one by their ids, those of `without` left out.

        Raises
        ------
        ShareError
            One is not as it was written.
        """
        with self._said():
            for id_, body in self._db.execute("SELECT id,body FROM records ORDER BY id"):
                if id_ not in without:
                    yield _as_written(id_, body)

    def ids(self) -> frozenset[str]:
        """Give the id of every record."""
        with self._said():
            return frozenset(id_ for (id_,) in self._db.execute("SELECT id FROM records"))

    def box(self, box: Box) -> Iterator[Sealed]:
        """Give the records in a box [deg] one by one."""
        west, south, east, north = box
        parts = ((west, 180.0), (-180.0, east)) if west > east else ((west, east),)
        with self._said():
            for w, e in parts:
                for id_, body in self._db.execute(_IN_BOX, (e, w, north, south, w, e, south, north)):
                    yield _as_written(id_, body)

    def get(self, start: str) -> Sealed:
        """Give one record by its id, or by a beginning of it that no other has.

        Raises
        ------
        ShareError
            There is none, or there are several.
        """
        with self._said():
            found = self._db.execute(
                "SELECT id,body FROM records WHERE id>=? AND id<? LIMIT 2", (start, start + "g")
            ).fetchall()
        if len(found) != 1:
            many = "several records begin so; give more of it" if found else "no record has it"
            raise ShareError(f"{self.path}: {start}: {many}", where=start)
        return _as_written(*found[0])

    def statements(self) -> list[bytes]:
        """Give the signed statements, as they came."""
        with self._said():
            return [body.encode("utf-8") for (body,) in self._db.execute("SELECT body FROM statements ORDER BY id")]

    def verify(self) -> list[Fault]:
        """Look whether the file is whole and every record as it was written; give what is not."""
        with self._said():
            torn = [Fault(0, str(said)) for (said,) in self._db.execute("PRAGMA integrity_check(10)") if said != "ok"]
            found = [fault for fault in map(_fault, self._db.execute(f"SELECT fid,{_NAMES} FROM records")) if fault]
            lost = self._db.execute(
                "SELECT fid FROM records WHERE NOT EXISTS(SELECT 1 FROM rtree_records_geom r WHERE r.id=records.fid)"
            )
            return [*torn, *found, *(Fault(fid, "it is not in the spatial index") for (fid,) in lost)]

    def copy_to(self, path: str | Path) -> Path:
        """Write the whole store into a file of its own, for a stick: one file, with nothing beside it.

        Raises
        ------
        OutputError
            The file cannot be written, or is there already.
        """
        place = Path(path)
        part = place.with_name(own_name("part"))
        try:
            check_free(place)
            if place.exists():
                raise OSError("a file has its name")
            with self._said():
                self._db.execute("VACUUM INTO ?", (str(part),))
            part.replace(place)
            settle(place.parent)
        except OSError as error:
            raise OutputError(f"cannot write {place}: {error.strerror or error}; choose another name") from error
        finally:
            discard(part)
        return place

    def uri(self, mode: str) -> str:
        """Give the address by which SQLite opens the file: ``rwc``, ``rw``, ``ro`` or ``immutable``."""
        writable = os.access(self.path.parent, os.W_OK)
        how = "mode=ro&immutable=1" if mode == "immutable" or (mode == "ro" and not writable) else f"mode={mode}"
        return f"{self.path.absolute().as_uri()}?{how}"

    def _open(self, make: bool) -> sqlite3.Connection:
        place = self.path
        if not make and not place.is_file():
            raise ShareError(
                f"{place}: there is no such store; name a file that diproute share wrote", where=str(place)
            )
        if place.exists() and not place.is_file():
            raise ShareError(f"{place}: is no ordinary file; name a file that diproute share wrote", where=str(place))
        if make:
            try:
                place.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise cannot_write(place, error) from error
        writable = os.access(place.parent, os.W_OK) and (os.access(place, os.W_OK) or make)
        beside = place.with_name(place.name + "-wal")
        if not writable and beside.exists() and beside.stat().st_size:
            raise ShareError(f"{place} was not closed and cannot be written; copy it and {beside.name} elsewhere")
        mode = ("rwc" if make else "rw") if writable else "immutable"
        opened = sqlite3.connect(self.uri(mode), uri=True, isolation_level=None, timeout=WAIT_S, cached_statements=32)
        opened.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_CELL)
        opened.execute(f"PRAGMA cache_size=-{CACHE_BYTES // 1024}")
        opened.execute("PRAGMA trusted_schema=OFF")
        opened.execute("PRAGMA cell_size_check=ON")
        if not writable:
            opened.execute("PRAGMA query_only=ON")
        return opened

    def _prepare(self, make: bool) -> None:
        """Make the tables where there are none, and refuse a file whose tables are others."""
        if make:
            self._db.execute(f"PRAGMA page_size={PAGE_BYTES}")  # of a file that is new
            _patiently(self._db, "PRAGMA journal_mode=WAL")
            with self._at_once("BEGIN IMMEDIATE"):  # of two that begin, the second finds the tables
                if not self._db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone():
                    for statement in MAKE:
                        self._db.execute(statement)
            self._db.execute("PRAGMA wal_checkpoint(PASSIVE)")  # a GIS looks at the first bytes of the file itself
        self._db.execute("PRAGMA synchronous=FULL")
        there = dict(self._db.execute("SELECT name,sql FROM sqlite_master WHERE type='table' AND sql IS NOT NULL"))
        triggers = dict(self._db.execute(_OUR_TRIGGERS))
        application = self._db.execute("PRAGMA application_id").fetchone()[0]
        if application != APPLICATION or {name: there.get(name) for name in TABLES} != TABLES or triggers != TRIGGERS:
            raise ShareError(
                f"{self.path} is no store of records, or was changed; name a file that diproute share wrote"
            )
        self._db.execute("PRAGMA trusted_schema=ON")  # now that it is known to be ours: its trigger fills the index

    def _stage(self) -> None:
        """Make an empty place beside the store where what comes is checked, while others may write."""
        self._db.execute("DROP TABLE IF EXISTS temp.incoming")
        self._db.execute("DROP TABLE IF EXISTS temp.vouching")
        self._db.execute(f"CREATE TEMP TABLE incoming({_NAMES})")
        self._db.execute("CREATE TEMP TABLE vouching(id,body)")

    def _take_in(self) -> int:
        """Take in what was staged, in one step, and count the new records."""
        with self._at_once("BEGIN IMMEDIATE"):
            new = self._db.execute(_TAKE_RECORDS).rowcount
            self._db.execute(_TAKE_STATEMENTS)
            if new:
                self._db.execute(_SAY_BOUNDS)
        return new

    @contextlib.contextmanager
    def _at_once(self, begin: str) -> Iterator[None]:
        """Do several things as one, or none of them."""
        self._db.execute(begin)
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise

    @contextlib.contextmanager
    def _said(self) -> Iterator[None]:
        """Say in one line what the file does not let be done."""
        try:
            yield
        except (sqlite3.Error, OverflowError) as error:
            raise ShareError(f"{self.path}: {_why(error)}", where=str(self.path)) from error


def _fits(id_: object, body: object) -> bool:
    return isinstance(body, str) and digest(body.encode("utf-8", "replace")) == id_


def _as_written(id_: Any, body: Any) -> Sealed:
    """Give a record whose bytes fit its id: they were checked when they came in."""
    if not _fits(id_, body):
        raise ShareError(f"the record {str(id_)[:16]!a} is not as it was written; its id does not fit it")
    return Sealed(id_, body.encode("utf-8"))


def strictly(sealed: Sealed) -> Sealed:
    """Look at a record as if nobody had before.

    Raises
    ------
    ShareError
        It is none, or its bytes are not those of RFC 8785.
    """
    again = read_record(sealed.body)
    if again != sealed:
        raise ShareError(f"the record {sealed.id[:16]} is not printed as records are")
    return again


def _fault(found: tuple[Any, ...]) -> Fault | None:
    fid, *columns = found
    try:
        sealed = strictly(_as_written(columns[COLUMNS.index("id")], columns[COLUMNS.index("body")]))
    except ShareError as error:
        return Fault(fid, str(error))
    wrong = [name for name, is_, was in zip(COLUMNS, columns, row(sealed), strict=True) if is_ != was]
    return Fault(fid, f"beside the record stands another {', '.join(wrong)}") if wrong else None


def _patiently(db: sqlite3.Connection, statement: str) -> None:
    """Run what SQLite does not wait for by itself."""
    end = time.monotonic() + WAIT_S
    while True:
        try:
            db.execute(statement)
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > end:
                raise
            time.sleep(0.02)


def _why(error: Exception) -> str:
    said = str(error)
    if "readonly" in said or "query_only" in said:
        return "it can only be read; copy it to a place that you may write to"
    if "not a database" in said or "malformed" in said:
        return "it is damaged, or no store of records; take it again from where it came"
    if "locked" in said:
        return f"others have been writing to it for {WAIT_S:.0f} s; try again"
    if "unable to open" in said:
        return "it cannot be opened; check the place and your permissions"
    return f"{said}; check the place and your permissions"
