"""The pictures of the documentation stand alone: ``docs/make_pictures.py`` made them."""

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
ROSES = sorted(DOCS.glob("rose-*.svg"))


def test_the_three_places_have_their_roses_in_the_page():
    assert [rose.name for rose in ROSES] == ["rose-gorge.svg", "rose-pond.svg", "rose-reservoir.svg"]
    page = (DOCS / "obstacles.md").read_text(encoding="utf-8")
    assert all(f'src="{rose.name}"' in page for rose in ROSES)


@pytest.mark.parametrize("rose", ROSES, ids=lambda rose: rose.stem)
def test_a_rose_brings_its_colours_for_light_and_dark(rose):
    text = rose.read_text(encoding="utf-8")
    ElementTree.fromstring(text)
    used = set(re.findall(r"var\(--(\w+)", text))
    light, dark = re.search(
        r"<style>:root\{(.*?)\}@media \(prefers-color-scheme:dark\)\{:root\{(.*?)\}\}</style>", text
    ).groups()
    for block in (light, dark):
        assert set(re.findall(r"--(\w+):", block)) == used
    assert light != dark
    assert "href" not in text
    assert "url(" not in text


def test_the_picture_of_the_map_is_small():
    data = (DOCS / "map.jpg").read_bytes()
    assert data[:2] == b"\xff\xd8"  # JPEG, ITU-T T.81
    assert len(data) < 300_000
