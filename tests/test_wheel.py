"""The installed package is whole: its data is in the wheel, and the sample works from there."""

import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    out = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "wheel", ".", "--no-deps", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--wheel-dir", str(out)], check=True, cwd=ROOT, capture_output=True)
    (path,) = out.glob("diproute-*.whl")
    return path


@pytest.fixture(scope="module")
def names(wheel):
    with zipfile.ZipFile(wheel) as file:
        return set(file.namelist())


@pytest.fixture(scope="module")
def unpacked(wheel, tmp_path_factory):
    place = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as file:
        file.extractall(place)
    return place


def test_every_file_of_the_package_is_in_it(names):
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "diproute").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert not wanted - names
    assert {"diproute/document/plan.schema.json", "diproute/py.typed", "diproute/writing/map/page.css"} <= names
    assert any(name.startswith("diproute/reading/fleet_data/") for name in names)


def test_the_sample_is_in_it(names):
    sample = {f"diproute/sample_geo/{path.name}" for path in (ROOT / "sample_geo").iterdir() if path.is_file()}
    assert not {name for name in sample - names if not name.endswith(".aux.xml")}


def test_the_pages_that_messages_name_are_in_it(names):
    sources = [path.read_text(encoding="utf-8") for path in (ROOT / "diproute").rglob("*.py")]
    named = {page for text in sources for page in re.findall(r"\bdocs/[\w-]+\.md", text)}
    assert {"docs/formats.md", "docs/helicopter.md"} <= named
    assert not {f"diproute/{page}" for page in named} - names
    assert {f"diproute/docs/{path.name}" for path in (ROOT / "docs").glob("*.md")} <= names


def test_help_says_where_the_pages_lie(unpacked):
    code = "from diproute.cli import main; main(['--help'])"
    env = {**os.environ, "PYTHONPATH": str(unpacked), "COLUMNS": "60"}
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env, cwd=unpacked
    ).stdout
    assert Path(told.splitlines()[-1].strip()) == unpacked / "diproute" / "docs"


def test_nothing_else_is_in_it(names):
    for name in names:
        assert name.startswith(("diproute/", "diproute-")), name
        assert "__pycache__" not in name
        assert not name.endswith((".pyc", ".nbi", ".nbc"))


def test_it_says_what_it_is(wheel):
    with zipfile.ZipFile(wheel) as file:
        meta = next(file.read(name).decode() for name in file.namelist() if name.endswith(".dist-info/METADATA"))
        entry = next(file.read(name).decode() for name in file.namelist() if name.endswith("/entry_points.txt"))
    assert "License-Expression: Apache-2.0" in meta
    assert "Requires-Python: >=3.11" in meta
    assert "diproute = diproute.cli:main" in entry


def test_sample_works_from_the_wheel(unpacked, tmp_path):
    code = (
        "import sys, diproute; from diproute.cli import main\n"
        "assert diproute.__file__.startswith(sys.argv[1]), diproute.__file__\n"
        "main(['sample', 'demo'])"
    )
    env = {**os.environ, "PYTHONPATH": str(unpacked)}

    def run(text):
        return subprocess.run(
            [sys.executable, "-c", text, str(unpacked)],
            capture_output=True,
            text=True,
            check=True,
            cwd=tmp_path,
            env=env,
        )

    assert run(code).stdout.strip() == "demo/incident.toml"
    read = (
        "from diproute import read_incident\n"
        "asked = read_incident('demo/incident.toml')\n"
        "assert asked.invented and all(path.is_file() for path in asked.layers.elevation)\n"
        "print(asked.title, asked.helicopter.name)"
    )
    assert "Kestrel Ridge" in run(read).stdout
    loaded = run("from diproute.cli import main; main(['load', 'demo/incident.toml', '--elevation', '1800 m'])")
    assert "made up" in loaded.stdout
