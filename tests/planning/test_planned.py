"""What Python users hold."""

import re
from dataclasses import replace

import pytest

from diproute.document.compose import compose
from diproute.planning.plan import assess, make_plan
from diproute.planning.planned import Planned
from diproute.reading.incident import read_incident


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
