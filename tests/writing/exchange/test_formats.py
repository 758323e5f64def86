"""What all formats have in common: whose run, what caution, what time; and the two calls that give them."""

import json
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pyogrio
import pytest
from composed import changed, full, plain
from exchange_scene import HOSTILE, at_offset, on_disk, plans, read_back, renamed
from exchange_variants import NAMES
from hypothesis import given, settings

from diproute.document.frames import KINDS
from diproute.errors import OutputError, QuantityError
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.exchange.formats import FORMATS, exchange, write_exchange

TEXTS = [name for name in FORMATS if name != "gpkg"]
INSTANT = datetime(2026, 8, 15, 1, 0, tzinfo=UTC)


def text_of(plan, name):
    """All that a file says, as text."""
    data = exchange(plan, name)
    if name != "gpkg":
        return data.decode("utf-8-sig")
    with on_disk(data, name) as path, closing(sqlite3.connect(path)) as base:
        return "\n".join(base.iterdump())


@pytest.mark.parametrize("name", FORMATS)
def test_every_file_carries_the_run_the_caution_and_that_data_are_invented(name):
    plan = full()
    text = text_of(plan, name)
    assert f"run {plan.run}" in text
    assert " ".join(CAUTIONS[0]) in text
    assert INVENTED in text
    assert plan.made_with in text
    assert f"vertical datum: {plan.ground.vertical_datum}" in text


@pytest.mark.parametrize("name", FORMATS)
def test_data_that_are_not_invented_are_not_called_so(name):
    text = text_of(changed(full(), invented=False), name)
    assert INVENTED not in text
    assert " ".join(CAUTIONS[0]) in text


@pytest.mark.parametrize("name", FORMATS)
def test_a_plan_without_a_run_says_that_it_is_not_known(name):
    text = text_of(changed(full(), run=None), name)
    assert "run not known" in text
    assert "run None" not in text


def times(plan, name):
    """The instants that a file tells of the plan, each read as its format has it."""
    data = exchange(plan, name)
    if name == "gpkg":
        with on_disk(data, name) as path:
            told = pyogrio.read_dataframe(path, layer="sites")["valid_at"]
        return {when.to_pydatetime() for when in told}
    if name == "geojson":
        return {pd.Timestamp(f["properties"]["valid_at"]).to_pydatetime() for f in json.loads(data)["features"]}
    found = re.findall(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)", data.decode("utf-8-sig"))
    return {datetime.fromisoformat(one) for one in found}


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("hours", [-10, 5.5])
def test_a_plan_at_any_offset_gives_the_instant_in_utc(name, hours):
    plan = at_offset(plain(), hours)
    assert plan.when == INSTANT
    assert plan.when.utcoffset().total_seconds() == hours * 3600
    told = times(plan, name)
    assert told == {INSTANT}
    assert all(when.utcoffset().total_seconds() == 0 for when in told)


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("which", list(plans()))
def test_a_plan_that_was_read_back_gives_the_same_bytes(which, name):
    assert exchange(read_back(plans()[which]), name) == exchange(plans()[which], name)


@pytest.mark.parametrize("name", FORMATS)
def test_another_process_gives_the_same_bytes(name, tmp_path):
    (tmp_path / "plan.json").write_text(plain().model_dump_json(), encoding="utf-8")
    code = (
        "import sys; from diproute import read_plan; from diproute.writing.exchange.formats import exchange;"
        f"sys.stdout.buffer.write(exchange(read_plan({str(tmp_path / 'plan.json')!r}), {name!r}))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert ran.stdout == exchange(plain(), name)


@given(NAMES)
@settings(max_examples=30)
def test_no_text_file_holds_what_turns_or_breaks_a_text(given_name):
    plan = renamed(plain(), given_name)
    for name in TEXTS:
        text = exchange(plan, name).decode("utf-8-sig")
        left = [sign for sign in text if sign < " " and sign not in "\n\r\t"]
        turned = [sign for sign in text if sign in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f"]
        assert not left + turned


@pytest.mark.parametrize("name", TEXTS)
def test_a_name_is_no_markup(name):
    text = text_of(renamed(full(), HOSTILE), name)
    if name in ("kml", "gpx"):
        assert "<b>" not in text
        assert "<img" not in text


def test_a_format_that_is_not_there_is_told_which_are():
    with pytest.raises(QuantityError) as caught:
        exchange(full(), "dxf")
    assert all(name in str(caught.value) for name in ("'dxf'", *FORMATS))


@pytest.mark.parametrize("name", FORMATS)
def test_the_ending_of_a_name_is_the_format(name, tmp_path):
    there = write_exchange(full(), tmp_path / "new" / f"Fire 7.{name.upper()}")
    assert there.read_bytes() == exchange(full(), name)
    assert [path.name for path in there.parent.iterdir()] == [there.name]


@pytest.mark.parametrize("wrong", ["plan", "plan.shp", "plan.kmz"])
def test_an_ending_that_no_format_has_writes_nothing(wrong, tmp_path):
    with pytest.raises(QuantityError, match="gpkg"):
        write_exchange(full(), tmp_path / wrong)
    assert not list(tmp_path.iterdir())


def test_a_folder_in_the_way_is_told_in_one_line(tmp_path):
    (tmp_path / "plan.kml").mkdir()
    with pytest.raises(OutputError, match="cannot write"):
        write_exchange(full(), tmp_path / "plan.kml")


def test_every_format_has_a_file_and_says_what_it_is_for():
    assert len({one.file for one in FORMATS.values()}) == len(FORMATS)
    for name, one in FORMATS.items():
        assert one.file.endswith(f".{name}")
        assert one.about


def test_the_page_lists_the_columns_of_every_table():
    page = (Path(__file__).parents[3] / "docs" / "exchange.md").read_text(encoding="utf-8")
    for kind, (columns, _) in KINDS.items():
        section = re.search(rf"^### `{kind}`.*?(?=^##|\Z)", page, re.MULTILINE | re.DOTALL)[0]
        cells = re.findall(r"^\| (`.*?`) \|", section, re.MULTILINE)
        assert [name for cell in cells for name in re.findall(r"`(\w+)`", cell)] == list(columns)
    for one in FORMATS.values():
        assert f"`{one.file}`" in page
