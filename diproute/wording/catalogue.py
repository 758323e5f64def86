"""The page of all codes, made from the code: ``python -m diproute.wording.catalogue docs/findings.md``."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType
from typing import Final

from diproute.wording.codes import Code
from diproute.wording.sentences import PARTS
from diproute.wording.template import Optional, Part, parse

HEAD: Final = """# Findings: every code, what it means, and what is said

Made from the code by `python -m diproute.wording.catalogue docs/findings.md`; a test compares.

A finding in `plan.json` is a `code` with `values` (SI, bearings true degrees, unknown `null`) and a sentence `because`
in SI units. The codes and the names of the values stay; sentences may change, and the terminal, the map and the brief
make theirs from the same values in the reader's units. In the sentences below a *name* stands for a value, and what is
in brackets is said only when its values are known. Where a code has several sentences the first one whose values are
known is said.
"""


def page() -> str:
    """Give the whole page as markdown."""
    return "\n".join([HEAD, *(_section(part) for part in PARTS if part.CODES)])


def _section(part: ModuleType) -> str:
    title = (part.__doc__ or "").strip().splitlines()[0].rstrip(".").removeprefix("Sentences about ")
    rows = [_row(code, said) for code, said in sorted(part.CODES.items())]
    return "\n".join([f"## {title[0].upper()}{title[1:]}", "", "| code | meaning | says |", "|---|---|---|", *rows, ""])


def _row(code: str, said: Code) -> str:
    sentences = " <br> ".join(_shown(parse(template)) for template in said.sentences)
    return f"| `{code}` | {said.meaning} | {sentences} |"


def _shown(parts: tuple[Part, ...]) -> str:
    words = []
    for part in parts:
        if isinstance(part, str):
            words.append(part.replace("|", "\\|"))
        elif isinstance(part, Optional):
            inside = _shown(part.parts)
            words.append(f"[{inside}]")
        elif part.kind != "if":
            words.append(f"*{part.name}*")
    return "".join(words)


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
