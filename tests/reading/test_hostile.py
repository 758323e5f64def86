"""Nothing that a layer file holds reaches the network, another file, or more than one plain line."""

import hashlib
import json
import socket
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from layer_scene import flat

sys.path.insert(0, str(Path(__file__).parent))
from hostile_files import OPENED, RASTERS, VECTORS, Scene
from try_hostile import try_all

SECRET_HEIGHT = 4321.0


class Listener:
    """A server on this machine that counts who calls."""

    def __init__(self) -> None:
        self.calls: list[str] = []
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while True:
            try:
                caller, _ = self.socket.accept()
            except OSError:
                return
            caller.settimeout(1)
            with caller:
                self.calls.append(caller.recv(200).decode("latin-1"))


def state(folder: Path) -> dict[str, str]:
    """Every file of a folder with its content; what it is that has none."""
    found = {}
    for path in sorted(folder.rglob("*")):
        plain = path.is_file() and not path.is_symlink()
        found[str(path.relative_to(folder))] = hashlib.sha256(path.read_bytes()).hexdigest() if plain else "other"
    return found


@pytest.fixture(scope="module")
def tried(tmp_path_factory):
    """Every case read in this process, where GDAL runs already, and in an armed one."""
    top = tmp_path_factory.mktemp("hostile")
    listener = Listener()
    secret = flat(top / "secret.tif", SECRET_HEIGHT, half=200.0, cell=20.0)
    cases = {}
    for sort, table in (("raster", RASTERS), ("vector", VECTORS), ("vector", OPENED)):
        for number, (name, make) in enumerate(table.items()):
            folder = top / f"{sort}{'-opened' if table is OPENED else ''}-{number}"
            folder.mkdir()
            cases[name] = (sort, make(Scene(folder, listener.port, secret)))
    (top / "cases.json").write_text(json.dumps({name: (sort, str(path)) for name, (sort, path) in cases.items()}))
    before = state(top)
    library = try_all(cases, top)
    between = state(top)
    script = Path(__file__).with_name("try_hostile.py")
    done = subprocess.run([sys.executable, script, top], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr[-2000:]
    after = state(top)
    listener.socket.close()
    return {
        "library": library, "armed": json.loads(done.stdout), "calls": listener.calls, "stderr": done.stderr,
        "states": (before, between, after),
    }  # fmt: skip


def test_there_are_sixty(tried):
    assert len(RASTERS) + len(VECTORS) >= 60
    assert tried["library"].keys() == tried["armed"].keys() == {*RASTERS, *VECTORS, *OPENED}


@pytest.mark.parametrize("how", ["library", "armed"])
@pytest.mark.parametrize("name", [*RASTERS, *VECTORS])
def test_it_is_refused_in_one_plain_line(tried, how, name):
    said = tried[how][name]
    assert said.startswith(("layers.elevation: ", "layers.water: ")), said
    assert said.isprintable()
    assert len(said) < 420
    assert str(SECRET_HEIGHT) not in said


@pytest.mark.parametrize("how", ["library", "armed"])
@pytest.mark.parametrize("name", OPENED)
def test_what_is_harmless_is_opened(tried, how, name):
    assert tried[how][name].startswith("opened: [('POLYGON"), tried[how][name]


def test_nobody_was_called(tried):
    assert tried["calls"] == []


def test_nothing_was_written(tried):
    before, between, after = tried["states"]
    assert between == before
    assert after == before


def test_no_library_spoke(tried):
    assert tried["stderr"] == ""


def test_the_listener_hears():
    listener = Listener()
    with socket.create_connection(("127.0.0.1", listener.port)) as caller:
        caller.sendall(b"GET /")
        caller.recv(1)
    listener.socket.close()
    assert listener.calls == ["GET /"]
