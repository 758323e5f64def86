"""The language of the sentences: kinds of reading, brackets, the first fitting sentence."""

import math

import pytest

from diproute.records import Finding
from diproute.wording import Reader
from diproute.wording.template import fill, parse, printed

US, METRIC, SI = Reader("us", 12.0), Reader("metric"), Reader()


def told(template, reader=SI, **values):
    return fill(parse(template), values, reader, lambda inner: f"<{inner.code}>")


@pytest.mark.parametrize(
    ("kind", "value", "us", "metric", "si"),
    [
        ("height", 100.0, "328 ft", "100 m", "100 m"),
        ("line+", 38.2, "126 ft", "39 m", "38.2 m"),
        ("line-", 0.65, "2 ft", "0 m", "0.6 m"),
        ("altitude", 1000.0, "3\u202f281 ft MSL", "1\u202f000 m AMSL", "1\u202f000 m AMSL"),
        ("distance", 1852.0, "1.0 NM", "1.9 km", "1\u202f852 m"),
        ("wind", 5.144, "10 kt", "10 kt", "5.1 m/s"),
        ("mass", 453.6, "1\u202f000 lb", "454 kg", "454 kg"),
        ("temperature", 303.15, "86 °F", "30 °C", "30 °C"),
        ("temperature_difference", 3.0, "5 °F", "3 °C", "3 K"),
        ("bearing", 45.0, "033° magnetic", "045° true", "045° true"),
        ("true", 0.0, "360° true", "360° true", "360° true"),
        ("share", 0.8, "80 %", "80 %", "80 %"),
        ("time", 3725.0, "1 h 02 min", "1 h 02 min", "1 h 02 min"),
        ("clock", "2026-08-14T15:00:00-10:00", "15:00", "15:00", "15:00"),
        ("count obstacle", 1, "1 obstacle", "1 obstacle", "1 obstacle"),
        ("count body/bodies", 3, "3 bodies", "3 bodies", "3 bodies"),
        ("text", "Lake [/]", "Lake [/]", "Lake [/]", "Lake [/]"),
    ],
)
def test_kinds(kind, value, us, metric, si):
    assert [printed(value, kind, reader, str) for reader in (US, METRIC, SI)] == [us, metric, si]


@pytest.mark.parametrize("unknown", [None, math.nan])
def test_unknown_is_said(unknown):
    assert told("{depth_m:line} deep", depth_m=unknown) == "not known deep"
    assert told("deep") == "deep"
    assert told("{depth_m:line} deep") == "not known deep"


def test_brackets_stand_only_when_their_values_are_known():
    template = "a line[ of {length_m:line}[, {height_m:height} up]]"
    assert told(template) == "a line"
    assert told(template, length_m=30.0) == "a line of 30 m"
    assert told(template, length_m=30.0, height_m=math.nan) == "a line of 30 m"
    assert told(template, length_m=30.0, height_m=12.0) == "a line of 30 m, 12 m up"
    assert told("a wire[, unverified{doubtful:if}]", doubtful=True) == "a wire, unverified"
    assert told("a wire[, unverified{doubtful:if}]", doubtful=False) == "a wire"


def test_zero_is_known():
    assert told("[{wait_s:time} waiting]", wait_s=0.0) == "0 s waiting"


def test_findings_stand_inside():
    parts = (Finding.of("a"), Finding.of("b"))
    assert told("first: {why:finding}", why=parts) == "first: <a>; <b>"
    assert told("first: {why:list}", why=parts) == "first: <a>, <b>"
    assert told("first[: {why:finding}]", why=()) == "first"


@pytest.mark.parametrize("broken", ["a [b", "a] b"])
def test_a_broken_template_is_refused(broken):
    with pytest.raises(ValueError, match="bracket"):
        parse(broken)


def test_an_unknown_kind_is_refused():
    with pytest.raises(ValueError, match="furlong"):
        printed(1.0, "furlong", SI, str)
