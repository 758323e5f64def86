"""Air at heights, and the load there."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import IncidentError, QuantityError
from diproute.planning.air import air_at, air_at_heights, asked_air, one_air
from diproute.planning.load_here import load_here
from diproute.records import Air

FT, INHG = 0.3048, 3386.389
HANDBOOK = Air(294.2611, 5883 * FT, 30.10 * INHG)
NOTHING = dict.fromkeys(("temperature", "measured_at", "qnh", "dew_point", "lapse", "display"))


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
    heights = [row.elevation_m for row in air_at(HANDBOOK, ())]
    assert np.diff(heights) == pytest.approx(1000 * FT)
    assert heights[0] == HANDBOOK.measured_at_m


def test_values_replace_those_of_the_file(small):
    air, display = asked_air(small, (), **{**NOTHING, "temperature": "35 degC", "display": "us"})
    assert air.temperature_k == pytest.approx(308.15)
    assert air.measured_at_m == 600.0
    assert display == "us"


def test_without_a_file_every_value_must_come():
    with pytest.raises(IncidentError, match=r"--temperature, --qnh missing"):
        asked_air(None, ("5883 ft",), **NOTHING)
    keys = {**NOTHING, "temperature": "20 degC", "qnh": "1013 hPa", "dew_point": "25 degC"}
    with pytest.raises(IncidentError, match="dew point is above"):
        asked_air(None, ("5883 ft",), **keys)
    with pytest.raises(QuantityError, match="--elevation"):
        asked_air(None, ("5883",), **{**NOTHING, "temperature": "20 degC", "qnh": "1013 hPa"})


@pytest.fixture(scope="module")
def incident(small_scene):
    return small_scene.incident


def test_load_by_hand(incident):
    # demo-light at the station, 600 m and 30 degC: QNH 1013 hPa makes the pressure altitude 600 + 2.1 m = 1975 ft;
    # its chart at 30 degC: 2750 kg at 0 ft held to 2745 kg at 2000 ft. In its file, 0 ft reads 2750 and 2000 ft 2745.
    answer = load_here(incident, elevation="600 m", fuel="50 %")
    chart = 2750 - 5 * answer.pressure_altitude_m / FT / 2000
    assert answer.pressure_altitude_m / FT == pytest.approx(1975, abs=2)
    assert answer.load.hoge_limit_kg == pytest.approx(chart, abs=0.5)
    selected = chart - 60  # weight reduction; below the certificated 2750 kg
    payload = selected - (1300 + 95 + 0.5 * 540 * 0.8)
    room = payload - 135  # the empty bucket; no line
    fills = [1.0, 0.9, 0.8, 0.7, 0.6]
    fill = next(f for f in fills if f * 820 * 0.9991 <= min(room, 1200 - 135))
    assert answer.load.fill == fill
    assert answer.load.margin_kg == pytest.approx(min(room, 1200 - 135) - fill * 820 * 0.9991, abs=0.5)
    assert answer.load.water_l == pytest.approx(820 * fill)


def test_longer_line_and_salt_and_fuel_never_lift_more(incident):
    answers = [
        load_here(incident, elevation="2600 m", **keys).load.margin_kg
        for keys in ({}, {"line": "45 m"}, {"line": "45 m", "salt": True})
    ]
    waters = [load_here(incident, elevation="2600 m", fuel=f"{share} %").load.water_l for share in (30, 60, 100)]
    assert waters == sorted(waters, reverse=True)
    assert len(set(answers)) == 3


def test_outside_the_chart_says_which_edge(incident):
    answer = load_here(incident, elevation="5200 m")
    assert answer.load is None
    assert "pressure altitude" in answer.because
    assert answer.as_dict()["load"] is None


def test_too_heavy_says_by_how_much(incident):
    answer = load_here(incident, elevation="4200 m", fuel="100 %")
    assert answer.load.water_kg <= 0 or answer.load.margin_kg >= 0
    if answer.load.water_kg <= 0:
        assert answer.because.startswith("No lift: ")


@pytest.mark.parametrize(
    ("keys", "words"),
    [({"line": "38 m"}, "not carried; carried: 0 m, 30 m, 45 m"), ({"fuel": "110 %"}, "up to 100 %"),
     ({"fuel": "0 %"}, "above 0 %"), ({"fuel": "50"}, "without a unit"), ({"line": "long"}, "cannot read")],
)  # fmt: skip
def test_what_cannot_be_asked(incident, keys, words):
    with pytest.raises((IncidentError, QuantityError), match=words):
        load_here(incident, elevation="600 m", **keys)


def test_unknown_is_null_for_json(incident):
    plain = load_here(incident, elevation="600 m").as_dict()
    assert not any(isinstance(v, float) and math.isnan(v) for v in plain.values())
