"""The output folder: one whole set of one run, nothing of anybody else's lost, and a broken set is told."""

import os
import shutil
import stat
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest
from disk import dead_name, full_disk, names
from plan_fixture import make_plan

from diproute.document import read_plan
from diproute.errors import OutputError
from diproute.files import own_name
from diproute.writing import swap
from diproute.writing.folder import MAP, PLAN, check_folder, set_of, write_folder
from diproute.writing.swap import write_set

OLD = {PLAN: '{"a": "old"}', MAP: "<p>old"}
NEW = {PLAN: '{"a": "new"}', MAP: "<p>new"}
NOBODY = 65534


@pytest.fixture(params=["in one call", "one by one"])
def way(request, monkeypatch):
    """Both ways of writing over an old set: where the system exchanges folders, and where it cannot."""
    if request.param == "one by one":
        monkeypatch.setattr(swap, "renameat2", lambda: None)
    elif swap.renameat2() is None:
        pytest.skip("this system cannot exchange two folders")
    return request.param


@pytest.fixture
def out(tmp_path):
    folder = tmp_path / "fire" / "out"
    write_set(OLD, folder)
    return folder


@pytest.fixture(scope="module")
def plan():
    return make_plan()


def held(folder):
    """The set of files in a folder."""
    return {name: (folder / name).read_text(encoding="utf-8") for name in (PLAN, MAP)}


def refused(folder, said, files=NEW):
    with pytest.raises(OutputError) as caught:
        write_set(files, folder)
    line = str(caught.value)
    assert line.startswith("cannot write ")
    assert said in line
    assert line.isprintable()


# --- whole sets --------------------------------------------------------------------------------------------------
def test_plan_and_map_of_one_run(plan, tmp_path):
    folder = tmp_path / "a" / "b"
    assert write_folder(plan, folder) == (folder / PLAN, folder / MAP)
    assert check_folder(folder) is None
    assert read_plan(folder / PLAN) == plan
    page = (folder / MAP).read_text(encoding="utf-8")
    assert f'<meta name="diproute-run" content="{plan.run}">' in page
    assert f"<p>run {plan.run}</p>" in page  # on the screen
    assert f"Run {plan.run}." in page  # on paper
    assert names(folder) == [MAP, PLAN]
    assert names(folder.parent) == ["b"]


def test_an_old_set_is_replaced(way, out):
    before = out.stat()
    write_set(NEW, out)
    assert held(out) == NEW
    assert names(out) == [MAP, PLAN]
    assert names(out.parent) == ["out"]
    assert (out.stat().st_ino != before.st_ino) == (way == "in one call")
    assert (out.stat().st_mode, out.stat().st_uid) == (before.st_mode, before.st_uid)


def test_the_folder_keeps_its_rights(way, out):
    out.chmod(0o2750)
    write_set(NEW, out)
    assert stat.S_IMODE(out.stat().st_mode) == 0o2750


@pytest.mark.parametrize("name", ["a b", "-o", "é\u202e", "a\nb", 'it\'s "$(x)"', "\udcff", "%d{}", "f" * 255])
def test_odd_names(way, name, tmp_path):
    write_set(OLD, tmp_path / name)
    write_set(NEW, tmp_path / name)
    assert held(tmp_path / name) == NEW
    assert len(names(tmp_path)) == 1


def test_an_empty_folder_and_one_without_a_set(way, tmp_path):
    write_set(NEW, tmp_path)
    assert held(tmp_path) == NEW


# --- what is not ours stays ---------------------------------------------------------------------------------------
def test_other_files_stay_the_very_same(way, out):
    (out / "notes.txt").write_text("mine")
    (out / "notes.txt").chmod(0o640)
    (out / "to nowhere").symlink_to("gone")
    os.mkfifo(out / "pipe")
    before = {name: (out / name).lstat() for name in ("notes.txt", "to nowhere", "pipe")}
    write_set(NEW, out)
    assert held(out) == NEW
    assert names(out) == sorted([MAP, PLAN, *before])
    for name, told in before.items():
        now = (out / name).lstat()
        assert (now.st_ino, now.st_mode, now.st_mtime_ns) == (told.st_ino, told.st_mode, told.st_mtime_ns), name
        assert now.st_nlink == 1
    assert names(out.parent) == ["out"]


def test_folders_in_it_stay_and_so_does_the_folder_itself(way, out):
    (out / "layers" / "deep").mkdir(parents=True)
    (out / "layers" / "deep" / "water.gpkg").write_bytes(b"mine")
    before = out.stat().st_ino
    write_set(NEW, out)
    assert held(out) == NEW
    assert (out / "layers" / "deep" / "water.gpkg").read_bytes() == b"mine"
    assert out.stat().st_ino == before


def test_more_files_than_are_carried_are_left_alone(way, out):
    for n in range(swap.MOST_CARRIED + 1):
        (out / f"{n}.txt").touch()
    before = out.stat().st_ino
    write_set(NEW, out)
    assert held(out) == NEW
    assert len(names(out)) == swap.MOST_CARRIED + 3
    assert out.stat().st_ino == before


def test_a_file_that_cannot_be_linked_stays_where_it_is(way, out, monkeypatch):
    def cannot(*_, **__):
        raise PermissionError(1, "Operation not permitted")

    (out / "notes.txt").write_text("mine")
    monkeypatch.setattr(swap.os, "link", cannot)
    write_set(NEW, out)
    assert held(out) == NEW
    assert (out / "notes.txt").read_text() == "mine"
    assert names(out.parent) == ["out"]


def test_what_comes_into_the_folder_while_it_is_written_is_not_lost(out, monkeypatch):
    if swap.renameat2() is None:
        pytest.skip("this system cannot exchange two folders")
    (out / "notes.txt").write_text("first")
    (out / "same.txt").write_text("same")
    real = swap.exchange

    def meanwhile(one, other):
        (out / "late.txt").write_text("late")
        (out / "late").mkdir()
        (out / "late" / "er.txt").write_text("later")
        (out / "other.txt").write_text("second")
        (out / "other.txt").replace(out / "notes.txt")
        with (out / "same.txt").open("a") as file:
            file.write(" and more")
        return real(one, other)

    monkeypatch.setattr(swap, "exchange", meanwhile)
    write_set(NEW, out)
    assert held(out) == NEW
    told = {name: (out / name).read_text() for name in ("late.txt", "notes.txt", "same.txt", "late/er.txt")}
    assert told == {"late.txt": "late", "notes.txt": "second", "same.txt": "same and more", "late/er.txt": "later"}
    assert names(out.parent) == ["out"]


def test_a_link_to_a_folder_stays_a_link(way, out, tmp_path):
    link = tmp_path / "latest"
    link.symlink_to(out)
    assert write_set(NEW, link) == (link / PLAN, link / MAP)
    assert link.is_symlink()
    assert held(out) == NEW
    assert sorted(names(tmp_path)) == ["fire", "latest"]


def test_a_link_to_where_no_folder_is_yet(way, tmp_path):
    (tmp_path / "latest").symlink_to(tmp_path / "runs" / "1")
    write_set(NEW, tmp_path / "latest")
    assert held(tmp_path / "runs" / "1") == NEW


def test_a_link_in_the_folder_leads_nobody_astray(way, out, tmp_path):
    (tmp_path / "precious").write_text("mine")
    for name in (PLAN, MAP):
        (out / name).unlink()
        (out / name).symlink_to(tmp_path / "precious")
    write_set(NEW, out)
    assert held(out) == NEW
    assert not (out / PLAN).is_symlink()
    assert (tmp_path / "precious").read_text() == "mine"


@pytest.mark.parametrize("where", [".", "", "below"])
def test_the_folder_one_stands_in_is_not_taken_from_under_ones_feet(way, where, out, monkeypatch):
    (out / "below").mkdir()
    monkeypatch.chdir(out / where)
    before = out.stat().st_ino
    write_set(NEW, "." if where != "below" else "..")
    assert out.stat().st_ino == before
    assert held(out) == NEW
    assert Path.cwd() == out / where


# --- what cannot be written leaves what was there ------------------------------------------------------------------
def test_a_full_disk_leaves_the_old_set(way, out):
    (out / "notes.txt").write_text("mine")
    with full_disk(1000):
        refused(out, "make room there", {PLAN: "x", MAP: "y" * 2000})
    assert held(out) == OLD
    assert names(out) == [MAP, "notes.txt", PLAN]
    assert names(out.parent) == ["out"]


def test_a_full_disk_and_no_old_set(way, tmp_path):
    with full_disk(1000):
        refused(tmp_path / "out", "make room there", {PLAN: "x", MAP: "y" * 2000})
    assert names(tmp_path) == []


def test_folders_where_the_files_should_be(way, out):
    (out / MAP).unlink()
    (out / MAP).mkdir()
    (out / MAP / "notes.txt").write_text("mine")
    refused(out, "a folder has its name")
    assert (out / MAP / "notes.txt").read_text() == "mine"
    assert (out / PLAN).read_text() == OLD[PLAN]


def test_places_that_are_no_folder(tmp_path):
    (tmp_path / "file").write_text("mine")
    refused(tmp_path / "file", "it is a file")
    refused(tmp_path / "file" / "out", "choose a folder")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    refused(tmp_path / "loop", "choose a folder")
    refused(tmp_path / ("n" * 256), "File name too long")
    refused("/dev/null", "it is a file")
    refused("a\0b", "embedded null")
    assert (tmp_path / "file").read_text() == "mine"
    assert names(tmp_path) == ["file", "loop"]


@contextmanager
def common_user():
    """A folder of a user who may not write everywhere, as who the test then runs."""
    folder = Path(tempfile.mkdtemp())
    root = os.geteuid() == 0
    if root:
        os.chown(folder, NOBODY, -1)
        os.seteuid(NOBODY)
    try:
        yield folder
    finally:
        if root:
            os.seteuid(0)
        shutil.rmtree(folder)


def test_a_read_only_folder_is_not_got_round(way):
    with common_user() as folder:
        out = folder / "out"
        write_set(OLD, out)
        out.chmod(0o555)
        refused(out, "Permission denied; choose a folder that you may write to")
        assert held(out) == OLD
        assert names(out) == [MAP, PLAN]
        assert names(folder) == ["out"]
        out.chmod(0o755)


def test_a_folder_in_one_that_may_not_be_written(way):
    with common_user() as folder:
        out = folder / "out"
        write_set(OLD, out)
        folder.chmod(0o555)
        write_set(NEW, out)
        assert held(out) == NEW
        assert names(out) == [MAP, PLAN]
        refused(folder / "another", "Permission denied")
        folder.chmod(0o755)


@pytest.mark.parametrize("step", range(4))
@pytest.mark.parametrize("stop", [OSError(5, "Input/output error"), KeyboardInterrupt()])
def test_an_error_at_any_step_puts_the_old_set_back(step, stop, out, monkeypatch):
    """Two files set aside, two put in their places: each move fails once."""
    monkeypatch.setattr(swap, "renameat2", lambda: None)
    real, moves = Path.replace, []

    def failing(path, target):
        moves.append(path)
        if len(moves) == step + 1:
            raise stop
        return real(path, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        write_set(NEW, out)
    assert held(out) == OLD
    assert names(out) == [MAP, PLAN]


def test_one_by_one_there_is_no_plan_while_the_set_is_not_whole(out, monkeypatch):
    monkeypatch.setattr(swap, "renameat2", lambda: None)
    real, seen = Path.replace, []

    def looking(path, target):
        moved = real(path, target)
        seen.append({name: (out / name).read_text() if (out / name).exists() else None for name in (PLAN, MAP)})
        return moved

    monkeypatch.setattr(Path, "replace", looking)
    write_set(NEW, out)
    assert [told for told in seen if told[PLAN]] == [NEW]
    assert len(seen) == 4


# --- what killed runs leave ----------------------------------------------------------------------------------------
def test_what_killed_runs_left_is_swept(way, out):
    (out / dead_name("part")).write_text("half")
    (out / dead_name("old")).write_text("an old plan")
    beside = out.parent / dead_name("new")
    write_set(OLD, beside)
    (out / "notes.txt").write_text("mine")
    (beside / "notes.txt").hardlink_to(out / "notes.txt")
    (beside / dead_name("part")).write_text("half")
    living = [out / own_name("part"), out.parent / own_name("new")]
    living[0].write_text("of a run that goes on")
    living[1].mkdir()
    write_set(NEW, out)
    assert held(out) == NEW
    assert names(out) == sorted([MAP, PLAN, "notes.txt", living[0].name])
    assert names(out.parent) == sorted(["out", living[1].name])
    assert (out / "notes.txt").read_text() == "mine"


def test_a_file_that_lies_nowhere_but_in_what_a_killed_run_left_stays(way, out):
    beside = out.parent / dead_name("new")
    write_set(OLD, beside)
    (beside / "notes.txt").write_text("mine")
    write_set(NEW, out)
    assert held(out) == NEW
    assert names(beside) == ["notes.txt"]


def test_links_that_look_like_ours_are_not_followed(way, out, tmp_path):
    precious = tmp_path / "precious"
    write_set(OLD, precious)
    (out.parent / dead_name("new")).symlink_to(precious)
    write_set(NEW, out)
    assert held(precious) == OLD


# --- a broken set is told -------------------------------------------------------------------------------------------
def test_a_folder_without_a_plan_is_unfinished(plan, tmp_path):
    write_folder(plan, tmp_path)
    (tmp_path / PLAN).unlink()
    assert (
        check_folder(tmp_path) == f"map.html lies in {tmp_path} without its plan.json, as an unfinished run leaves it"
    )
    (tmp_path / dead_name("old")).write_text("{}")
    assert check_folder(tmp_path) == f"an unfinished run lies in {tmp_path}: plan.json is missing"


def test_files_of_two_runs_are_told(plan, tmp_path):
    other = make_plan(display="metric")
    write_folder(plan, tmp_path)
    page = (tmp_path / MAP).read_text(encoding="utf-8")
    (tmp_path / MAP).write_text(set_of(other)[MAP], encoding="utf-8")
    told = f"plan.json and map.html in {tmp_path} are not of one run ({plan.run} and {other.run})"
    assert check_folder(tmp_path) == told
    (tmp_path / MAP).write_text(page.replace("diproute-run", "other"), encoding="utf-8")
    assert f"({plan.run} and none)" in check_folder(tmp_path)
    (tmp_path / MAP).write_text(page, encoding="utf-8")
    assert check_folder(tmp_path) is None
    text = (tmp_path / PLAN).read_text(encoding="utf-8")
    (tmp_path / PLAN).write_text(text[: len(text) // 2], encoding="utf-8")
    assert check_folder(tmp_path) is None  # its beginning tells the run; that it was cut short, read_plan tells
    (tmp_path / PLAN).write_text("\x1b[31m", encoding="utf-8")
    assert f"(none and {plan.run})" in check_folder(tmp_path)


def test_a_plan_whose_keys_stand_in_another_order_tells_its_run(plan, tmp_path):
    import json

    write_folder(plan, tmp_path)
    document = json.loads((tmp_path / PLAN).read_text(encoding="utf-8"))
    (tmp_path / PLAN).write_text(json.dumps(document, sort_keys=True, indent=1), encoding="utf-8")
    assert check_folder(tmp_path) is None


def test_nothing_is_said_where_there_is_no_set(plan, tmp_path):
    assert check_folder(tmp_path) is None
    assert check_folder(tmp_path / "missing") is None
    (tmp_path / MAP).write_text("<p>a page of mine")
    assert check_folder(tmp_path) is None
    (tmp_path / MAP).unlink()
    (tmp_path / PLAN).write_text(set_of(plan)[PLAN], encoding="utf-8")
    assert check_folder(tmp_path) is None
