"""A pack goes there and back, says what it brought, and when anything in it is wrong nothing is taken."""

import gzip
import json

import pyogrio
import pytest
from said import NOW, record
from test_trust import NORTH, other_signature, spoil

from diproute.errors import OutputError, ShareError
from diproute.sharing.keys import Trust, read_public
from diproute.sharing.pack import MOST_LINE, Pack, give, take
from diproute.sharing.store import Store

POND = record()
LAKE = record("Long Lake", (-160.3, 42.3))
OTHER = record(seen={"depth_dm": 9}, of=(POND.id,), agency="South District")
TWIN = record("Heron pond", (-160.0201, 42.12), agency="South District")
PUBLIC = read_public(NORTH.line, "here")
TRUST = Trust({PUBLIC.keyid: NORTH.name}, {PUBLIC.keyid: PUBLIC})


@pytest.fixture
def store(tmp_path):
    with Store(tmp_path / "mine.gpkg", make=True) as made:
        yield made


@pytest.fixture
def pack(tmp_path):
    path = tmp_path / "pack.geojsonl.gz"
    give([POND, LAKE], NORTH.sign(POND), path)
    return path


def test_what_was_given_is_taken(store, pack):
    taken = take(store, pack, NOW, TRUST)
    assert (taken.came, taken.new) == (2, 2)
    assert {name: count for name, count in taken.standings.items() if count} == {"trusted": 1, "unsigned": 1}
    assert (taken.disagreeing, taken.matches) == ((), ())
    assert store.ids() == {POND.id, LAKE.id}
    assert store.statements() == NORTH.sign(POND)
    assert store.verify() == []


def test_taken_again_it_is_known(store, pack):
    take(store, pack, NOW)
    taken = take(store, pack, NOW)
    assert (taken.came, taken.new, sum(taken.standings.values())) == (2, 0, 0)


def test_the_same_records_give_the_same_bytes(pack, tmp_path):
    give([POND, LAKE], NORTH.sign(POND), tmp_path / "again.gz")
    assert (tmp_path / "again.gz").read_bytes() == pack.read_bytes()


def test_statements_about_others_stay_at_home(tmp_path, store):
    give([LAKE], NORTH.sign(POND), tmp_path / "lake.gz")
    take(store, tmp_path / "lake.gz", NOW)
    assert store.statements() == []


def test_what_disagrees_and_what_may_be_one_is_told(store, tmp_path):
    store.add([POND])
    give([OTHER, TWIN], [], tmp_path / "south.gz")
    taken = take(store, tmp_path / "south.gz", NOW)
    (place,) = taken.disagreeing
    assert {word.id for word in place.words} == {POND.id, OTHER.id}
    assert dict(place.disagreements[0].said) == {POND.id: 25, OTHER.id: 9}
    assert {frozenset((m.one, m.other)) for m in taken.matches} == {
        frozenset((POND.id, TWIN.id)), frozenset((OTHER.id, TWIN.id)),
    }  # fmt: skip


def test_wrongly_signed_records_are_kept_apart(store, tmp_path):
    give([POND], [spoil(NORTH.sign(POND)[0], other_signature)], tmp_path / "bad.gz")
    assert take(store, tmp_path / "bad.gz", NOW, TRUST).standings["wrongly signed"] == 1


def test_a_store_can_be_taken_too(store, tmp_path):
    with Store(tmp_path / "theirs.gpkg", make=True) as theirs:
        theirs.add([POND, LAKE], NORTH.sign(POND))
        theirs.copy_to(tmp_path / "stick.gpkg")
    store.add([LAKE])
    taken = take(store, tmp_path / "stick.gpkg", NOW, TRUST)
    assert (taken.came, taken.new, taken.standings["trusted"]) == (2, 1, 1)


def test_gdal_opens_a_pack(pack):
    told = pyogrio.read_dataframe(f"/vsigzip/{pack}")
    assert set(told["name"].dropna()) == {"Heron Pond", "Long Lake"}
    assert told.crs == "EPSG:4326"


def test_nothing_to_give(tmp_path):
    with pytest.raises(ShareError, match="no record to give"):
        give([], [], tmp_path / "empty.gz")
    with pytest.raises(OutputError):
        give([POND], [], tmp_path)


def line_of(sealed, **changed):
    return json.dumps({"id": sealed.id, **json.loads(sealed.body), **changed}).encode() + b"\n"


GOOD = line_of(POND)
STATEMENT = {"type": "Feature", "geometry": None, "properties": {"format": "diproute-statement/1"}}


def with_name(name):
    told = json.loads(POND.body)
    told["properties"]["name"] = name
    body = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    import hashlib

    return b'{"id":"' + hashlib.sha256(body).hexdigest().encode() + b'",' + body[1:] + b"\n"


HOSTILE = {
    "script in a name": with_name("<script>alert(1)</script>"),
    "control characters in a name": with_name("a\u202eb"),
    "another CRS": line_of(LAKE, crs={"type": "name", "properties": {"name": "EPSG:3857"}}),
    "metres for degrees": line_of(LAKE, geometry={"type": "Point", "coordinates": [-17e6, 5e6]}),
    "changed on the way": GOOD.replace(b'"depth_dm": 25', b'"depth_dm": 95'),
    "another's id": line_of(LAKE, id=POND.id),
    "an id that is none": line_of(LAKE, id=7),
    "twice": line_of(POND),
    "a key twice": LAKE.body[:-1] + b',"type":"Feature"}\n',
    "huge number": b'{"id":' + b"9" * 10_000 + b"}\n",
    "no number": b'{"id":NaN}\n',
    "deep nesting": b"[" * 100_000 + b"\n",
    "a list": b"[]\n",
    "an empty line": b"\n",
    "a line of 100 MB": b'{"id":"' + b"a" * 100_000_000 + b'"}\n',
    "many values in a line": b"[" + b"[]," * (MOST_LINE // 3 - 9) + b"[]]\n",
    "neither record nor statement": b'{"type":"FeatureCollection","features":[]}\n',
    "a statement of another format": json.dumps({**STATEMENT, "properties": {"format": "x", "envelope": {}}}).encode(),
    "a statement that is none": json.dumps(
        {**STATEMENT, "properties": {"format": "diproute-statement/1", "envelope": {"payload": 1}}}
    ).encode(),
    "half a character": b'{"id":"\\ud800"}\n',
    "no UTF-8": b"\xff\xfe\n",
}


@pytest.mark.parametrize("what", HOSTILE)
def test_of_a_hostile_pack_nothing_is_taken(what, store, tmp_path):
    path = tmp_path / "hostile.gz"
    path.write_bytes(gzip.compress(GOOD + HOSTILE[what], 1))
    with pytest.raises(ShareError) as refused:
        take(store, path, NOW)
    said = str(refused.value)
    assert said.isprintable()
    assert said.startswith(f"{path}: line 2: ")
    assert said.endswith("nothing was taken")
    assert len(said) < 600
    assert len(store) == 0
    assert store.statements() == []


def test_the_first_line_alone_would_have_been_taken(store, tmp_path):
    path = tmp_path / "good.gz"
    path.write_bytes(gzip.compress(GOOD, 1))
    assert take(store, path, NOW).new == 1


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_a_pack_that_was_cut_short(share, store, pack):
    pack.write_bytes(pack.read_bytes()[: int(len(pack.read_bytes()) * share)])
    with pytest.raises(ShareError, match="cut short"):
        take(store, pack, NOW)
    assert len(store) == 0


def test_a_pack_with_a_bit_turned(store, pack):
    data = bytearray(pack.read_bytes())
    data[-6] ^= 1  # in the checksum
    pack.write_bytes(data)
    with pytest.raises(ShareError, match="damaged"):
        take(store, pack, NOW)
    assert len(store) == 0


def test_a_bomb_stops_at_a_limit(store, tmp_path, monkeypatch):
    """A thousandfold packed: nulls in one line, and short lines without an end."""
    path = tmp_path / "bomb.gz"
    path.write_bytes(gzip.compress(bytes(300_000_000), 1))
    with pytest.raises(ShareError, match="a line may hold"):
        take(store, path, NOW)
    monkeypatch.setattr("diproute.sharing.pack.MOST_TOTAL", len(GOOD) + 10)
    path.write_bytes(gzip.compress(GOOD + line_of(LAKE), 1))
    with pytest.raises(ShareError, match="a pack may hold"):
        take(store, path, NOW)
    monkeypatch.setattr("diproute.sharing.pack.MOST_TOTAL", 10**9)
    monkeypatch.setattr("diproute.sharing.pack.MOST_RECORDS", 1)
    with pytest.raises(ShareError, match="a pack may hold 1 records"):
        take(store, path, NOW)
    assert len(store) == 0


@pytest.mark.parametrize("what", ["missing", "folder", "text", "empty"])
def test_what_is_no_pack(what, store, tmp_path):
    path = tmp_path / "no"
    if what == "folder":
        path.mkdir()
    elif what != "missing":
        path.write_bytes(b"hello" if what == "text" else b"")
    with pytest.raises(ShareError):
        take(store, path, NOW)


def test_a_pack_reads_the_same_twice(pack):
    read = Pack(pack)
    assert list(read.records()) == list(read.records()) == [POND, LAKE]
    assert read.statements == NORTH.sign(POND)
