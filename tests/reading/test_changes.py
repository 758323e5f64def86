"""Keys of an incident set to other values: read as text, put where they belong, a wrong one named with the near one."""

from dataclasses import replace

import pytest
from small_incident import again, write_incident

from diproute.errors import IncidentError
from diproute.reading.changes import change_weather, told_changes, with_changes
from diproute.reading.incident import read_incident
from diproute.records import Finding

KNOT = 1852 / 3600


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_incident(tmp_path_factory.mktemp("changes"))


@pytest.fixture(scope="module")
def reported(path):
    """The same incident with a report."""
    gone = {f"weather.{key}": None for key in ("temperature", "measured_at", "qnh", "wind")}
    metar = "KXYZ 150055Z 27008KT 10SM CLR 30/10 A2992"
    return again(path, "metar.toml", {"weather.metar": metar, "weather.station_elevation": "600 m"} | gone)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("36degC", "36degC"),
        ("240 deg 12 kt", "240 deg 12 kt"),
        ("10", 10),
        ("true", True),
        ('["0 m", "30 m"]', ["0 m", "30 m"]),
        ('"a = b"', "a = b"),
        ("80 %", "80 %"),
    ],
)
def test_a_value_is_what_toml_makes_of_it_or_text(text, value):
    assert told_changes([f"some.key={text}"]) == {"some.key": value}


@pytest.mark.parametrize("text", ["weather.temperature", "=3", "bucket.fill="])
def test_a_text_that_is_no_key_and_value_is_refused(text):
    with pytest.raises(IncidentError, match="KEY=VALUE"):
        told_changes([text])


def test_a_key_twice_is_refused():
    with pytest.raises(IncidentError, match=r"bucket\.fill is set twice"):
        told_changes(["bucket.fill=80 %", "bucket.fill=90 %"])


def test_keys_go_where_they_belong_and_what_came_stays():
    raw = {"title": "x", "drop": [{"name": "a"}, {"name": "b"}]}
    changed = with_changes(raw, {"drop[1].name": "c", "limits.wind": "20 kt", "title": "y"})
    assert changed == {"title": "y", "drop": [{"name": "a"}, {"name": "c"}], "limits": {"wind": "20 kt"}}
    assert raw == {"title": "x", "drop": [{"name": "a"}, {"name": "b"}]}


@pytest.mark.parametrize("key", ["title.x", "drop[2].name", "drop[x].name", "a..b", "lines[0]"])
def test_a_key_that_leads_nowhere_is_refused_by_its_name(key):
    with pytest.raises(IncidentError) as wrong:
        with_changes({"title": "x", "drop": [{}]}, {key: "1"})
    assert key in str(wrong.value)


def test_any_key_that_holds_a_value_can_be_set(path):
    keys = {"bucket.fill": "85 %", "limits.tailwind": "3 kt", "search.keep": 4, "drop[0].name": "Tail", "title": "T"}
    changed = read_incident(path, keys)
    assert changed.fill == 0.85
    assert changed.limits.tailwind_m_s == pytest.approx(3 * KNOT)
    assert (changed.search.keep, changed.drops[0].name, changed.title) == (4, "Tail", "T")
    plain = read_incident(path)
    assert changed.weather == plain.weather
    assert repr(changed.helicopter) == repr(plain.helicopter)  # NaN in the hover chart


@pytest.mark.parametrize(
    ("key", "value", "near"),
    [
        ("weather.temprature", "36 degC", "weather.temprature: unknown key; did you mean \"temperature\"?"),
        ("wether.wind", "calm", 'did you mean "weather"?'),
        ("limits.tail_wind", "5 kt", 'did you mean "tailwind"?'),
        ("weather.temperature", 36, "weather.temperature: got 36, wanted a temperature with its unit"),
        ("weather.wind", "VRB03KT", "weather.wind"),
        ("bucket.fill", "81 %", "bucket.fill"),
    ],
)  # fmt: skip
def test_a_wrong_key_or_value_names_the_key(path, key, value, near):
    with pytest.raises(IncidentError) as wrong:
        read_incident(path, {key: value})
    assert near in str(wrong.value)
    assert "\n" not in str(wrong.value)


@pytest.mark.parametrize("which", ["path", "reported"])
def test_the_weather_is_changed_however_it_was_given(which, request):
    incident = request.getfixturevalue(which)
    plain = read_incident(incident)
    changed = read_incident(incident, {"weather.temperature": "36 degC", "weather.wind": "calm"})
    assert changed.weather.air.temperature_k == pytest.approx(309.15)
    assert changed.weather.wind.speed_m_s == (0.0,)
    assert changed.weather.source == f"{plain.weather.source}; temperature, wind changed"
    assert repr(replace(changed, weather=plain.weather)) == repr(plain)
    assert changed.weather.air.qnh_pa == plain.weather.air.qnh_pa


def test_a_cooler_air_takes_the_dew_point_down_with_it(reported):
    weather = read_incident(reported).weather
    assert weather.air.dew_point_k == pytest.approx(283.15)
    assert change_weather(weather, {"temperature": "5 degC"}, "x").air.dew_point_k == pytest.approx(278.15)
    with pytest.raises(IncidentError, match="dew_point"):
        change_weather(weather, {"dew_point": "35 degC"}, "x")


def test_cautions_of_a_wind_that_is_gone_are_gone(path):
    said = Finding.of("wind-variable", speed_m_s=2.0, from_deg=None, low_deg=None, high_deg=None)
    weather = replace(read_incident(path).weather, cautions=(said,))
    assert change_weather(weather, {"temperature": "20 degC"}, "x").cautions == (said,)
    assert change_weather(weather, {"wind": "240 deg 5 kt"}, "x").cautions == ()
