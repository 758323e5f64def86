"""The brief and the cards for the knee, read back by another program."""

from __future__ import annotations

import io
import re
import sys

import pypdf
import pytest
from composed import changed, full, plain, with_sites
from writing.pages import bare, labels_of, pages

from diproute.errors import OutputError, QuantityError
from diproute.units import show, show_course, show_share
from diproute.writing import typeset
from diproute.writing.brief import brief as room
from diproute.writing.brief.check_lists import check_lists
from diproute.writing.brief.site import spaced
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.drawings.cycle_bar import cycle_bar
from diproute.writing.drawings.profile import profile
from diproute.writing.drawings.rose import rose
from diproute.writing.exchange.kml import kml
from diproute.writing.map.card import _numbers


@pytest.fixture(scope="module")
def made():
    return room.brief(full())


@pytest.fixture(scope="module")
def read(made):
    return pages(made)


@pytest.fixture(scope="module")
def cards():
    return pages(room.kneeboard(full()))


def page_of(site, read):
    return next(page for page in read if page.letters.startswith(bare(f"{site.rank}{site.name}")))


def test_the_same_plan_gives_the_same_bytes(made):
    assert room.brief(full()) == made


def test_it_is_tagged_and_says_what_it_is(made):
    document = pypdf.PdfReader(io.BytesIO(made))
    assert document.metadata.title == f"{full().title}, brief"
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert document.trailer["/Root"]["/Lang"] == "en"


@pytest.mark.parametrize("display", ["us", "metric"])
def test_each_site_has_one_page(display):
    plan = changed(full(), display=display)
    read = pages(room.brief(plan))
    for site in plan.suitable:
        assert sum(page.letters.startswith(bare(f"{site.rank}{site.name}")) for page in read) == 1
    assert len(read) <= len(plan.suitable) + 5  # the incident, lists and cautions


def test_a_site_page_holds_what_a_pilot_reads_out(read):
    plan = full()
    for site in plan.suitable:
        page = page_of(site, read)
        told = [
            show_course(site.arrival.course_magnetic_deg), show_course(site.departure.course_magnetic_deg),
            show_share(site.load.fill), show(site.load.fuel_kg, "mass", plan.display),
            show(site.density_altitude_m, "height", plan.display), "WGS 84", "MGRS", "not known", "Cautions",
        ]  # fmt: skip
        assert [words for words in told if not page.has(words)] == []
        assert page.is_inked(show_course(site.departure.course_magnetic_deg))


def test_paper_map_and_exchange_files_tell_one_margin_and_one_lift(read):
    plan = full()
    told = kml(plan).decode()
    for site in plan.suitable:
        margin, lift = (
            show(site.load.margin_kg, "mass", plan.display),
            show(site.departure.lift_m, "height", plan.display),
        )
        assert page_of(site, read).has(f"margin{margin}")
        assert page_of(site, read).has(f"straight up first{lift}")
        assert f"margin {margin}" in told
        assert f"lift {lift}" in told
        assert dict(_numbers(site, plan))["Margin"] == margin


def test_every_word_of_a_drawing_is_on_the_page_and_can_be_seen(read):
    plan = full()
    for site in plan.suitable[:2]:
        page = page_of(site, read)
        drawings = [rose(site, plan), cycle_bar(site.cycle, plan.display)]
        drawings += [profile(leg, plan.display) for leg in site.routes]
        words = [word for drawing in drawings for word in labels_of(drawing)]
        assert len(words) > 30
        assert [word for word in words if not page.has(word)] == []
        assert [word for word in words if not page.is_inked(word)] == []


def test_drawings_have_no_colour_of_a_screen():
    plan = full()
    drawing = typeset.on_paper(rose(plan.suitable[0], plan))
    assert "var(" not in drawing
    assert "system-ui" not in drawing


def test_every_page_says_that_the_data_are_invented_and_that_others_decide(read, cards):
    for page in (*read, *cards):
        assert page.has("Invented data.")
        assert page.has("pilot in command decide")
    assert read[0].has(INVENTED)
    real = pages(room.brief(changed(full(), invented=False)))
    assert not any(page.has("Invented") for page in real)


def test_all_cautions_are_printed(read):
    whole = "".join(page.letters for page in read)
    assert [head for head, text in CAUTIONS if bare(f"{head}{text}") not in whole] == []


def test_the_first_page_ranks_and_says_what_is_refused_and_unknown(read):
    plan = full()
    for site in plan.suitable:
        assert read[0].has(f"{site.rank}{site.name}")
    refused = next(site for site in plan.sites if not site.suitable)
    assert read[0].has(f"{refused.name}:")
    assert read[0].has("age of:")
    for layer in plan.layers:
        assert read[0].has(layer.file)


def test_a_card_is_half_the_paper_and_holds_one_site():
    for paper, (wide, high) in {"a4": (148.0, 210.0), "us-letter": (139.7, 215.9)}.items():
        made = room.kneeboard(full(), paper=paper)
        box = pypdf.PdfReader(io.BytesIO(made)).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((wide / 25.4 * 72, high / 25.4 * 72), abs=0.1)
        read = pages(made)
        for site in full().suitable[: room.CARDS]:
            assert sum(page.letters.startswith(bare(f"{site.rank}{site.name}")) for page in read) == 1


def test_sites_are_asked_for_by_rank_or_id():
    plan = full()
    second = plan.suitable[1]
    assert room.chosen_sites(plan, ["2", plan.suitable[0].id]) == (second, plan.suitable[0])
    with pytest.raises(QuantityError, match=r"no dip site '77' in this plan; give a rank \(1 to \d+\)"):
        room.chosen_sites(plan, ["77"])
    refused = next(site for site in plan.sites if not site.suitable)
    with pytest.raises(QuantityError, match="is refused and gets no page"):
        room.chosen_sites(plan, [refused.id])


def test_a_plan_without_a_suitable_site_still_has_a_brief():
    refused = [site for site in full().sites if not site.suitable]
    plan = with_sites(full(), *refused)
    read = pages(room.brief(plan))
    assert read[0].has("No dip site passes every limit.")
    assert pages(room.kneeboard(plan))[0].has("No dip site passes every limit.")


def test_names_are_never_read_as_markup():
    odd = "#panic() *b* _i_ `c` $x$ <y> @z \\ [k] \u202e"
    site = changed(plain().suitable[0], name=odd)
    read = pages(room.brief(with_sites(plain(), site)))
    assert read[0].has("#panic() *b* _i_ `c` $x$ <y> @z \\ [k] \\u202e")


def test_letters_that_the_font_lacks_stop_nothing():
    """Source Sans Pro has no CJK; whether the system has is its own affair."""
    site = changed(plain().suitable[0], name="水 Öre-sund")
    assert pages(room.brief(with_sites(plain(), site)))[1].has("Öre-sund")


def test_a_name_without_an_end_is_cut():
    site = changed(plain().suitable[0], name="W" * 600)
    page = pages(room.brief(changed(with_sites(plain(), site), title="T" * 300)))[1]
    assert page.has(f"{'W' * (typeset.LONGEST_NAME - 1)}…")
    assert not page.has("W" * typeset.LONGEST_NAME)


def test_without_what_it_needs_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(OutputError, match=r"pip install 'diproute\[brief\]'"):
        room.brief(plain())


def test_each_item_of_a_check_list_names_its_source():
    plan = full()
    for first in (None, *plan.suitable):
        lists = check_lists(plan, first)
        assert [one.title for one in lists][:2] == ["Bucket and line before flight", "Releases"]
        for one in lists:
            assert one.items
            for item in one.items:
                assert item.source
                assert item.text[0].isupper()
                assert item.text.endswith(".")


def test_check_lists_take_their_settings_from_the_site():
    plan = full()
    site = plan.suitable[0]
    words = " ".join(item.text for one in check_lists(plan, site) for item in one.items)
    assert show_share(site.load.fill) in words
    assert show(site.load.fuel_kg, "mass", plan.display) in words
    assert f"in on {show_course(site.arrival.course_magnetic_deg)}" in words
    on_line = changed(site, line=changed(site.line, carried_m=40.0))
    words = " ".join(item.text for one in check_lists(plan, on_line) for item in one.items)
    assert "never under the tail" in words
    assert show(40.0, "line", plan.display) in words


def test_salt_is_rinsed_where_the_water_is_salt_or_not_known():
    plan = full()
    fresh, salt = (changed(plan.suitable[0], salt=given) for given in (False, True))

    def told(first):
        return any("Salt water today" in item.text for one in check_lists(plan, first) for item in one.items)

    assert told(salt)
    assert told(None)
    assert not told(fresh)


def test_a_grid_reference_is_spaced_as_it_is_read_out():
    assert spaced("04TDM1079668121") == "04T DM 10796 68121"
    assert re.fullmatch(r"[A-Z]+\d*", spaced("ZAH0000000000"))  # near a pole it stays as it is
