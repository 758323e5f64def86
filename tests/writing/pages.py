"""PDF pages read by PDFium (pypdfium2): their words, where they stand, and whether ink is there."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2

SCALE = 3.0  # pixels a point


@dataclass(frozen=True)
class Page:
    """One page: its words without spaces, the box of each letter, and its pixels in grey."""

    letters: str
    boxes: list[tuple[float, float, float, float]]
    grey: np.ndarray

    def has(self, words: str) -> bool:
        return bare(words) in self.letters

    def is_inked(self, words: str) -> bool:
        """Tell whether somewhere the words stand they can be seen: dark on light, or light on dark."""
        sought = bare(words)
        places = [found.start() for found in re.finditer(re.escape(sought), self.letters)]
        return any(self._seen(place, place + len(sought)) for place in places)

    def _seen(self, first: int, end: int) -> bool:
        boxes = np.array(self.boxes[first:end])
        left, low, right, high = boxes[:, 0].min(), boxes[:, 1].min(), boxes[:, 2].max(), boxes[:, 3].max()
        tall = self.grey.shape[0]
        rows = slice(max(0, int(tall - high * SCALE)), int(tall - low * SCALE) + 1)
        part = self.grey[rows, max(0, int(left * SCALE)) : int(right * SCALE) + 1]
        return part.size > 0 and float(np.ptp(part)) > 100


def bare(words: str) -> str:
    return re.sub(r"\s+", "", words).replace("\u2019", "'").replace("\u201c", '"').replace("\u201d", '"')


def pages(pdf: bytes) -> list[Page]:
    opened = pypdfium2.PdfDocument(pdf)
    found = []
    for page in opened:
        text: Any = page.get_textpage()
        letters, boxes = "", []
        for i in range(text.count_chars()):
            letter = bare(text.get_text_range(i, 1))
            letters += letter
            boxes += [text.get_charbox(i)] * len(letter)
        grey = np.asarray(page.render(scale=SCALE, grayscale=True).to_numpy()).squeeze().astype(float)
        found.append(Page(letters, boxes, grey))
    return found


def labels_of(drawing: str) -> list[str]:
    """List the words of an SVG drawing."""
    from html import unescape

    return [unescape(words) for words in re.findall(r"<text[^>]*>([^<]*)</text>", drawing) if words.strip()]
