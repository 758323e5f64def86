"""A few kills while a pack is taken; by hand many more (kill_take.py)."""

import os
import sqlite3

import pytest
from kill_take import BEFORE, IN_PACK, kill_often, look, prepare
from said import record

from diproute.sharing.store import Store

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")


@pytest.mark.slow
def test_a_kill_leaves_all_or_nothing(tmp_path):
    kills = kill_often(8, 3, tmp_path)
    assert {kill.found for kill in kills} <= {"nothing", "all"}, kills
    assert kills[0].found == "nothing"


def some_of_it(store, _):
    store.add([record("Pond 0", (0.0, 42.0))])


def changed(store, path):
    with sqlite3.connect(path) as other:
        other.execute("DELETE FROM rtree_records_geom WHERE id=1")
    other.close()


@pytest.mark.parametrize(("how", "found"), [(some_of_it, f"{BEFORE + 1} records"), (changed, "a fault")])
def test_what_is_wrong_would_be_seen(how, found, tmp_path):
    pack = prepare(tmp_path)
    path = tmp_path / "store.gpkg"
    with Store(path, make=True) as store:
        store.add([record(f"Old {i}", (i / 1000, 10)) for i in range(BEFORE)])
        how(store, path)
    assert found in look(path, pack, ended=False)


def test_a_loss_would_be_seen(tmp_path):
    path = tmp_path / "store.gpkg"
    with Store(path, make=True) as store:
        store.add([record(f"Old {i}", (i / 1000, 10)) for i in range(BEFORE)])
    pack = prepare(tmp_path)
    assert look(path, pack, ended=True) == "taken, and lost"
    assert look(path, pack, ended=False) == "nothing"
    assert look(path, pack, ended=True) == "all"
    assert IN_PACK > BEFORE
