"""What the verbs write and say when the folder, the disk or an older run is in the way."""

import re
from pathlib import Path

import pytest
from disk import full_disk, names
from plan_fixture import make_plan

from diproute.document import read_plan, write_plan
from diproute.writing.exchange.formats import FORMATS
from diproute.writing.folder import MAP, PARTS, PDFS, PLAN, check_folder, set_of, write_folder


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
    ran = run("plan", "incident.toml", "--out", ".", "--only", "map")
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
    for only, said in (("map", "File too large; make room there, or choose another folder"),
                       ("gpkg", "cannot write a temporary file for the GeoPackage in ")):  # fmt: skip
        with full_disk(20_000):
            ran = run("plan", folder / "incident.toml", "--out", written, "--only", only)
        assert ran.code == 2
        (line,) = ran.err.splitlines()
        assert said in line
    assert {name: (written / name).read_bytes() for name in names(written)} == old


def test_a_folder_whose_name_holds_line_ends_is_one_line_each(run, written, tmp_path):
    odd = written.rename(tmp_path / "a\nb")
    ran = run("map", odd / PLAN, "--out", odd / MAP)
    assert ran.code == 0
    assert ran.err == f"wrote {tmp_path}/a\\nb/map.html\n"


# --- parts, brief, export -------------------------------------------------------------------------------------------
def test_all_that_is_installed_is_written_and_all_of_one_run(run, folder, tmp_path):
    out = tmp_path / "all"
    ran = run("plan", folder / "incident.toml", "--out", out)
    assert ran.code == 0, ran.err
    wanted = [PLAN, MAP, *(name for name, _ in PDFS.values()), *(one.file for one in FORMATS.values())]
    assert ran.err.splitlines() == [f"wrote {out / name}" for name in wanted]
    run_id = read_plan(out / PLAN).run
    assert [name for name in wanted if run_id.encode() not in (out / name).read_bytes()] == []


def test_what_is_left_of_another_run_is_named(run, folder, tmp_path):
    out = tmp_path / "all"
    run("plan", folder / "incident.toml", "--out", out, "--only", "gpx,csv,map")
    again = run("plan", folder / "incident.toml", "--out", out, "--only", "map")
    assert "of another run" not in again.err  # the same plan, so the same run
    ran = run("plan", folder / "incident.toml", "--out", out, "--only", "map", "--display", "us")
    assert ran.err.splitlines()[0] == f"routes.gpx, sites.csv in {out}: of another run, not written now"


def test_an_unknown_part_is_one_line_before_anything_is_read(run, tmp_path):
    ran = run("plan", tmp_path / "missing.toml", "--out", tmp_path / "out", "--only", "map,pdf")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == f"diproute: no part 'pdf'; there are: {', '.join(PARTS)}\n"
    assert names(tmp_path) == []
    ran = run("plan", tmp_path / "missing.toml", "--json", "--only", "map")
    assert "give --out FOLDER" in ran.err


def test_brief_writes_three_pdfs_for_the_sites_asked_for(run, written, tmp_path):
    out = tmp_path / "paper"
    ran = run("brief", written / PLAN, "--out", out, "--site", "1", "--paper", "a4")
    assert ran.code == 0, ran.err
    assert names(out) == ["brief.pdf", "kneeboard.pdf", "sheet.pdf"]
    ran = run("brief", written / PLAN, "--out", out, "--site", "9999")
    assert (ran.code, len(ran.err.splitlines())) == (2, 1)
    assert "no dip site '9999' in this plan" in ran.err


@pytest.mark.parametrize("name", list(FORMATS))
def test_export_writes_what_the_folder_has(name, run, written, tmp_path):
    path = tmp_path / "file"
    ran = run("export", written / PLAN, "--as", name, "--out", path)
    assert (ran.code, ran.err) == (0, f"wrote {path}\n")
    assert path.read_bytes() == set_of(read_plan(written / PLAN), [name])[FORMATS[name].file]
    ran = run("export", written / PLAN, "--as", name, "--out", tmp_path)
    assert ran.code == 2
    assert "is a folder; name a file" in ran.err


def test_a_changed_plan_is_told_by_brief_and_export(run, written, tmp_path):
    path = written / PLAN
    path.write_text(path.read_text(encoding="utf-8").replace('"title":"', '"title":"Old ', 1), encoding="utf-8")
    for words in (("brief", path, "--out", tmp_path / "b"), ("export", path, "--as", "csv", "--out", tmp_path / "c")):
        assert "was changed after it was written" in run(*words).err
