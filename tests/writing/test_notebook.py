"""A plan in a notebook: the ranking as a table, every name escaped, the map in a frame of its own."""

from html.parser import HTMLParser

from composed import full, plain

from diproute.writing.map.draw import map_page
from diproute.writing.notebook import FRAME_PX, notebook


class Seen(HTMLParser):
    """The elements with their attributes, and the text of each row and list item."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.texts, self.text = [], {"tr": [], "li": []}, ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag in self.texts:
            self.texts[tag].append("")

    def handle_data(self, data):
        self.text += data
        for told in self.texts.values():
            if told:
                told[-1] += data

    def of(self, tag):
        return [attrs for name, attrs in self.tags if name == tag]


def test_every_suitable_site_has_a_row_and_every_other_one_its_reason():
    plan = full()
    seen = Seen(notebook(plan))
    rows = seen.texts["tr"][1:]
    assert len(rows) == len(plan.suitable)
    for site, row in zip(plan.suitable, rows, strict=True):
        assert row.startswith(str(site.rank))
        assert site.name in row
    assert len(seen.texts["li"]) == len(plan.sites) - len(plan.suitable)


def test_the_map_is_the_map_in_a_frame_of_fixed_height():
    (frame,) = Seen(notebook(plain())).of("iframe")
    assert frame.get("height") == str(FRAME_PX)
    assert frame.get("sandbox") == "allow-scripts"
    assert frame.get("srcdoc").splitlines() == map_page(plain()).splitlines()


def test_a_plan_that_was_read_back_shows_itself():
    assert plain()._repr_html_() == notebook(plain())


def test_invented_data_says_so_and_who_decides():
    text = Seen(notebook(plain())).text
    assert ("Invented demo data" in text) == plain().invented
    assert "pilot in command decide" in text


def test_no_name_becomes_a_tag():
    plan = plain(title="<script>alert(1)</script>", water_name="<b>Lake</b>")
    seen = Seen(notebook(plan))
    assert not seen.of("script")
    assert not seen.of("b")


def test_a_plan_without_a_suitable_site_says_so():
    seen = Seen(notebook(plain(usable=False)))
    assert "No suitable dip site" in seen.text
    assert not seen.of("table")
