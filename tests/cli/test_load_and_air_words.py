"""The flags of ``load`` and ``air``: each is named when it is wrong, and the answer comes in the units asked for."""

import pytest
from small_incident import write_incident


@pytest.fixture(scope="module")
def incident(tmp_path_factory):
    return write_incident(tmp_path_factory.mktemp("words"))


def test_load_in_either_units(run, incident):
    asked = ("load", incident, "--elevation", "600 m")
    us, metric = (run(*asked, "--display", display).out for display in ("us", "metric"))
    assert "computed gross weight (HOGE chart)" in us
    assert " ft" in us
    assert " lb" in us
    assert " ft" not in metric
    assert " kg" in metric


def test_load_says_which_fuel_it_took(run, incident):
    asked = ("load", incident, "--elevation", "600 m")
    assert "full tanks: the incident leaves the fuel to the plan" in run(*asked).out
    assert "50 % of full tanks, as asked" in run(*asked, "--fuel", "50 %").out


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (("load", "--elevation", "5883"), "--elevation"),
        (("load", "--elevation", "600 m", "--fuel", "50"), "--fuel"),
        (("load", "--elevation", "600 m", "--line", "long"), "--line"),
        (("air", "--temperature", "21"), "--temperature"),
        (("air", "--elevation", "5883"), "--elevation"),
    ],
)
def test_a_wrong_value_names_its_flag(run, incident, words, wanted):
    ran = run(words[0], incident, *words[1:])
    assert ran.code == 2
    assert wanted in ran.err
    assert "without a unit" in ran.err or "cannot read" in ran.err


def test_air_without_a_file_names_what_is_missing(run):
    assert "--temperature, --qnh missing" in run("air", "--elevation", "5883 ft").err


def test_air_takes_values_over_the_file(run, incident):
    assert "35 °C" in run("air", incident, "--temperature", "35 degC", "--display", "metric").out
