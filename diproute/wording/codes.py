"""What a code is: its meaning, and the sentences that may be made from its values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, init=False)
class Code:
    """One code of a finding.

    ``sentences`` are templates (`diproute.wording.template`): the first one of which every value outside brackets is
    known is said, else the last.
    """

    meaning: str  # for docs/findings.md, one line
    sentences: tuple[str, ...]

    def __init__(self, meaning: str, *sentences: str) -> None:
        object.__setattr__(self, "meaning", meaning)
        object.__setattr__(self, "sentences", sentences)


Codes = dict[str, Code]
