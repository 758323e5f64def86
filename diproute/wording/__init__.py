"""Words: a code and its values become a sentence in the reader's units; a key becomes its one word on the screen."""

from __future__ import annotations

from diproute.wording.labels import label
from diproute.wording.sentences import CODES, SI, say
from diproute.wording.template import Reader

__all__ = ["CODES", "SI", "Reader", "label", "say"]
