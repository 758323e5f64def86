"""A file is written whole or not at all, and what a killed process left is swept by the next."""

import errno
import os
from pathlib import Path

import pytest
from disk import dead_name, full_disk, names

from diproute import files
from diproute.errors import OutputError
from diproute.files import own_name, write_atomically


def test_text_and_bytes_are_written_as_they_are(tmp_path):
    place = tmp_path / "new" / "er" / "a.txt"
    assert write_atomically(place, "1\n2 \u202f°\n") == place
    assert place.read_bytes() == "1\n2 \u202f°\n".encode()
    write_atomically(str(place), b"\x00\r\n")
    assert place.read_bytes() == b"\x00\r\n"
    assert names(place.parent) == ["a.txt"]


@pytest.mark.parametrize(
    "name", ["a b", "-rf", "ä\u202eb.json", "a\nb", "a'b\"c", "%s{x}$(y)", "é" * 120, "\udcff.json", " ", "a" * 255]
)
def test_odd_names(name, tmp_path):
    place = tmp_path / name
    write_atomically(place, "1")
    write_atomically(place, "2")
    assert place.read_text() == "2"
    assert len(names(tmp_path)) == 1


def refused(place, said, data="new"):
    with pytest.raises(OutputError) as caught:
        write_atomically(place, data)
    line = str(caught.value)
    assert line.startswith("cannot write ")
    assert said in line
    assert line.isprintable()


def test_a_full_disk_leaves_the_old_file(tmp_path):
    place = write_atomically(tmp_path / "a.txt", "old")
    with full_disk(1000):
        refused(place, "File too large; make room there", "x" * 2000)
    assert place.read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_what_is_no_file_is_not_replaced(tmp_path):
    (tmp_path / "folder").mkdir()
    refused(tmp_path / "folder", "a folder has its name")
    refused(tmp_path, "a folder has its name")
    refused(Path(), "a folder has its name")
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link.txt").symlink_to(tmp_path / "real.txt")
    refused(tmp_path / "link.txt", "a link has its name")
    (tmp_path / "lost.txt").symlink_to(tmp_path / "nowhere")
    refused(tmp_path / "lost.txt", "a link has its name")
    os.mkfifo(tmp_path / "pipe")
    refused(tmp_path / "pipe", "no ordinary file")
    refused("/dev/null", "no ordinary file")
    refused("/dev/stdout", "a link has its name")
    refused(tmp_path / "real.txt" / "a.txt", "choose a folder")
    refused(tmp_path / ("n" * 256), "File name too long")
    refused("a\0b", "embedded null")
    assert (tmp_path / "real.txt").read_text() == "old"
    assert names(tmp_path) == ["folder", "link.txt", "lost.txt", "pipe", "real.txt"]


def test_what_a_killed_process_left_is_swept_and_nothing_else(tmp_path):
    dead, living = dead_name("part"), own_name("part")
    stranger = ".diproute-00000000-1-0.part"
    kept = [living, stranger, dead_name("old"), ".diproute-notes.part", "a.part", dead + ".txt", "x" + dead]
    for name in (dead, *kept):
        (tmp_path / name).write_text(name)
    (tmp_path / dead_name("part")).symlink_to(tmp_path / "a.part")
    before = set(names(tmp_path))
    write_atomically(tmp_path / "new.txt", "1")
    assert set(names(tmp_path)) == before - {dead} | {"new.txt"}


def test_a_process_of_another_user_counts_as_running(tmp_path, monkeypatch):
    def forbidden(process, signal):
        raise PermissionError

    (tmp_path / dead_name("part")).write_text("1")
    monkeypatch.setattr(files.os, "kill", forbidden)
    write_atomically(tmp_path / "new.txt", "1")
    assert len(names(tmp_path)) == 2


def test_a_file_system_that_cannot_tell_what_the_disk_has_is_written(tmp_path, monkeypatch):
    def cannot(descriptor):
        raise OSError(errno.EINVAL, "Invalid argument")

    monkeypatch.setattr(files.os, "fsync", cannot)
    assert write_atomically(tmp_path / "a.txt", "1").read_text() == "1"


def test_a_disk_that_fails_is_told(tmp_path, monkeypatch):
    def fails(descriptor):
        raise OSError(errno.EIO, "Input/output error")

    write_atomically(tmp_path / "a.txt", "old")
    monkeypatch.setattr(files.os, "fsync", fails)
    refused(tmp_path / "a.txt", "Input/output error")
    assert (tmp_path / "a.txt").read_text() == "old"
    assert names(tmp_path) == ["a.txt"]
