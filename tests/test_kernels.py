"""Where no compiled code can be kept, or what was kept is damaged, the kernels still run, and one line says so."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import diproute

RUN = """
from diproute.kernels import njit
from pathlib import Path
import sys
sys.path.insert(0, sys.argv[1])
import hot
Path(sys.argv[2]).exists() and exec(Path(sys.argv[2]).read_text())
print(hot.twice(21), hot.thrice(14))
"""
HOT = """
from diproute.kernels import njit

@njit(cache=True, nogil=True)
def twice(x):
    return 2 * x

@njit(cache=True)
def thrice(x):
    return 3 * x
"""


@pytest.fixture
def hot(tmp_path):
    """A folder with two kernels; gives what a process that runs them prints, and what it says."""
    folder = tmp_path / "hot"
    folder.mkdir()
    (folder / "hot.py").write_text(HOT)

    def run(meanwhile="", **env):
        (tmp_path / "meanwhile.py").write_text(meanwhile)
        clean = {key: value for key, value in os.environ.items() if not key.startswith(("NUMBA_", "XDG_"))}
        env = {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(Path(diproute.__file__).parents[1]), **env}
        words = [sys.executable, "-c", RUN, str(folder), str(tmp_path / "meanwhile.py")]
        done = subprocess.run(words, capture_output=True, text=True, env={**clean, **env}, check=False)
        assert done.returncode == 0, done.stderr
        assert done.stdout == "42 42\n"
        return done.stderr.splitlines()

    run.folder = folder
    return run


def test_kept_beside_the_package_nothing_is_said(hot):
    assert hot() == []
    assert len(list((hot.folder / "__pycache__").glob("*.nbi"))) == 2
    assert hot() == []


def test_no_folder_at_all(hot):
    (hot.folder / "__pycache__").write_text("a file in the way, which stops root too")
    (line,) = hot(HOME="/dev/null", XDG_CACHE_HOME="/dev/null")
    assert line.startswith("diproute: compiled code cannot be kept (there is no folder to keep it in)")
    assert "NUMBA_CACHE_DIR" in line


def test_a_folder_given_that_cannot_be_written_is_passed_over(hot):
    assert hot(NUMBA_CACHE_DIR="/dev/null/numba") == []
    (hot.folder / "__pycache__").rename(hot.folder / "was")
    (hot.folder / "__pycache__").write_text("a file in the way")
    (line,) = hot(NUMBA_CACHE_DIR="/dev/null/numba", HOME="/dev/null", XDG_CACHE_HOME="/dev/null")
    assert "there is no folder" in line


def test_no_home(hot, tmp_path):
    (hot.folder / "__pycache__").write_text("a file in the way")
    assert hot(XDG_CACHE_HOME=str(tmp_path / "cache")) == []
    assert list((tmp_path / "cache").rglob("*.nbi"))


def test_a_disk_that_fills_up(hot):
    full = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))"
    (line,) = hot(full)
    assert "compiled code cannot be kept (File too large)" in line
    assert not list((hot.folder / "__pycache__").glob("*.nb[ic]"))


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize("damage", [b"", b"\x80\x04half"])
def test_kept_code_that_is_damaged(hot, ending, damage):
    assert hot() == []
    for path in (hot.folder / "__pycache__").glob(f"*.{ending}"):
        path.write_bytes(damage)
    (line,) = hot()
    assert "compiled code cannot be kept" in line


def test_another_error_of_numba_is_not_swallowed(monkeypatch):
    from diproute import kernels

    def broken(**options):
        raise RuntimeError("no compiler")

    monkeypatch.setattr(kernels.numba, "njit", broken)
    with pytest.raises(RuntimeError, match="no compiler"):
        kernels.njit(cache=True)(len)


def test_every_kernel_is_compiled_that_way():
    package = Path(diproute.__file__).parent
    compiling = {
        path.name
        for path in package.rglob("*.py")
        if "import numba" in path.read_text() or "from numba" in path.read_text()
    }
    assert compiling == {"kernels.py"}
