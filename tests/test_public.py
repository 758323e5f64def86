"""What `import diproute` offers: its names, their kinds, and the front page's code under the strictest type check."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import diproute

ROOT = Path(__file__).parents[1]
CALLS = {"draw_map", "make_plan", "read_incident", "read_plan", "set_threads", "write_exchange", "write_plan"}


def test_dir_shows_the_public_names_and_nothing_else():
    assert set(dir(diproute)) == set(diproute.__all__)
    assert CALLS | {"Plan", "Planned", "Incident", "Site", "Leg", "DiprouteError", "PlanError"} <= set(dir(diproute))


@pytest.mark.parametrize("name", [name for name in diproute.__all__ if name != "__version__"])
def test_every_public_name_is_there_and_says_what_it_is(name):
    thing = getattr(diproute, name)
    assert (thing.__doc__ or "").strip()
    assert callable(thing)
    if name.endswith("Error"):
        assert issubclass(thing, diproute.DiprouteError)


def test_an_unknown_name_is_told_what_there_is():
    with pytest.raises(AttributeError, match="make_plan"):
        diproute.make_plam  # noqa: B018


def test_importing_costs_nothing():
    code = "import sys, diproute; dir(diproute); sys.exit(any(m in sys.modules for m in ('numpy', 'pydantic', 'rich')))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_front_page_s_code_passes_the_strictest_type_check(tmp_path):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    (tmp_path / "snippet.py").write_text(code, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--config-file", "", "snippet.py"],
        capture_output=True, text=True, cwd=tmp_path, check=False, env={},
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_the_package_says_that_it_is_typed():
    assert (Path(diproute.__file__).parent / "py.typed").is_file()
