"""Data flows one way: a room imports only what lies below it."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "diproute"

# lowest first; rooms of one level never import each other
LEVELS: list[set[str]] = [
    {"constants", "errors", "version"},
    {"files", "kernels", "progress", "threads"},
    {"physics", "records", "units"},
    {"wording"},
    {"document", "reading", "routing", "sites", "sortie"},
    {"gathering", "sharing", "writing"},
    {"planning"},
    {"survey"},
    {"web"},
    {"cli"},
]
LEVEL_OF = {room: level for level, rooms in enumerate(LEVELS) for room in rooms}
FOUNDATION = {"errors", "constants"}

# third-party package -> the only room (or module) that may import it
ONLY_IN = {
    "folium": "writing/map",
    "branca": "writing/map",
    "click": "cli",
    "pydantic": ("document", "reading", "sharing"),
}


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imported(path: Path) -> list[str]:
    names: list[str] = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names += [f"{node.module}.{alias.name}" for alias in node.names] + [str(node.module)]
    return names


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_point_down(path: Path):
    room = room_of(path)
    if room == "__init__":  # the public names
        return
    assert room in LEVEL_OF, f"{room} has no level yet"
    for name in imported(path):
        parts = name.split(".")
        if parts[0] != "diproute" or len(parts) == 1:
            continue
        other = parts[1]
        if other == room:
            continue
        assert other in LEVEL_OF, f"{path}: {name}"
        below = LEVEL_OF[other] < LEVEL_OF[room] or (room == "constants" and other in FOUNDATION)
        assert below, f"{room} must not import {other}"


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_some_libraries_live_in_one_room(path: Path):
    where = str(path.relative_to(PACKAGE))
    for name in imported(path):
        room = ONLY_IN.get(name.split(".")[0])
        assert room is None or where.startswith(room), f"{where} imports {name}"


@pytest.mark.parametrize("path", sorted((PACKAGE / "writing").rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_writing_sees_the_document_and_no_record(path: Path):
    assert not [name for name in imported(path) if name.startswith("diproute.records")]


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_no_module_needs_another_s_private_name(path: Path):
    for name in imported(path):
        parts = name.split(".")
        private = [part for part in parts[1:] if part.startswith("_") and not part.startswith("__")]
        assert parts[0] != "diproute" or not private, f"{path}: {name}"


def test_help_loads_nothing_heavy():
    heavy = "numba scipy rasterio geopandas pandas folium pydantic shapely pyproj"
    code = (
        "import sys, diproute, diproute.cli; "
        f"sys.exit(', '.join(sorted(set('{heavy}'.split()) & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
