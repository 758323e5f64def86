"""Merging is the union of sets: any order, repeated, the same; and eight processes at once lose nothing."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from said import NOW, record

from diproute.errors import ShareError
from diproute.sharing.places import Word, likely_matches, places
from diproute.sharing.store import Store

BASE = [record(f"Pond {i}", (-160 + i / 100, 42)) for i in range(3)]
MORE = [
    record("Pond 0", (-160.0, 42.0), seen={"depth_dm": 10}, of=(BASE[0].id,), when="2026-07-02T12:00:00Z"),
    record("Pond 0", (-160.0, 42.0), seen={"depth_dm": 30}, of=(BASE[0].id,), agency="South District"),
    record("Pond 1", (-159.99, 42.0), seen={"closed": True}, supersedes=(BASE[1].id,), when="2026-07-03T12:00:00Z"),
    record("Pond 1", (-159.99, 42.0), seen={"closed": True}, of=(BASE[0].id, BASE[2].id)),
    record("Pond 9", (-159.9901, 42.0), how="desk", seen=None),
]
ALL = [*BASE, *MORE]
STATEMENTS = [b'{"a":1}', b'{"b":2}']
some = st.lists(st.sampled_from(ALL), max_size=8)


def content(store):
    return [one.id for one in store.records()], store.statements()


@pytest.fixture(scope="module")
def make(tmp_path_factory):
    """Make a store of its own for every call."""
    folder, count = tmp_path_factory.mktemp("stores"), iter(range(10**6))

    def made(records=(), statements=()):
        store = Store(folder / f"{next(count)}.gpkg", make=True)
        store.add(records, statements)
        return store

    return made


@settings(max_examples=15)
@given(parts=st.lists(st.tuples(some, st.lists(st.sampled_from(STATEMENTS))), min_size=1, max_size=3), data=st.data())
def test_any_order_and_repeated_gives_one_result(make, parts, data):
    stores = [make(*part) for part in parts]
    order = data.draw(st.permutations(stores))
    again = data.draw(st.lists(st.sampled_from(stores), max_size=2))
    one, other = make(), make()
    for store in stores:
        one.merge(store)
    for store in [*order, *again]:
        other.merge(store)
    other.merge(one)
    other.merge(other)
    wanted = {one.id for records, _ in parts for one in records}
    assert content(one) == content(other)
    assert set(content(one)[0]) == wanted
    assert other.verify() == []
    for store in (*stores, one, other):
        store.close()


@given(order=st.permutations(ALL), again=some)
def test_the_view_does_not_depend_on_the_order(order, again):
    plain = [Word.of(one) for one in ALL]
    turned = [Word.of(one) for one in [*order, *again]]
    assert places(turned, NOW) == places(plain, NOW)
    assert likely_matches(turned) == likely_matches(plain)


@given(first=some, more=some)
def test_a_place_never_loses_a_word(first, more):
    """Whatever comes later, every record stands in exactly one place."""
    found = places(map(Word.of, [*first, *more]), NOW)
    told = [word.id for place in found for word in place.words]
    assert sorted(told) == sorted({one.id for one in [*first, *more]})


def test_a_spoilt_record_of_the_other_is_not_merged(make):
    one, other = make(BASE[:1]), make(BASE)
    other.close()
    with sqlite3.connect(other.path) as file:
        (guard,) = file.execute("SELECT sql FROM sqlite_master WHERE name='records_never_change'").fetchone()
        file.execute("DROP TRIGGER records_never_change")
        file.execute("UPDATE records SET body=replace(body,'25','95') WHERE id=?", (BASE[2].id,))
        file.execute(guard)
    file.close()
    with Store(other.path) as again, pytest.raises(ShareError, match="not as it was written"):
        one.merge(again)
    assert content(one) == ([BASE[0].id], [])
    one.close()


WRITER = """
import sys
sys.path[:0] = sys.argv[4:6]
from said import record
from diproute.sharing.store import Store
folder, me, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
with Store(f"{folder}/own{me}.gpkg", make=True) as own, Store(f"{folder}/all.gpkg", make=True) as all_:
    for i in range(count):
        one = record(f"Pond {me} {i}", (me + i / 1000, 42))
        own.add([record(f"Own {me} {i}", (me + i / 1000, 43)), record("Common", (0, i / 1000))])
        all_.add([one, record("Common", (0, i / 1000))])
        if i % 5 == 4:
            all_.merge(own)
"""


@pytest.mark.slow
def test_eight_processes_add_and_merge_at_once(tmp_path):
    here = Path(__file__).parent
    code = [sys.executable, "-c", WRITER, str(tmp_path)]
    writers = [
        subprocess.Popen([*code, str(me), "6", str(here), str(here.parents[1])], stderr=subprocess.PIPE, text=True)
        for me in range(8)
    ]
    said = [writer.communicate()[1] for writer in writers]
    assert [writer.returncode for writer in writers] == [0] * 8, said
    with Store(tmp_path / "all.gpkg") as store:
        assert len(store) == 8 * (6 + 5) + 6
        assert store.verify() == []
