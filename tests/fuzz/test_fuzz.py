"""A fixed part of the fuzzing: a few spoilt files of every kind (tests/fuzz/fuzz.py tries thousands)."""

import os
import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from base import KINDS, make
from fuzz import OURS

from diproute.cli import main

CASES = 3
SEED = 20260814


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    folder = tmp_path_factory.mktemp("fuzz") / "good"
    return folder, make(folder)


@pytest.mark.parametrize("number", range(CASES))
@pytest.mark.parametrize("kind", KINDS)
def test_a_spoilt_file_ends_in_a_plan_or_in_one_line(good, tmp_path, capfd, kind, number):
    folder, made = good
    draw = random.Random(f"{SEED} {kind} {number}")
    how = KINDS[kind]
    for file in folder.iterdir():
        os.link(file, tmp_path / file.name)
    main_file = made[kind].name
    name = draw.choice(how.files)
    name = main_file if name in ("incident.toml", "plan.json") else name
    data = how.spoil((tmp_path / name).read_bytes(), draw)
    (tmp_path / name).unlink()
    (tmp_path / name).write_bytes(data)
    words = ["map", "--out", tmp_path / "map.html"] if how.verb == "map" else ["plan", "--json"]
    capfd.readouterr()
    with pytest.raises(SystemExit) as left:
        main([str(word) for word in (words[0], tmp_path / main_file, *words[1:])])
    said = capfd.readouterr().err
    code = left.value.code or 0
    assert code in (0, 2, 3)
    if code == 2:
        (line,) = said.splitlines()
        assert line.isprintable()
        assert len(line) < 1000
    else:
        assert all(OURS.search(line) for line in said.splitlines()), said
