"""Air at heights, and the load there."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import IncidentError
from diproute.planning.air import Told, air_at, air_at_heights, one_air, station_air
from diproute.planning.load_here import load_here
from diproute.records import Air, keys
from diproute.wording import Reader, say

FT, INHG = 0.3048, 3386.389
HANDBOOK = Air(294.2611, 5883 * FT, 30.10 * INHG)


def test_handbook_example():
    # Pilot's Handbook of Aeronautical Knowledge, FAA-H-8083-25A, p. 10-19, density-altitude sample problem 1
    air = one_air(HANDBOOK, 5883 * FT)
    assert air.pressure_altitude_m / FT == pytest.approx(5718, abs=1)
    assert air.density_altitude_m / FT == pytest.approx(7700, abs=100)  # read from its chart


def test_warmer_of_two_lapse_rates_above_and_below():
    station = Air(293.15, 1000.0, 101325.0)
    above, below = one_air(station, 2000.0), one_air(station, 0.0)
    assert above.temperature_k == pytest.approx(293.15 - 6.5)
    assert below.temperature_k == pytest.approx(293.15 + 9.8)
    assert one_air(replace(station, lapse_k_per_m=0.005), 2000.0).temperature_k == pytest.approx(288.15)


@given(st.floats(-100, 4000), st.floats(0, 400), st.floats(250, 315))
def test_higher_and_hotter_is_thinner(height, more, temperature):
    station = Air(temperature, 1000.0, 101325.0)
    _, pressure_altitude, density_altitude = air_at_heights(station, [height, height + more])
    assert pressure_altitude[1] >= pressure_altitude[0]
    assert density_altitude[1] >= density_altitude[0] - 1e-6
    hotter = replace(station, temperature_k=temperature + 3)
    assert air_at_heights(hotter, height)[2] >= density_altitude[0]


def test_moist_air_is_thinner_and_never_above_saturation():
    dry = Air(303.15, 0.0, 101325.0)
    moist = replace(dry, dew_point_k=293.15)
    # 1013.25 hPa, 30 degC: dry 1724 ft, dew point 20 degC 2019 ft: computed (ideal-gas moist air, Magnus)
    assert one_air(dry, 0.0).density_altitude_m / FT == pytest.approx(1724, abs=1)
    assert one_air(moist, 0.0).density_altitude_m / FT == pytest.approx(2019, abs=3)
    cold_aloft = one_air(moist, 3000.0)  # 10.5 degC up there, less than the station's dew point
    saturated = one_air(replace(moist, dew_point_k=cold_aloft.temperature_k), 3000.0)
    assert cold_aloft.density_altitude_m == pytest.approx(saturated.density_altitude_m)


def test_steps_of_a_thousand_feet_from_the_station():
    heights = [row.elevation_m for row in air_at(HANDBOOK)]
    assert np.diff(heights) == pytest.approx(1000 * FT)
    assert heights[0] == HANDBOOK.measured_at_m


def test_values_replace_those_of_the_incident():
    air = station_air(Told(temperature_k=308.15), HANDBOOK)
    assert air == replace(HANDBOOK, temperature_k=308.15)
    assert station_air(Told(), HANDBOOK) == HANDBOOK


def test_without_an_incident_every_value_must_come():
    assert station_air(Told(294.2611, 5883 * FT, 30.10 * INHG)) == HANDBOOK
    with pytest.raises(IncidentError, match="temperature_k, qnh_pa missing"):
        station_air(Told(measured_at_m=600.0))
    with pytest.raises(IncidentError, match="dew point is above"):
        station_air(Told(dew_point_k=300.0), HANDBOOK)


@pytest.fixture(scope="module")
def incident(small_prepared):
    return small_prepared.incident


def test_load_by_hand(incident):
    # demo-light at the station, 600 m and 30 degC: QNH 1013 hPa makes the pressure altitude 600 + 2.1 m = 1975 ft;
    # in its file the chart reads 2930 kg at 0 ft and 2920 kg at 2000 ft there
    answer = load_here(incident, 600.0, fuel=0.5)
    chart = 2930 - 10 * answer.pressure_altitude_m / FT / 2000
    assert answer.pressure_altitude_m / FT == pytest.approx(1975, abs=2)
    assert answer.load.hoge_limit_kg == pytest.approx(chart, abs=0.5)
    payload = chart - 64 - (1400 + 95 + 0.5 * 575 * 0.8)  # weight reduction; below the certificated 2930 kg
    room = min(0.9 * payload, 1290) - 125  # a tenth stays in hand; the hook; the empty bucket; no line
    fills = [1.0, 0.85, 0.75, 0.65, 0.55]
    fill = next(f for f in fills if f * 760 * 0.9991 <= room)
    assert answer.load.fill == fill
    assert answer.load.margin_kg == pytest.approx(room - fill * 760 * 0.9991, abs=0.5)
    assert answer.load.water_l == pytest.approx(760 * fill)


def test_longer_line_and_salt_and_fuel_never_lift_more(incident):
    answers = [
        load_here(incident, 2600.0, **asked).load.margin_kg
        for asked in ({}, {"line_m": 45.0}, {"line_m": 45.0, "salt": True})
    ]
    waters = [load_here(incident, 2600.0, fuel=share).load.water_l for share in (0.3, 0.6, 1.0)]
    assert waters == sorted(waters, reverse=True)
    assert len(set(answers)) == 3


def test_outside_the_chart_says_which_edge(incident):
    answer = load_here(incident, 5200.0)
    assert answer.load is None
    assert answer.why.code == "chart-too-high"
    assert "pressure altitude" in say(answer.why)
    assert answer.as_dict()["load"] is None


def test_too_heavy_says_by_how_much(incident):
    heavy = replace(incident, crew_kg=1200.0)
    answer = load_here(heavy, 2600.0, fuel=1.0)
    assert answer.load.water_kg == 0.0
    assert answer.why.values["excess_kg"] == -answer.load.margin_kg > 0.0
    assert say(answer.why).startswith("no lift: ")


@pytest.mark.parametrize("over_kg", [0.01, 0.3])
def test_nothing_is_never_too_heavy_by_nothing(incident, over_kg):
    """Printed rounded up: what must come off is never too little."""
    lifts = replace(incident, fill=0.6, limits=replace(incident.limits, hover_margin_kg=0.0))
    spare_kg = load_here(lifts, 2600.0, fuel=0.5).load.margin_kg
    just = load_here(replace(lifts, crew_kg=lifts.crew_kg + spare_kg + over_kg), 2600.0, fuel=0.5)
    assert just.load.margin_kg == pytest.approx(-over_kg)
    assert "no lift: 1 kg too heavy" in say(just.why, Reader("metric"))
    assert "no lift: 1 lb too heavy" in say(just.why, Reader("us"))


@pytest.mark.parametrize(
    ("asked", "of_incident", "share", "code"),
    [
        (0.5, None, 0.5, "sheet-fuel-asked"),
        (None, 0.8, 0.8, "sheet-fuel-incident"),
        (None, None, 1.0, "sheet-fuel-full"),
    ],
)
def test_the_sheet_says_which_fuel_it_took(incident, asked, of_incident, share, code):
    answer = load_here(replace(incident, fuel=of_incident), 600.0, fuel=asked)
    (fuel,) = (line for line in answer.load.lines if line.name == "fuel")
    assert fuel.mass_kg == pytest.approx(share * 575 * 0.8)
    assert fuel.note.code == code


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"line_m": 38.0}, "line: 38 m is not carried; carried: 0 m, 30 m, 45 m"),
        ({"fuel": 1.1}, "fuel: got 110 %, wanted above 0 % and up to 100 %"),
        ({"fuel": 0.0}, "above 0 %"),
        ({"fuel": math.nan}, "fuel: got not known"),
        ({"elevation_m": math.nan}, "elevation"),
    ],
)
def test_what_cannot_be_asked(incident, asked, words):
    with pytest.raises(IncidentError, match=words):
        load_here(incident, **({"elevation_m": 600.0} | asked))


def test_lines_are_named_in_the_units_of_the_reader(incident):
    with pytest.raises(IncidentError, match="line: 125 ft is not carried; carried: 0 ft, 98 ft, 148 ft"):
        load_here(replace(incident, display="us"), 600.0, line_m=38.1)


@pytest.mark.parametrize("feet", [98.0, 98.4, 98.9])
def test_a_line_may_be_named_in_the_feet_that_are_printed(incident, feet):
    """30 m prints as 98 ft."""
    told = load_here(incident, 600.0, line_m=feet * 0.3048)
    assert told.load == load_here(incident, 600.0, line_m=30.0).load


def test_as_plain_values_it_is_rounded_as_a_plan(incident):
    answer = load_here(incident, 2600.0)
    plain = json.loads(json.dumps(answer.as_dict(), allow_nan=False))
    assert plain["load"]["water_kg"] == round(answer.load.water_kg, 1)
    assert [line["name"] for line in plain["load"]["lines"]] == list(keys.SHEET_LINES)
    assert plain["pressure_altitude_m"] == round(answer.pressure_altitude_m, 1)
    assert plain["code"] == "lifted"
    assert plain["because"] == say(answer.why)
