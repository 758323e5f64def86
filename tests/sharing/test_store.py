"""The store only grows, survives what people do to files, and opens in a desktop GIS."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pyogrio
import pytest
from said import record

from diproute.errors import OutputError, ShareError
from diproute.sharing.store import Added, Store

POND, LAKE = record(), record("Long Lake", (-160.3, 42.3), seen={"depth_dm": 90, "closed": True})
EAST, WEST = record("Sea east", (179.99, -17.0)), record("Sea west", (-179.99, -17.0))


@pytest.fixture
def path(tmp_path):
    return tmp_path / "sites.gpkg"


@pytest.fixture
def store(path):
    with Store(path, make=True) as made:
        made.add([POND, LAKE])
        yield made


def test_what_was_added_is_there_once(store):
    assert store.add([POND, EAST]) == Added(2, 1)
    assert store.add([POND, EAST, EAST]) == Added(3, 0)
    assert len(store) == 3
    assert list(store.records()) == sorted([POND, LAKE, EAST], key=lambda one: one.id)
    assert store.ids() == {POND.id, LAKE.id, EAST.id}
    assert store.verify() == []


def test_a_record_is_found_by_its_id_or_its_beginning(store):
    assert store.get(POND.id) == store.get(POND.id[:8]) == POND
    with pytest.raises(ShareError, match="no record"):
        store.get("f" * 64)
    with pytest.raises(ShareError, match="several"):
        store.get("")


def test_a_box_holds_what_lies_in_it(store):
    assert list(store.box((-160.1, 42.0, -160.0, 42.2))) == [POND]
    assert list(store.box((-160.02, 42.12, -160.02, 42.12))) == [POND]
    assert list(store.box((0, 0, 10, 10))) == []
    assert list(store.box((-160.019999, 42.0, -160.0, 42.2))) == []


def test_a_box_over_the_antimeridian(store):
    store.add([EAST, WEST])
    assert {one.id for one in store.box((179.0, -20, -179.0, -10))} == {EAST.id, WEST.id}
    assert list(store.box((179.0, -20, 180.0, -10))) == [EAST]


def test_nothing_is_added_when_one_record_cannot_be_had(store):
    def breaking():
        yield EAST
        raise ShareError("the second is spoilt")

    with pytest.raises(ShareError, match="spoilt"):
        store.add(breaking())
    assert len(store) == 2
    assert store.add([WEST]) == Added(1, 1)
    assert EAST.id not in store.ids()


@pytest.mark.parametrize("what", ["UPDATE records SET name='x'", "DELETE FROM records", "DELETE FROM statements"])
def test_nothing_is_changed_or_removed(store, path, what):
    store.add([], [b"{}"])
    with sqlite3.connect(path) as other, pytest.raises(sqlite3.Error, match="add one that supersedes it"):
        other.execute(what)
    other.close()


def test_it_opens_in_gdal(store, path):
    store.close()
    assert {name for name, _ in pyogrio.list_layers(path)} == {"records", "statements"}
    told = pyogrio.read_info(path, layer="records")
    assert (told["crs"], told["geometry_type"], told["features"]) == ("EPSG:4326", "Point", 2)
    assert tuple(told["total_bounds"]) == pytest.approx((-160.3, 42.12, -160.02, 42.3))
    (row,) = pyogrio.read_dataframe(path, layer="records", bbox=(-160.1, 42.0, -160.0, 42.2)).itertuples()
    assert (row.name, row.how, row.depth_m, row.geometry.x, row.geometry.y) == (
        "Heron Pond",
        "dipped",
        2.5,
        -160.02,
        42.12,
    )
    assert str(row.dated) == "2026-07-01 12:00:00+00:00"


def test_it_opens_in_gdal_while_it_is_open_here(store, path):
    assert len(pyogrio.read_dataframe(path, layer="records")) == 2


def test_a_gis_that_opened_it_for_writing_left_it_a_store(store, path):
    import geopandas
    import shapely

    store.close()
    more = geopandas.GeoDataFrame({"a": [1]}, geometry=[shapely.Point(1, 2)], crs=4326)
    pyogrio.write_dataframe(more, path, layer="mine", append=True)
    with Store(path) as again:
        assert len(again) == 2
        assert again.verify() == []


SPOILT = {
    "another word in the record": "UPDATE records SET body=replace(body,'Heron','Raven') WHERE name='Heron Pond'",
    "another place beside it": "UPDATE records SET lat=43 WHERE name='Heron Pond'",
    "another depth beside it": "UPDATE records SET depth_m=9 WHERE name='Heron Pond'",
    "another geometry": "UPDATE records SET geom=x'47500001e6100000' WHERE name='Heron Pond'",
    "another id": f"UPDATE records SET id='{'0' * 64}' WHERE name='Heron Pond'",
    "out of the index": "DELETE FROM rtree_records_geom WHERE id=1",
}


@pytest.mark.parametrize("what", SPOILT)
def test_verify_sees_what_was_changed(store, path, what):
    store.close()
    with sqlite3.connect(path) as other:
        (guard,) = other.execute("SELECT sql FROM sqlite_master WHERE name='records_never_change'").fetchone()
        other.execute("DROP TRIGGER records_never_change")
        other.execute(SPOILT[what])
        other.execute(guard)
    other.close()
    with Store(path) as again:
        assert [fault.fid for fault in again.verify()] == [1]


def test_a_spoilt_record_is_not_handed_out(store, path):
    test_verify_sees_what_was_changed(store, path, "another word in the record")
    with Store(path) as again:
        with pytest.raises(ShareError, match="not as it was written"):
            list(again.records())
        with pytest.raises(ShareError, match="not as it was written"):
            list(again.box((-180, -90, 180, 90)))


def no_sqlite(path):
    path.write_bytes(b"not a database, but long enough to look like a file of one" * 100)


def foreign(path):
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE records(id TEXT, body TEXT)")
    other.close()


def endless(path):
    """A view of our table's name that never comes to an end."""
    foreign(path)
    with sqlite3.connect(path) as other:
        other.execute("DROP TABLE records")
        other.execute(
            "CREATE VIEW records AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n) SELECT i AS id FROM n"
        )
    other.close()


def more_triggers(path):
    Store(path, make=True).close()
    with sqlite3.connect(path) as other:
        other.execute("CREATE TRIGGER x AFTER INSERT ON records BEGIN DELETE FROM gpkg_contents; END")
    other.close()


def no_guard(path):
    Store(path, make=True).close()
    with sqlite3.connect(path) as other:
        other.execute("DROP TRIGGER records_never_go")
    other.close()


def cut(path):
    with Store(path, make=True) as whole:
        whole.add([POND, LAKE])
    path.write_bytes(path.read_bytes()[:6000])


@pytest.mark.parametrize("what", [no_sqlite, foreign, endless, more_triggers, no_guard, cut, Path.mkdir, Path.touch])
def test_what_is_no_store_is_refused_in_one_line(what, path):
    what(path)
    with pytest.raises(ShareError) as refused, Store(path) as store:
        list(store.records())
    assert str(path) in str(refused.value)


def test_what_is_not_there_is_not_made(path):
    with pytest.raises(ShareError, match="no such store"):
        Store(path)
    assert not path.exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes of this kind")
@pytest.mark.parametrize("make", [True, False])
def test_a_pipe_is_no_store_and_is_not_waited_for(path, make):
    os.mkfifo(path)
    with pytest.raises(ShareError):
        Store(path, make=make)


def test_an_empty_file_that_a_kill_left_becomes_a_store(path):
    path.touch()
    with Store(path, make=True) as store:
        assert store.add([POND]) == Added(1, 1)


def test_a_copy_for_a_stick_is_one_file(store, tmp_path):
    (tmp_path / "stick").mkdir()
    out = store.copy_to(tmp_path / "stick" / "sites.gpkg")
    assert [path.name for path in out.parent.iterdir()] == ["sites.gpkg"]
    with Store(out) as copy:
        assert list(copy.records()) == list(store.records())
    with pytest.raises(OutputError, match="a file has its name"):
        store.copy_to(out)


READ = (
    "import os, sys; from diproute.sharing.store import Store; from diproute.errors import ShareError\n"
    "if os.geteuid() == 0: os.setuid(65534)\n"
    "with Store(sys.argv[1]) as store:\n"
    "    print(len(list(store.records())), len(store.verify()))\n"
    "    try: store.add(list(store.records()), [b'{}'])\n"
    "    except ShareError as error: print(error)\n"
)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="this system has no rights of this kind")
def test_a_stick_that_can_only_be_read(store):
    """As a user who may write neither the file nor its folder; root may write everywhere, so it becomes nobody."""
    store.close()
    with tempfile.TemporaryDirectory() as folder:
        stick = Path(folder)
        shutil.copy(store.path, stick / "sites.gpkg")
        (stick / "sites.gpkg").chmod(0o444)
        stick.chmod(0o555)
        ran = subprocess.run(
            [sys.executable, "-c", READ, str(stick / "sites.gpkg")],
            capture_output=True, text=True, check=False,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        )  # fmt: skip
        assert ran.returncode == 0, ran.stderr
        counted, refused = ran.stdout.splitlines()
        assert counted == "2 0"
        assert "can only be read" in refused
        assert [path.name for path in stick.iterdir()] == ["sites.gpkg"]
        stick.chmod(0o755)


def test_a_stick_with_work_that_was_not_finished_says_so(store, tmp_path, monkeypatch):
    """Changes still lie beside the file: leaving them out would hide records."""
    copy = tmp_path / "stick.gpkg"
    shutil.copy(store.path, copy)
    shutil.copy(f"{store.path}-wal", f"{copy}-wal")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(ShareError, match="was not closed"):
        Store(copy)
