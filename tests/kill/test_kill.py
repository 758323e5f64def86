"""A few kills while a set is written over an old one; by hand many more (kill.py)."""

import os

import pytest
from kill import LONGEST_S, NOTES, WAYS, kill_often, look, two_sets

from diproute.writing.folder import MAP, PLAN
from diproute.writing.swap import write_set

KILLS = 12


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
def test_a_kill_leaves_a_whole_set_or_one_that_is_told(tmp_path):
    kills = kill_often(KILLS, 9, tmp_path)
    assert {kill.way for kill in kills} == set(WAYS)
    assert max(kill.after_s for kill in kills) > LONGEST_S / 2
    for kill in kills:
        assert kill.found in (("whole",), ("unfinished",)), kill
        assert kill.found == ("whole",) or kill.way == "one by one"


@pytest.fixture(scope="module")
def sets():
    return two_sets()


SPOILED = {
    "half of map.html": lambda folder, sets: (folder / MAP).write_bytes(sets[0][MAP][:-1]),
    "half of plan.json": lambda folder, sets: (folder / PLAN).write_bytes(sets[0][PLAN][:-9]),
    "a plan that cannot be read": lambda folder, sets: (folder / PLAN).write_bytes(sets[0][PLAN][:-9]),
    "a plan that is not of its run": lambda folder, sets: (folder / PLAN).write_bytes(
        sets[0][PLAN].replace(b'"title":"', b'"title":"x', 1)
    ),
    "unfinished": lambda folder, sets: (folder / MAP).write_bytes(sets[1][MAP]),
    "an undetected mixture": lambda folder, _: (folder / MAP).unlink(),
    "another file lost": lambda folder, _: (folder / "notes.txt").unlink(),
    "whole": lambda folder, sets: write_set(sets[1], folder),
}


@pytest.mark.parametrize("found", SPOILED)
def test_what_is_wrong_would_be_seen(found, sets, tmp_path):
    write_set(sets[0], tmp_path)
    (tmp_path / "notes.txt").write_text(NOTES)
    SPOILED[found](tmp_path, sets)
    assert found in look(sets, tmp_path)
