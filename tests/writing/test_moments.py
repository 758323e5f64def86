"""Hours and other weathers on the page: what each site gives, from when to when it is closed, and why."""

import base64
from dataclasses import replace

import numpy as np
import pytest
from composed import changed, full, plain
from page_fixture import HEATS_C, SPEEDS_KT, with_grid

from diproute.units import show_course
from diproute.writing.map import moments
from diproute.writing.map.packing import Texts
from diproute.writing.map.what_if import NONE, what_if


@pytest.fixture(scope="module")
def day():
    texts = Texts()
    return moments.hours(full(), texts), texts.table


def test_every_hour_has_its_weather_and_every_site_its_answers(day):
    data, texts = day
    plan = full()
    assert data["clock"][0] == "05:00"
    assert data["clock"][data["now"]] == f"{plan.when:%H:%M}"
    assert texts[data["weather"][0]] == "59 °F, wind from 240° true 10 kt"
    for h, hour in enumerate(plan.day.hours):
        for i, site in enumerate(plan.sites):
            here = next((one for one in hour.sites if one.site == site.id), None)
            if here is None:  # refused through the whole day: not worked
                assert str(i) not in data["sites"]
                continue
            row = data["sites"][str(i)]
            assert row["rate"][h] == (None if here.litres_per_hour is None else round(here.litres_per_hour * 10))
            assert (row["why"][h] is None) == (here.litres_per_hour is not None)
            if here.arrival_deg is not None:
                assert texts[row["in"][h]] == show_course(here.arrival_deg - plan.declination_deg)


def test_a_closed_site_says_from_when_to_when(day):
    data, texts = day
    spans = {i: [texts[n] for n in row] for i, row in data["spans"].items()}
    assert spans["2"] == ["closed from 12:00 to 15:00: too heavy"]
    assert spans["0"] == []


def test_a_site_that_never_opens_again_is_closed_on():
    plan = full()
    hours = tuple(changed(hour, sites=tuple(changed(one, litres_per_hour=None) for one in hour.sites))
                  if hour.when.hour >= 18 else hour for hour in plan.day.hours)  # fmt: skip
    texts = Texts()
    data = moments.hours(changed(plan, day=changed(plan.day, hours=hours)), texts)
    assert [texts.table[n] for n in data["spans"]["0"]] == ["closed from 18:00 on: not known"]


def test_the_dark_closes_nothing():
    plan = full()
    dark = tuple(changed(hour, dark=12 <= hour.when.hour < 15) for hour in plan.day.hours)
    data = moments.hours(changed(plan, day=changed(plan.day, hours=dark)), Texts())
    assert sum(data["dark"]) == 3
    assert data["spans"]["2"] == []


def test_without_hours_or_grid_there_is_nothing():
    assert moments.hours(plain(), Texts()) is None
    assert what_if(plain(), Texts()) is None


@pytest.fixture(scope="module")
def grid():
    texts = Texts()
    plan = with_grid(plain())
    return plan, what_if(plan, texts), texts.table


def unpacked(data, site):
    raw = base64.b64decode(data["sites"][str(site)])
    count = data["winds"] * len(data["heat"])
    rates = np.frombuffer(raw[: 2 * count], dtype="<i2")
    return rates, np.frombuffer(raw[2 * count :], dtype=np.uint8).reshape(4, count)


def test_every_cell_of_the_grid_comes_back(grid):
    plan, data, texts = grid
    for number, one in enumerate(plan.what_if.sites):
        rates, (fill, line, into, out) = unpacked(data, number)
        for k, rate in enumerate(one.litres_per_hour):
            if rate is None:
                short, why = data["why"][-1 - rates[k]]
                assert (
                    texts[why]
                    == ("no bucket setting can be lifted", "wind up to 30 kt, more than the limit of 25 kt")[one.why[k]]
                )
                assert texts[short] == ("too heavy", "too much wind")[one.why[k]]
                assert fill[k] == line[k] == into[k] == out[k] == NONE
                continue
            assert rates[k] * data["step"] == pytest.approx(rate, abs=data["step"] / 2)
            assert data["fill"][fill[k]] == round(one.fill[k] * 100)
            assert data["line"][line[k]] == 300
            assert texts[data["course"][into[k]]] == show_course(one.approach_deg[k] - plan.declination_deg)


def test_the_dials_have_the_nodes_and_no_other_place(grid):
    plan, data, texts = grid
    assert len(data["from"]) == 16
    assert [texts[n] for n in data["speed"]] == [f"{kt} kt" for kt in SPEEDS_KT]
    assert len(data["heat"]) == len(HEATS_C)
    nodes = data["node"]
    assert nodes[-1] == [0]  # calm
    assert sorted(n for row in nodes[:-1] for n in row) == list(range(1, data["winds"]))
    for row, from_deg in zip(nodes, data["fromDeg"], strict=False):
        for n, speed in zip(row, data["speedMs"], strict=True):
            assert (plan.what_if.wind_from_deg[n], plan.what_if.wind_m_s[n]) == (from_deg, speed)


def test_more_water_than_a_cell_holds_is_told_in_coarser_steps():
    plan = with_grid(plain())
    first = plan.what_if.sites[0]
    much = tuple(None if rate is None else rate * 20 for rate in first.litres_per_hour)
    data = what_if(changed(plan, what_if=replace(plan.what_if, sites=(replace(first, litres_per_hour=much),))), Texts())
    rates, _ = unpacked(data, 0)
    assert data["step"] > 1
    assert int(max(rates)) * data["step"] == pytest.approx(max(r for r in much if r is not None), abs=data["step"])
