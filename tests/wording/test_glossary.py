"""One word for one thing: the glossary, the labels and the screens agree."""

import re
from pathlib import Path

import pytest

from diproute.wording import CODES
from diproute.wording.labels import LABELS, US_LABELS

ROOT = Path(__file__).parents[2]
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
# words that screens no longer use, and what they say instead
GONE = {
    r"\bdoubts?\b": "uncertainty",
    r"\bdraws?\b": "cases",
    r"\barrivals?\b": "approach",
    r"\bhole\b": "dip site or confined area",
    r"\bQNH\b": "label()",
    r"\bAMSL\b": "the kind `altitude`",
    r"\bfill setting\b": "bucket setting",
    r"\busable\b(?! geometry)": "suitable",
}


@pytest.mark.parametrize(("key", "word"), [*LABELS.items(), *US_LABELS.items()])
def test_a_label_that_differs_from_its_key_stands_in_the_glossary(key, word):
    if key != word:
        bare = re.sub(r" \(.*\)", "", word)
        rows = [row for row in GLOSSARY.splitlines() if row.startswith("|") and bare.rstrip("s") in row.split("|")[1]]
        assert rows, f"{word!r} has no row in docs/glossary.md"


def test_the_files_that_the_glossary_names_are_there():
    named = re.findall(r"`((?:\w+/)+\w+\.py)`", GLOSSARY)
    assert len(named) > 10
    for path in named:
        assert (ROOT / path).exists() or (ROOT / "diproute" / path).exists(), path


@pytest.mark.parametrize("code", sorted(CODES))
def test_sentences_keep_to_the_glossary(code):
    for template in CODES[code].sentences:
        bare = re.sub(r"\{[^}]*\}", "", template)
        for word, instead in GONE.items():
            assert not re.search(word, bare), f"{code}: {template!r} says {word}; say {instead}"
