"""The command line run inside the test's own process, and a small incident to run it on."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from small_incident import POND, WIRE, ring, write_incident

from diproute.cli import main


@dataclass(frozen=True)
class Ran:
    """What a command gave."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run `diproute` with some words; its exit code, stdout and stderr, those of the C libraries included."""

    def command(*words: object) -> Ran:
        capfd.readouterr()
        with pytest.raises(SystemExit) as left:
            main([str(word) for word in words])
        out, err = capfd.readouterr()
        return Ran(int(left.value.code or 0), out, err)

    return command


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_incident(tmp_path_factory.mktemp("made"), trees=ring(POND, 40.0), wires=[WIRE]).parent


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    """A copy of the small incident to spoil."""
    return Path(shutil.copytree(made, tmp_path / "fire"))
