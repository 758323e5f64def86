import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.hover import ground_effect, ideal_power, induced_velocity, thrust_for_power

thrusts, densities, radii = st.floats(1000, 1e5), st.floats(0.5, 1.4), st.floats(3, 12)


# the way back
@given(thrusts, densities, radii, st.floats(0.4, 0.9))
def test_power_and_thrust_undo_each_other(thrust, density, radius, merit):
    power = ideal_power(thrust, density, radius) / merit
    assert thrust_for_power(power, density, radius, merit) == pytest.approx(thrust, rel=1e-12)


# independent route: momentum and energy of the far wake, which moves at twice the induced velocity
@given(thrusts, densities, radii)
def test_momentum_and_energy_of_the_wake(thrust, density, radius):
    velocity = induced_velocity(thrust, density, radius)
    flow = density * np.pi * radius**2 * velocity
    assert flow * 2 * velocity == pytest.approx(thrust)
    assert flow * (2 * velocity) ** 2 / 2 == pytest.approx(ideal_power(thrust, density, radius))


# laws
@given(st.floats(1e4, 1e6), densities, radii, st.floats(0.001, 0.1))
def test_thinner_air_never_lifts_more(power, density, radius, less):
    assert thrust_for_power(power, density - less, radius, 0.7) < thrust_for_power(power, density, radius, 0.7)


@given(st.floats(0.5, 50), st.floats(0.1, 10))
def test_ground_effect_fades_upward_and_never_costs(heights, more):
    assert ground_effect(heights * 5, 5) > ground_effect((heights + more) * 5, 5) > 1


def test_shapes_broadcast_and_nan_stays():
    answer = ideal_power(np.array([[20000.0], [np.nan]]), [1.2, 1.0], 5)
    assert answer.shape == (2, 2)
    np.testing.assert_array_equal(np.isnan(answer), [[False, False], [True, True]])
    assert type(induced_velocity(20000.0, 1.2, 5.0)) is float
    assert np.isnan(ground_effect(np.nan, 5))
    assert ideal_power(0, 1.2, 5) == 0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: induced_velocity(20000, 0.002378, 5), r"density_kg_m3: got 0\.002378, .* slug"),
        (lambda: induced_velocity(-1, 1.2, 5), r"thrust_n: got -1"),
        (lambda: ideal_power(20000, 1.2, 36), r"rotor_radius_m: got 36, .* feet, or the diameter"),
        (lambda: thrust_for_power(3e5, 1.2, 5, 70), r"figure_of_merit: got 70, .* per cent"),
        (lambda: ground_effect(2, 5), r"in radii: got 0\.4"),
    ],
)
def test_slips_are_named(call, message):
    with pytest.raises(RangeError, match=message):
        call()
