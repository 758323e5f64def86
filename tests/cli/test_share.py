"""The verbs of sharing: a story of two agencies, and wrong input in one line."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from plan_fixture import make_plan

from diproute.document import write_plan
from diproute.sharing.store import Store

UNTIL = (datetime.now(UTC) + timedelta(days=300)).date().isoformat()
NORTH = ("--agency", "North District", "--by", "R. Doe", "--until", UNTIL)
SOUTH = ("--agency", "South District", "--by", "M. Roe", "--until", UNTIL)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return write_plan(make_plan(), tmp_path_factory.mktemp("plan") / "plan.json")


@pytest.fixture
def north(tmp_path, run, plan):
    """The store of an agency that planned."""
    store = tmp_path / "north.gpkg"
    ran = run("share", "desk", store, plan, *NORTH)
    assert (ran.code, ran.out) == (0, ""), ran.err
    return store


def make_key(run, tmp_path, name):
    (tmp_path / f"{name}.txt").write_text("correct horse battery\n")
    ran = run("share", "key", tmp_path / f"{name}.pem", "--passphrase-file", tmp_path / f"{name}.txt")
    assert ran.code == 0
    return ran.out.strip(), ("--key", tmp_path / f"{name}.pem", "--passphrase-file", tmp_path / f"{name}.txt")


def test_a_pack_goes_to_the_neighbour_and_comes_back(run, north, tmp_path):
    """North plans, dips and hands over; South takes it, finds a wire, signs, hands back; North sees who said it."""
    south = tmp_path / "south.gpkg"
    public, signing = make_key(run, tmp_path, "south")
    with Store(north) as store:
        desk = next(one for one in store.records() if one.record.properties.name == "Caldera lake")
    dipped = run("share", "note", north, "--of", desk.id[:10], "--how", "dipped", "--depth", "9 ft", *NORTH)
    assert dipped.code == 0, dipped.err
    assert run("share", "give", north, "--out", tmp_path / "north.gz").err.endswith(": 5 records\n")

    taken = run("share", "take", south, tmp_path / "north.gz")
    assert taken.out.splitlines()[:2] == ["5 came, 0 known, 5 new", "  5 unsigned"]
    wire = run(
        "share", "note", south, "--of", dipped.out.strip(), "--how", "on foot", "--depth", "6 ft",
        "--wire", "fence wire over the north end", *SOUTH, *signing,
    )  # fmt: skip
    assert "1 new record, signed" in wire.err
    run("share", "give", south, "--out", tmp_path / "south.gz")

    trust = tmp_path / "trust.toml"
    trust.write_text(f'[[key]]\nagency = "South District"\npublic = "{public}"\n')
    back = run("share", "take", north, tmp_path / "south.gz", "--trust", trust)
    assert back.out.splitlines()[:2] == ["6 came, 5 known, 1 new", "  1 trusted"]
    assert "! Caldera lake: depth differs: " in back.out
    assert "8 ft" in back.out  # 9 ft is 27.4 dm, kept as 27 dm, shown rounded down

    shown = run("share", "look", north, "--trust", trust)
    assert shown.code == 0
    place = shown.out[shown.out.index("Caldera lake") :].splitlines()
    chosen = next(line for line in place if line.startswith("  * "))
    assert "on foot, South District (M. Roe)" in chosen
    assert chosen.endswith("trusted")
    assert "wire: fence wire over the north end" in shown.out
    assert "pilot in command decide" in shown.out
    verified = run("share", "verify", north, "--trust", trust)
    assert (verified.code, verified.out.splitlines()) == (
        0, ["6 records, all as they were written", "  1 trusted", "  5 unsigned"],
    )  # fmt: skip


def test_a_record_is_shown_as_it_is(run, north):
    with Store(north) as store:
        one = next(store.records())
    ran = run("share", "look", north, "--id", one.id[:9])
    assert json.loads(ran.out) == json.loads(one.body)


def test_a_copy_of_the_store_can_be_taken(run, north, tmp_path):
    assert run("share", "give", north, "--out", tmp_path / "stick.gpkg").code == 0
    ran = run("share", "take", tmp_path / "mine.gpkg", tmp_path / "stick.gpkg")
    assert ran.out.startswith("4 came, 0 known, 4 new")


def test_a_note_of_a_new_place(run, tmp_path):
    place = ("--at", "+42.1200 -160.0200", "--name", "Heron Pond", "--water", "Heron Pond")
    said = ("--permission", "refused", "--closed", "--snags", "stumps", "--contact", "the warden", "--invented")
    ran = run("share", "note", tmp_path / "new.gpkg", *place, "--how", "overflown", *said, *NORTH)
    assert ran.code == 0, ran.err
    with Store(tmp_path / "new.gpkg") as store:
        record = store.get(ran.out.strip()).record
    assert record.geometry.coordinates == (-160.02, 42.12)
    assert record.properties.invented
    assert record.properties.seen.closed
    shown = run("share", "look", tmp_path / "new.gpkg", "--box", -161, 42, -160, 43)
    for words in ("Invented demo data", "CLOSED", "snags: stumps", "permission refused", "contact: the warden"):
        assert words in shown.out


def test_a_correction_takes_the_old_word_s_place(run, tmp_path):
    store = tmp_path / "new.gpkg"
    place = ("--at", "+42.1200 -160.0200", "--name", "Heron Pond", "--water", "Heron Pond", "--how", "dipped")
    old = run("share", "note", store, *place, "--depth", "9 m", *NORTH).out.strip()
    new = run("share", "note", store, "--supersedes", old, "--how", "dipped", "--depth", "2 m", *NORTH).out.strip()
    lines = run("share", "look", store, "--display", "metric").out.splitlines()
    assert any(line.startswith(f"  * {new[:8]}") for line in lines)
    assert any(old[:8] in line and line.endswith("put right by a later one") for line in lines)
    assert "differs" not in "\n".join(lines)


def test_verify_leaves_with_3_when_something_was_changed(run, north):
    import sqlite3

    with sqlite3.connect(north) as file:
        file.execute("DELETE FROM rtree_records_geom WHERE id=1")
    file.close()
    ran = run("share", "verify", north)
    assert ran.code == 3
    assert "row 1: it is not in the spatial index" in ran.out


NEW = ("note", "new.gpkg", "--at", "+1.0000 +2.0000", "--name", "a", "--water", "a", "--how", "desk", *NORTH)
WRONG = {
    "no such store": ("look", "missing.gpkg"),
    "no such file": ("take", "there.gpkg", "missing.gz"),
    "is no pack": ("take", "there.gpkg", "words.txt"),
    "name the plan.json": ("desk", "new.gpkg", "missing.json", *NORTH),
    "no record has it": ("note", "there.gpkg", "--of", "0123", "--how", "desk", *NORTH),
    "which place?": ("note", "there.gpkg", "--how", "desk", *NORTH),
    "--at: got 'north'": (*NEW, "--at", "north"),
    "--depth: got '9' without a unit": (*NEW, "--depth", "9"),
    "depth_dm: input should be greater": (*NEW, "--depth", "-1 m"),
    "name: one line of plain text": (*NEW, "--name", "<b>"),
    "snags: one line of plain text": (*NEW, "--snags", "\x1b[2J"),
    "wanted a day like": (*NEW, "--until", "tomorrow"),
    "2020-01-01 is over": (*NEW, "--until", "2020-01-01"),
    "missing.pem: there is no such file": (*NEW, "--key", "missing.pem", "--passphrase-file", "words.txt"),
    "the passphrase cannot be read": (*NEW, "--key", "missing.pem", "--passphrase-file", "missing.txt"),
    "missing.toml: there is no such file": ("look", "there.gpkg", "--trust", "missing.toml"),
    "zz: no record": ("look", "there.gpkg", "--id", "zz"),
    "leave --box out": ("give", "there.gpkg", "--out", "copy.gpkg", "--box", 1, 2, 3, 4),
    "no record to give": ("give", "there.gpkg", "--out", "pack.gz", "--box", 1, 2, 3, 4),
    "at least 8 characters": ("key", "new.pem", "--passphrase-file", "short.txt"),
    "File exists; choose another name": ("key", "words.txt", "--passphrase-file", "words.txt"),
}


@pytest.mark.parametrize("why", WRONG)
def test_wrong_input_is_one_line_and_2(why, run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Store("there.gpkg", make=True).close()
    (tmp_path / "words.txt").write_text("long enough")
    (tmp_path / "short.txt").write_text("short")
    ran = run("share", *WRONG[why])
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert why in ran.err
    assert not (tmp_path / "new.gpkg").exists()


@pytest.mark.parametrize("verb", ["desk", "note", "give", "take", "look", "verify", "key"])
def test_every_verb_has_help(run, verb):
    ran = run("share", verb, "--help")
    assert ran.code == 0
    assert len(ran.out.splitlines()) > 5
