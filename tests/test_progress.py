"""What a run tells of its stages: on a terminal only, gone at the end; Ctrl-C ends it at once."""

import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_incident import write_incident

from diproute import progress
from diproute.threads import pool

RUN = "import sys; from diproute.cli import main; main(sys.argv[1:])"
ERASE_LINE = b"\x1b[2K"  # ECMA-48, EL with 2


class Terminal:
    """A run whose stderr is a terminal."""

    def __init__(self, *words: object) -> None:
        self.ours, theirs = pty.openpty()
        self.run = subprocess.Popen(
            [sys.executable, "-c", RUN, *map(str, words)], stdout=subprocess.PIPE, stderr=theirs,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "100"}, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self.shown = b""

    def read_until(self, text: bytes) -> bool:
        """Read what it shows until a text came, or to the end; whether it came."""
        end = time.monotonic() + 300
        while text not in self.shown and time.monotonic() < end:
            if select.select([self.ours], [], [], 1.0)[0]:
                try:
                    came = os.read(self.ours, 4096)
                except OSError:
                    return False
                if not came:
                    return False
                self.shown += came
        return text in self.shown

    def close(self) -> None:
        self.run.wait(300)
        assert self.run.stdout is not None
        self.run.stdout.close()
        os.close(self.ours)


@pytest.fixture(scope="module")
def incident(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_incident(tmp_path_factory.mktemp("made"))


def test_the_stages_are_told_to_who_listens_and_to_nobody_else():
    heard: list[str] = []
    progress.at("before")
    with progress.heard_by(heard.append):
        progress.at("reading")
        with progress.heard_by(lambda _: None):
            progress.at("another's")
        progress.at("flying")
    progress.at("after")
    assert heard == ["reading", "flying"]


def test_a_terminal_shows_the_stages_and_is_left_clean(incident: Path, tmp_path: Path):
    terminal = Terminal("plan", incident, "--out", tmp_path)
    assert not terminal.read_until(b"no such text")
    terminal.close()
    assert terminal.run.returncode == 0
    order = [terminal.shown.index(stage) for stage in (b"reading the layers", b"flying the legs", b"drawing the map")]
    assert order == sorted(order)
    last, _, left = terminal.shown.rpartition(ERASE_LINE)
    assert b"drawing the map" in last
    assert left.startswith(b"wrote ")


def test_ctrl_c_ends_a_run_at_once_and_leaves_nothing(incident: Path, tmp_path: Path):
    out = tmp_path / "out"
    terminal = Terminal("plan", incident, "--out", out)
    assert terminal.read_until(b"working out travel times")
    os.killpg(terminal.run.pid, signal.SIGINT)
    begun = time.monotonic()
    assert terminal.run.wait(30) == 130
    took_s = time.monotonic() - begun
    terminal.read_until(b"stopped")
    assert b"diproute: stopped" in terminal.shown
    assert b"Traceback" not in terminal.shown
    terminal.close()
    assert took_s < 5
    assert not out.exists() or not list(out.iterdir())


def test_a_pool_takes_back_what_has_not_begun_when_it_is_stopped():
    ran: list[int] = []

    def slow(i: int) -> None:
        time.sleep(0.05)
        ran.append(i)

    def stopped() -> None:
        with pool() as workers:
            for i in range(400):
                workers.submit(slow, i)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    time.sleep(0.3)
    assert len(ran) < 100
