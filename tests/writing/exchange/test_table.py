"""CSV: read by csv and by pandas as the table has it, and no cell that a spreadsheet would work out."""

import csv
import io

import numpy as np
import pandas as pd
import pytest
from composed import changed, full
from exchange_scene import plans, renamed
from exchange_variants import variants
from hypothesis import given, settings

from diproute.document.frames import KINDS, to_geodataframe
from diproute.writing.exchange.formats import exchange

COLUMNS = KINDS["sites"][0]
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def read(plan):
    text = exchange(plan, "csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def as_told(cell, dtype):
    if cell == "":
        return None
    if dtype == "boolean":
        return {"true": True, "false": False}[cell]
    return {"Float64": float, "Int64": int, "string": str}[dtype](cell)


def assert_equal_to_the_table(plan):
    frame = to_geodataframe(plan, "sites")
    rows = read(plan)
    assert len(rows) == len(frame)
    for told, (_, here) in zip(rows, frame.iterrows(), strict=True):
        assert None not in told  # no cell too many
        for column, dtype in COLUMNS.items():
            value = None if pd.isna(here[column]) or here[column] == "" else here[column]
            if isinstance(value, str) and value.startswith(FORMULA):
                value = f"'{value}"
            assert as_told(told[column], dtype) == value


@pytest.mark.parametrize("name", list(plans()))
def test_csv_reads_the_table_as_it_is(name):
    assert_equal_to_the_table(plans()[name])


@given(variants())
@settings(max_examples=25)
def test_whatever_the_names_and_values_csv_reads_them(plan):
    assert_equal_to_the_table(plan)
    for row in read(plan):
        assert not any(cell.startswith(FORMULA) and not number(cell) for cell in row.values())


def number(cell):
    try:
        return np.isfinite(float(cell))
    except ValueError:
        return False


@pytest.mark.parametrize("sign", FORMULA)
def test_no_cell_is_worked_out_by_a_spreadsheet(sign):
    plan = renamed(full(), f"{sign}1+cmd")
    (first, *_) = read(plan)
    assert first["name"][0] in "'\\"
    assert first["water"][0] in "'\\"


def test_pandas_reads_it_with_the_types_of_the_table():
    frame = to_geodataframe(full(), "sites")
    found = pd.read_csv(io.BytesIO(exchange(full(), "csv")), dtype=COLUMNS, parse_dates=["valid_at"])
    assert list(found.columns) == [
        *(column for column in frame.columns if column != "geometry"), "position_datum", "about",
    ]  # fmt: skip
    for column in COLUMNS:
        assert found[column].dtype == frame[column].dtype
        assert found[column].equals(frame[column])
    assert (found["valid_at"] == frame["valid_at"]).all()
    assert (found["position_datum"] == "WGS 84").all()


def test_it_is_written_as_spreadsheets_and_the_rule_want_it():
    data = exchange(full(), "csv")
    assert data.startswith(b"\xef\xbb\xbf")
    assert data.count(b"\r\n") == data.count(b"\n") == len(full().sites) + 1  # RFC 4180


def test_what_is_not_known_is_an_empty_cell():
    plan = full()
    site = changed(plan.sites[0], depth_m=None, elevation_m=None, density_altitude_m=None)
    (first, *_) = read(changed(plan, sites=(site, *plan.sites[1:])))
    assert [first[name] for name in ("depth_m", "elevation_m_amsl", "density_altitude_m")] == ["", "", ""]
