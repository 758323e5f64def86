import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import QuantityError
from diproute.units import EXAMPLES, SHOWN, UNITS, parse, show, show_course, show_down, show_time, show_up, unit_name

KINDS = {"height": "length", "distance": "length", "line": "length", "depth": "length",
         "speed": "speed", "wind": "speed", "vertical": "speed", "mass": "mass",
         "volume": "volume", "temperature": "temperature", "temperature_difference": "temperature_difference",
         "pressure": "pressure"}  # fmt: skip


@pytest.mark.parametrize("kind", UNITS)
def test_every_kind_has_an_example_that_reads(kind):
    assert math.isfinite(parse(EXAMPLES[kind], kind, "key"))


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("125 ft", "length", 38.1),
        ("125ft", "length", 38.1),
        ("  -12.5  m ", "length", -12.5),
        ("1.5e3 m", "length", 1500),
        (".5 NM", "length", 926),
        ("12 kt", "speed", 6.173333),
        ("500 ft/min", "speed", 2.54),
        ("31 degC", "temperature", 304.15),
        ("31 °C", "temperature", 304.15),
        ("88 degF", "temperature", 304.261111),
        ("10 degF", "temperature_difference", 5.555556),
        ("80 %", "ratio", 0.8),
        ("240 deg", "direction", 240),
        ("240°", "direction", 240),
        ("29.92 inHg", "pressure", 101320.76),
        ("1009 hPa", "pressure", 100900),
        ("9 h", "time", 32400),
        ("6.5 K/km", "lapse", 0.0065),
        ("2 degC/1000ft", "lapse", 0.00656168),
        ("0.8 kg/L", "density", 0.8),
        ("0.4 lb/ft", "line_mass", 0.595266),
        ("180 L/h", "flow", 180),
    ],
)
def test_reads_into_si(text, kind, value):
    assert parse(text, kind, "key") == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        (125, "length", r'limits\.line: got 125, wanted a length with its unit; write it like "125 ft"'),
        (True, "length", "got True, wanted a length"),
        (None, "mass", "got None, wanted a mass"),
        ("125", "length", "got '125' without a unit"),
        ("", "length", "cannot read ''"),
        ("tall", "length", "cannot read 'tall'"),
        ("nan m", "length", "cannot read 'nan m'"),
        ("1e999 m", "length", "not a finite number"),
        ("12 KT", "speed", 'unknown unit .* did you mean "kt"'),
        ("125 feet", "length", "unknown unit 'feet' .* known: m, km, ft, NM, mi"),
        ("1,5 m", "length", "unknown unit"),
        ("31 hPa", "temperature", "unknown unit 'hPa'"),
        ("-300 degC", "temperature", "below absolute zero"),
    ],
)
def test_refusals(text, kind, message):
    with pytest.raises(QuantityError, match=message) as caught:
        parse(text, kind, "limits.line")
    assert caught.value.where == "limits.line"
    assert caught.value.got == text


# the way back: what is printed can be typed in again
@pytest.mark.parametrize("display", ["us", "metric", "si"])
@pytest.mark.parametrize("what", SHOWN)
@given(value=st.floats(150, 200000))
def test_printed_values_read_back(what, display, value):
    decimals = SHOWN[what][("us", "metric", "si").index(display)][1]
    text = show(value, what, display)
    half = parse(f"0.5 {unit_name(what, display)}", KINDS[what], "key") - parse(
        f"0 {unit_name(what, display)}", KINDS[what], "key"
    )
    assert parse(text, KINDS[what], "key") == pytest.approx(value, abs=half / 10**decimals * 1.0001)


def test_shows_as_its_reader_expects():
    assert show(1283.2, "height", "us") == "4\u202f210 ft"
    assert show(1283.2, "height", "metric") == "1\u202f283 m"
    assert show(304.15, "temperature", "us") == "88 °F"
    assert show(820, "volume", "us") == "217 US gal"
    assert show(100900, "pressure", "us") == "29.80 inHg"
    assert show(6.17, "wind", "metric") == "12 kt"
    assert show(-0.01, "height", "us") == "0 ft"
    assert show(1283.2, "height", "us", unit=False) == "4\u202f210"
    assert unit_name("volume", "us") == "US gal"


@pytest.mark.parametrize(
    ("value", "display", "up", "down"),
    [(31.215, "metric", "32 m", "31 m"), (31.215, "us", "103 ft", "102 ft"), (45.0, "metric", "45 m", "45 m"),
     (125 * 0.3048, "us", "125 ft", "125 ft"), (math.nan, "us", "not known", "not known")],
)  # fmt: skip
def test_what_is_needed_is_rounded_up_and_what_there_is_down(value, display, up, down):
    assert show_up(value, "line", display) == up
    assert show_down(value, "line", display) == down


def test_unknown_is_never_a_number():
    assert show(None, "mass", "us") == show(math.nan, "mass", "metric") == "not known"
    assert show_time(math.nan) == show_course(math.nan) == "not known"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(35, "35 s"), (59.6, "1 min 00 s"), (245, "4 min 05 s"), (3599.7, "1 h 00 min"), (6720, "1 h 52 min"), (0, "0 s")],
)
def test_times(seconds, text):
    assert show_time(seconds) == text


@pytest.mark.parametrize(
    ("course", "text"), [(45.4, "045°"), (0, "360°"), (359.7, "360°"), (360, "360°"), (0.6, "001°")]
)
def test_courses(course, text):
    assert show_course(course) == text


@given(st.floats(0, 360))
def test_courses_have_three_figures_and_never_000(course):
    assert re.fullmatch(r"(?!000)[0-3]\d\d°", show_course(course))
