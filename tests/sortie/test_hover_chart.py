import math

import numpy as np
import pytest
from demo_flight import ALTITUDES_M, FT, LIGHT, TEMPERATURES_K, constant_power_chart
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from diproute.errors import RangeError
from diproute.physics.atmosphere import air_density, standard_pressure
from diproute.records import HoverChart, HoverCurve
from diproute.sortie.hover_chart import hover_limit, why_no_answer
from diproute.wording import Reader, say

NAN = math.nan
UNEVEN = HoverChart(
    (
        HoverCurve(263.15, (0.0, 1000.0, 3000.0), (2800.0, 2700.0, 2400.0)),
        HoverCurve(283.15, (0.0, 2000.0), (2750.0, 2450.0)),
        HoverCurve(303.15, (0.0, 500.0, 1500.0, 2500.0), (2700.0, 2650.0, 2500.0, NAN)),
    )
)
heights = st.floats(ALTITUDES_M[0], ALTITUDES_M[-1])
kelvins = st.floats(TEMPERATURES_K[0], TEMPERATURES_K[-1])


def test_the_chart_answers_its_own_points():
    for curve in LIGHT.hoge.curves:
        got = hover_limit(LIGHT.hoge, curve.pressure_altitude_m, curve.temperature_k)
        np.testing.assert_array_equal(got, curve.mass_kg)


def test_same_as_scipy_on_a_regular_grid():
    table = np.array([curve.mass_kg for curve in LIGHT.hoge.curves])
    twin = RegularGridInterpolator((TEMPERATURES_K, ALTITUDES_M), table)
    rng = np.random.default_rng(5)
    t, h = rng.uniform(TEMPERATURES_K[0], TEMPERATURES_K[-1], 500), rng.uniform(ALTITUDES_M[0], ALTITUDES_M[-1], 500)
    np.testing.assert_allclose(hover_limit(LIGHT.hoge, h, t), twin(np.stack([t, h], axis=1)), rtol=1e-13)


def test_uneven_curves_by_hand():
    # 5 degC, 1500 m. -10 degC curve: 2700 - 300 * 500/2000 = 2625. 10 degC curve: 2750 - 300 * 1500/2000 = 2525.
    # Three quarters of the way: 2625 - 0.75 * 100 = 2550.
    assert float(hover_limit(UNEVEN, 1500.0, 278.15)) == pytest.approx(2550.0)


def test_shapes_broadcast():
    assert hover_limit(UNEVEN, np.zeros((3, 1)), np.full(4, 290.0)).shape == (3, 4)
    assert hover_limit(UNEVEN, 0.0, 290.0).shape == ()


@pytest.mark.parametrize(
    ("height_m", "kelvin", "says"),
    [
        (500.0, 304.15, "31 °C is above the chart's hottest curve, 30 °C"),
        (500.0, 258.15, "-15 °C is below the chart's coldest curve, -10 °C"),
        (-20.0, 283.15, "pressure altitude -20 m is below the foot of the chart's 10 °C curve, 0 m"),
        (2100.0, 278.15, "pressure altitude 2\u202f100 m is above the top of the chart's 10 °C curve, 2\u202f000 m"),
        (3100.0, 263.15, "pressure altitude 3\u202f100 m is above the top of the chart's -10 °C curve, 3\u202f000 m"),
        (2000.0, 293.15, "the chart has an empty cell at pressure altitude 2\u202f000 m and 20 °C"),
        (NAN, 293.15, "the pressure altitude or the temperature is not known, and the chart needs both"),
        (500.0, NAN, "the pressure altitude or the temperature is not known, and the chart needs both"),
    ],
)
def test_no_answer_outside_and_the_edge_is_named(height_m, kelvin, says):
    assert np.isnan(hover_limit(UNEVEN, height_m, kelvin))
    assert say(why_no_answer(UNEVEN, height_m, kelvin), Reader("metric")) == says


def test_nothing_to_say_where_the_chart_answers():
    assert why_no_answer(UNEVEN, 500.0, 290.0) is None


def test_feet_for_those_who_read_feet():
    assert "6\u202f890 ft" in say(why_no_answer(UNEVEN, 2100.0, 278.15), Reader("us"))
    assert "10 °C" in say(why_no_answer(UNEVEN, 2100.0, 278.15), Reader("us"))  # as the chart's page has it


def test_on_a_curve_the_neighbour_has_no_say():
    # The 30 degC curve is empty at 2000 m, the 10 degC curve answers there.
    assert float(hover_limit(UNEVEN, 2000.0, 283.15)) == 2450.0
    assert np.isnan(hover_limit(UNEVEN, 2000.0, 283.16))
    # The -10 degC curve begins at 1000 m here, the 10 degC curve at 0 m.
    late = HoverChart((HoverCurve(263.15, (1000.0, 3000.0), (2700.0, 2400.0)), UNEVEN.curves[1]))
    assert float(hover_limit(late, 0.0, 283.15)) == 2750.0
    # The coldest curve answers at 2500 m, where the next one has ended.
    assert float(hover_limit(UNEVEN, 2500.0, 263.15)) == 2475.0
    # The last known point beside an empty cell still stands.
    assert float(hover_limit(UNEVEN, 1500.0, 303.15)) == 2500.0


def test_curves_may_lie_close_together():
    near = HoverChart(
        (HoverCurve(300.0, (0.0, 9.0), (2700.0, 2600.0)), HoverCurve(300.5, (0.0, 9.0), (2500.0, 2400.0)))
    )
    assert float(hover_limit(near, 0.0, 300.25)) == pytest.approx(2600.0)


def test_a_single_curve_answers_at_its_temperature_only():
    alone = HoverChart(UNEVEN.curves[:1])
    assert float(hover_limit(alone, 1000.0, 263.15)) == 2700.0
    assert np.isnan(hover_limit(alone, 1000.0, 263.16))


def test_between_points_no_more_than_the_docstring_says():
    # Constant power on a chart of 4000 ft by 20 degC; computed, sigma^(1/3) is the exact answer.
    coarse = constant_power_chart(tuple(4000 * FT * n for n in range(4)), tuple(253.15 + 20 * n for n in range(4)))
    h, t = np.meshgrid(np.linspace(0, 12000 * FT, 97), np.linspace(253.15, 313.15, 61))
    exact = 2900.0 * (air_density(standard_pressure(h), t) / 1.225) ** (1 / 3)
    above = hover_limit(coarse, h, t) / exact - 1
    assert above.min() > -1e-12
    assert 0.0004 < above.max() < 0.0005


@given(heights, heights, kelvins, kelvins)
def test_higher_or_hotter_never_lifts_more(h1, h2, t1, t2):
    low, high = sorted((h1, h2))
    cool, hot = sorted((t1, t2))
    assert hover_limit(LIGHT.hoge, high, hot) <= hover_limit(LIGHT.hoge, low, cool) + 1e-9


@pytest.mark.parametrize(
    ("curves", "says"),
    [
        ((), "without a curve"),
        ((HoverCurve(300.0, (0.0,), (1.0,)), HoverCurve(290.0, (0.0,), (1.0,))), "do not rise"),
        ((HoverCurve(300.0, (0.0,), (1.0,)), HoverCurve(300.0, (0.0,), (1.0,))), "do not rise"),
        ((HoverCurve(300.0, (0.0, 0.0), (1.0, 1.0)),), "do not rise"),
        ((HoverCurve(300.0, (0.0, 500.0, 400.0), (1.0, 1.0, 1.0)),), "do not rise"),
        ((HoverCurve(300.0, (0.0, 1.0), (1.0,)),), "2 altitudes and 1 masses"),
        ((HoverCurve(300.0, (), ()),), "0 altitudes"),
    ],
)
def test_a_chart_that_cannot_be_read_is_refused(curves, says):
    with pytest.raises(RangeError, match=says):
        hover_limit(HoverChart(curves), 0.0, 300.0)
