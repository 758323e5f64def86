"""The contributors' guide finds what it names: each file is there and says in its first line what it is."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PLACES = [
    (sentence.strip(), path)
    for sentence, paths in re.findall(r"^\| (.+?) \| ((?:`[\w/]+\.py`(?:, )?)+) \|$", GUIDE, re.MULTILINE)
    for path in re.findall(r"`([\w/]+\.py)`", paths)
]
COMMON = set(re.findall(r"\w+", "and are each for from has have how into its one that the this what where which with"))


def stems(text: str) -> set[str]:
    """Beginnings of the words that carry a meaning."""
    return {word[:5] for word in re.findall(r"[a-z]+", text.lower()) if word not in COMMON and len(word) > 2}


def test_the_guide_names_many_places():
    assert len(PLACES) > 25


@pytest.mark.parametrize(("sentence", "path"), PLACES)
def test_a_sentence_leads_to_a_file_that_says_so(sentence, path):
    there = ROOT / "diproute" / path
    assert there.exists(), path
    first = (ast.get_docstring(ast.parse(there.read_text(encoding="utf-8"))) or "").splitlines()[0]
    shared = stems(sentence) & (stems(first) | stems(path.replace("/", " ").replace("_", " ")))
    assert shared, f"{path} begins with {first!r}: nothing of {sentence!r} in it"


@pytest.mark.parametrize("path", sorted((ROOT / "diproute").rglob("*.py")), ids=lambda p: str(p.name))
def test_every_module_says_what_it_is(path):
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert said, f"{path.name} has no docstring"
    assert said.splitlines()[0].endswith(".")
