"""What the verbs write and say when the folder, the disk or an older run is in the way."""

import re
from pathlib import Path

import pytest
from disk import full_disk, names
from plan_fixture import make_plan

from diproute.document import read_plan, write_plan
from diproute.writing.folder import MAP, PLAN, check_folder, set_of, write_folder


@pytest.fixture
def written(tmp_path):
    folder = tmp_path / "out"
    write_folder(make_plan(), folder)
    return folder


# --- map ------------------------------------------------------------------------------------------------------------
def test_a_plan_that_was_changed_after_it_was_written_is_told(run, written, tmp_path):
    path = written / PLAN
    path.write_text(path.read_text(encoding="utf-8").replace('"title":"', '"title":"Old ', 1), encoding="utf-8")
    ran = run("map", path, "--out", tmp_path / "map.html")
    assert (ran.code, ran.out) == (0, "")
    assert ran.err.splitlines() == [
        f"{path} was changed after it was written; the map shows it as it is now",
        f"wrote {tmp_path / 'map.html'}",
    ]


def test_a_map_of_another_run_beside_the_plan_is_told_unless_it_is_replaced(run, written, tmp_path):
    write_plan(make_plan(display="metric"), written / PLAN)
    ran = run("map", written / PLAN, "--out", tmp_path / "map.html")
    assert ran.code == 0
    assert ran.err.splitlines()[0].startswith(f"plan.json and map.html in {written} are not of one run (")
    ran = run("map", written / PLAN, "--out", written / MAP)
    assert ran.err == f"wrote {written / MAP}\n"
    assert check_folder(written) is None


def test_the_map_of_an_unfinished_run_is_refused_and_it_is_said_why(run, written, tmp_path):
    (written / PLAN).unlink()
    ran = run("map", written / PLAN, "--out", tmp_path / "map.html")
    assert ran.code == 2
    (line,) = ran.err.splitlines()
    assert "without its plan.json, as an unfinished run leaves it; plan the incident again" in line
    assert names(tmp_path) == ["out"]


@pytest.mark.parametrize("way", ["full", "link", "/dev/full"])
def test_a_map_that_cannot_be_written_is_one_line(way, run, written, tmp_path):
    page = tmp_path / "map.html"
    page.write_text("old")
    target = page
    if way == "link":
        target = tmp_path / "link.html"
        target.symlink_to(page)
    elif way == "/dev/full":
        target = way
    with full_disk(10_000 if way == "full" else 2**40):
        ran = run("map", written / PLAN, "--out", target)
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 1
    assert f"cannot write {target}" in ran.err
    assert page.read_text() == "old"


# --- plan -----------------------------------------------------------------------------------------------------------
def test_plan_into_the_folder_one_stands_in_over_an_unfinished_run(run, folder, monkeypatch):
    """The incident and its layers lie in that folder, too."""
    (folder / MAP).write_text(set_of(make_plan())[MAP], encoding="utf-8")
    (folder / "notes").mkdir()
    before = names(folder)
    monkeypatch.chdir(folder)
    ran = run("plan", "incident.toml", "--out", ".")
    assert ran.code == 0, ran.err
    assert ran.err.splitlines() == [
        "map.html lies in . without its plan.json, as an unfinished run leaves it; it was replaced",
        "wrote plan.json",
        "wrote map.html",
    ]
    assert names(folder) == sorted([*before, PLAN])
    assert Path.cwd().samefile(folder)
    assert check_folder(folder) is None
    run_id = read_plan(PLAN).run
    assert re.search(r'<meta name="diproute-run" content="(\w+)">', (folder / MAP).read_text("utf-8"))[1] == run_id


def test_a_full_disk_while_a_plan_is_written_leaves_the_old_one(run, folder, written):
    run("plan", folder / "incident.toml", "--json")  # what is compiled is kept before the disk is full
    old = {name: (written / name).read_bytes() for name in names(written)}
    with full_disk(20_000):
        ran = run("plan", folder / "incident.toml", "--out", written)
    assert ran.code == 2
    (line,) = ran.err.splitlines()
    assert "File too large; make room there, or choose another folder" in line
    assert {name: (written / name).read_bytes() for name in names(written)} == old


def test_a_folder_whose_name_holds_line_ends_is_one_line_each(run, written, tmp_path):
    odd = written.rename(tmp_path / "a\nb")
    ran = run("map", odd / PLAN, "--out", odd / MAP)
    assert ran.code == 0
    assert ran.err == f"wrote {tmp_path}/a\\nb/map.html\n"
