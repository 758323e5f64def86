"""Every code that the package uses has its meaning and its sentences, and none stands there for nothing."""

import ast
from pathlib import Path

import pytest

from diproute.wording import CODES, Reader, say
from diproute.wording.catalogue import page
from diproute.wording.sentences import PARTS
from diproute.wording.template import fields, parse, printed

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "diproute"


def made():
    """Every ``Finding.of("code", name=…)`` of the package: file, code (or the pieces of one), names of its values."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("Finding.of") and node.args:
                first = node.args[0]
                codes = [n.value for n in ast.walk(first) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
                if not codes:  # a finding handed on
                    continue
                whole = isinstance(first, ast.Constant)
                names = None if any(k.arg is None for k in node.keywords) else [k.arg for k in node.keywords]
                found.append((path.relative_to(PACKAGE), codes, whole, names))
    return found


MADE = made()


def test_a_good_number_of_findings_was_found():
    assert len(MADE) > 60


@pytest.mark.parametrize(
    ("path", "code", "names"),
    [(str(path), codes[0], names) for path, codes, whole, names in MADE if whole],
    ids=lambda v: str(v) if isinstance(v, str) else "",
)
def test_a_code_has_its_sentence_and_the_sentence_its_values(path, code, names):
    assert code in CODES, f"{path}: {code} has no sentence"
    if names is None:
        return
    asked = {field.name for template in CODES[code].sentences for field in fields(parse(template))}
    assert asked <= set(names), f"{path}: {code} never gets {sorted(asked - set(names))}"


def test_no_code_stands_there_for_nothing():
    text = "\n".join(p.read_text(encoding="utf-8") for p in PACKAGE.rglob("*.py") if "wording" not in p.parts)
    nowhere = [
        code for code in CODES if f'"{code}"' not in text and not any(code.startswith(s) for s in prefixes(text))
    ]
    assert not nowhere


def prefixes(text):
    """Beginnings of codes that are put together where they are made, such as f"wind-{way}"."""
    return [
        node.args[0].values[0].value
        for node in ast.walk(ast.parse(text.replace("from __future__ import annotations", "")))
        if isinstance(node, ast.Call)
        and ast.unparse(node.func).endswith("Finding.of")
        and node.args
        and isinstance(node.args[0], ast.JoinedStr)
        and isinstance(node.args[0].values[0], ast.Constant)
    ]


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_kind_of_reading_is_known(code):
    """Nothing is printed by a kind that does not exist; what is not known says so."""
    for template in CODES[code].sentences:
        for field in fields(parse(template)):
            assert printed(None, field.kind, Reader("us"), str) in ("not known", "")
    assert CODES[code].meaning
    assert not CODES[code].meaning.endswith(".")
    for template in CODES[code].sentences:
        assert not template.endswith(".")


def test_no_code_is_defined_twice():
    told = [code for part in PARTS for code in part.CODES]
    assert len(told) == len(set(told))


def test_the_page_of_findings_is_made_from_the_code():
    assert (ROOT / "docs" / "findings.md").read_text(encoding="utf-8") == page(), (
        "run: python -m diproute.wording.catalogue docs/findings.md"
    )


def test_a_code_of_a_later_release_is_told_by_the_sentence_that_came_with_it():
    class Later:
        code = "of-tomorrow"
        values: dict[str, object] = {}  # noqa: RUF012
        because = "something that this release does not know"

    assert say(Later()) == "something that this release does not know"
