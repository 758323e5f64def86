"""What Python users hold."""

import re
from dataclasses import replace

import pytest

from diproute.document.compose import compose
from diproute.errors import IncidentError
from diproute.planning import prepared as prepared_module
from diproute.planning.plan import assess, make_plan
from diproute.planning.planned import Planned
from diproute.planning.prepared import prepared_again
from diproute.reading.incident import read_incident
from diproute.writing.notebook import notebook


@pytest.fixture(scope="module")
def planned(small):
    return make_plan(read_incident(small))


def test_the_document_of_the_records_is_what_is_held(planned, small_plan, small_prepared):
    assert planned == Planned(compose(small_plan), small_prepared)
    assert planned.prepared is not small_prepared


def test_another_weather_is_another_plan(planned, small_prepared):
    weather = small_prepared.incident.weather
    hotter = replace(weather, air=replace(weather.air, temperature_k=weather.air.temperature_k + 5))
    assert planned != Planned(compose(assess(small_prepared, hotter)), small_prepared)


def test_it_gives_what_the_document_has(planned):
    assert planned.title == planned.document.title == "Small made-up incident"
    assert planned.sites == planned.document.sites
    assert [site.rank for site in planned.usable] == list(range(1, len(planned.usable) + 1))


def test_repr_is_one_short_line(planned):
    first = planned.usable[0]
    found = re.fullmatch(
        r"<Planned 'Small made-up incident', (\d+) sites, first (.+) (\d+\u202f\d{3}) L/h>", repr(planned)
    )
    assert int(found[1]) == len(planned.sites)
    assert found[2] == first.name
    assert float(found[3].replace("\u202f", "")) == pytest.approx(first.sortie.litres_per_hour, abs=0.51)


def test_repr_of_a_plan_without_a_suitable_site(plan_of, small_prepared):
    plan = plan_of({"helicopter.fuel": "10 %"})
    assert repr(Planned(compose(plan), small_prepared)).endswith(" sites, none suitable>")


def test_with_weather_is_the_plan_of_that_weather_on_the_same_ground(planned, small, monkeypatch):
    monkeypatch.setattr(prepared_module, "open_layers", None)  # no layer is read again
    again = planned.with_weather(temperature="36 degC", wind="250 deg 10 kt")
    assert again.prepared.opened is planned.prepared.opened
    assert again.prepared.airspace is planned.prepared.airspace
    changes = {"weather.temperature": "36 degC", "weather.wind": "250 deg 10 kt"}
    asked = read_incident(small, changes)
    by_hand = Planned(compose(assess(planned.prepared, asked.weather)), planned.prepared)
    assert again.sites == by_hand.sites
    assert again.document.air == by_hand.document.air
    first = again.document.cautions[0]
    assert first.code == "keys-set"
    assert first.because == (
        "not the incident as its file has it: weather.temperature = 36 degC, weather.wind = 250 deg 10 kt"
    )
    assert planned.document.cautions[0].code != "keys-set"


@pytest.mark.parametrize("given", [{}, {"temperature": "36"}, {"wind": "VRB03KT"}])
def test_with_weather_refuses_what_is_no_weather(planned, given):
    with pytest.raises(IncidentError):
        planned.with_weather(**given)


def test_a_notebook_shows_the_plan(planned):
    assert planned._repr_html_() == notebook(planned.document)


def test_the_ground_is_made_ready_again_only_as_far_as_a_change_asks(small, small_prepared, monkeypatch):
    monkeypatch.setattr(prepared_module, "open_layers", None)
    hotter, tighter = ({"weather.temperature": "33 degC"}, {"limits.lift_limit": "40 m"})
    same = prepared_again(small_prepared, read_incident(small, hotter))
    assert same.airspace is small_prepared.airspace
    other = prepared_again(small_prepared, read_incident(small, tighter))
    assert other.opened is small_prepared.opened
    assert other.incident.limits.lift_limit_m == 40.0
    with pytest.raises(TypeError):  # another radius reads other ground
        prepared_again(small_prepared, read_incident(small, {"search.radius": "3 km"}))
