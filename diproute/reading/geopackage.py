"""A GeoPackage before GDAL reads it: at rest, so that SQLite writes nothing beside it, and made of tables alone.

A view in it is a program that SQLite runs: one that never ends would hang the plan.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from diproute.reading.refusals import refused

_VIRTUAL: Final = re.compile(r"\s*create\s+virtual\s+table\s+.*?\busing\s+(\w+)", re.IGNORECASE | re.DOTALL)
_HARMLESS: Final = frozenset({"rtree", "fts3", "fts4", "fts5"})
_STANDARD_VIEWS: Final = frozenset({"st_spatial_ref_sys", "st_geometry_columns", "spatial_ref_sys", "geometry_columns"})
_MORE_THAN_COLUMNS: Final = re.compile(r"\b(?:with|join|union|recursive)\b", re.IGNORECASE)


@contextmanager
def at_rest(path: Path, key: str) -> Iterator[Path]:
    """Give a GeoPackage that SQLite reads without writing: itself, or a copy of one in write-ahead mode.

    Raises
    ------
    LayerError
        Another program is writing it.
    """
    with path.open("rb") as file:
        head = file.read(20)
    journal = path.with_name(f"{path.name}-journal")
    ahead = path.with_name(f"{path.name}-wal")
    if any(file.exists() and file.stat().st_size for file in (journal, ahead)):
        raise refused(key, path.name, "is being written by another program; save and close it there")
    if len(head) < 20 or 2 not in (head[18], head[19]):
        yield path
        return
    with tempfile.TemporaryDirectory(prefix="diproute-") as folder:
        copy = Path(folder).resolve() / path.name
        shutil.copyfile(path, copy)
        with copy.open("r+b") as written:
            written.seek(18)
            written.write(b"\1\1")  # rollback mode, which needs no file beside it
        yield copy


def check_tables(path: Path, name: str, key: str) -> None:
    """Refuse a GeoPackage with views or virtual tables in it, but for those that the standard and its index bring."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as file:
            rows = file.execute(
                "select type, name, sql from sqlite_master where type = 'view' or sql like '%virtual%'"
            ).fetchall()
    except sqlite3.Error as error:
        raise refused(key, name, f"is a broken GeoPackage ({error}); get it anew") from error
    for what, called, sql in rows:
        text = str(sql)
        if what == "view" and (called not in _STANDARD_VIEWS or _MORE_THAN_COLUMNS.search(text)):
            raise refused(key, name, f"holds the view {called!r}, which is not read; save the layer as a table")
        virtual = _VIRTUAL.match(text)
        if virtual is not None and virtual[1].lower() not in _HARMLESS:
            raise refused(key, name, f"holds a table {called!r} of the kind {virtual[1]!r}; save the layer anew")
