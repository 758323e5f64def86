import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.wind import crosswind, headwind, wind_at, wind_triangle

directions = st.floats(0, 360)


def vector(angle_deg, length):
    return np.array([length * np.sin(np.radians(angle_deg)), length * np.cos(np.radians(angle_deg))])


# independent route: the vectors must close
@given(directions, st.floats(25, 70), directions, st.floats(0, 24))
def test_air_vector_and_wind_make_the_ground_vector(course, airspeed, wind_from, wind):
    ground_speed, correction = wind_triangle(course, airspeed, wind_from, wind)
    ground = vector(course + correction, airspeed) - vector(wind_from, wind)
    np.testing.assert_allclose(ground, vector(course, ground_speed), atol=1e-9)


@given(directions, directions, st.floats(0, 50))
def test_components_hold_the_whole_wind(course, wind_from, wind):
    assert np.hypot(headwind(course, wind_from, wind), crosswind(course, wind_from, wind)) == pytest.approx(wind)


@given(directions, st.floats(30, 60), directions, st.floats(0.1, 29))
def test_wind_never_averages_out(course, airspeed, wind_from, wind):
    out, _ = wind_triangle(course, airspeed, wind_from, wind)
    back, _ = wind_triangle(course + 180, airspeed, wind_from, wind)
    assert 1 / out + 1 / back >= 2 / airspeed * (1 - 1e-12)


def test_signs():
    assert headwind(0, 0, 10) == pytest.approx(10)
    assert headwind(0, 180, 10) == pytest.approx(-10)
    assert crosswind(0, 90, 10) == pytest.approx(10)  # from the right
    assert crosswind(0, 270, 10) == pytest.approx(-10)
    assert wind_triangle(0, 50, 90, 10)[1] > 0  # corrected to the right


@pytest.mark.parametrize(
    ("airspeed", "wind_from", "wind"),
    [
        (10, 90, 20),  # blown off whatever the heading
        (10, 0, 20),  # blown backwards
        (10, 0, 10),  # stands still
        (0, 0, 0),  # does not fly
    ],
)
def test_no_solution_is_nan(airspeed, wind_from, wind):
    assert np.isnan(wind_triangle(0, airspeed, wind_from, wind)).all()


def test_the_slowest_way_forward_is_flown():
    assert wind_triangle(0, 10, 0, 9.9)[0] == pytest.approx(0.1)


def test_shapes_broadcast_and_nan_stays():
    speed, correction = wind_triangle(np.arange(0, 360, 90)[:, None], [40.0, np.nan], 90, 10)
    assert speed.shape == correction.shape == (4, 2)
    assert np.isnan(speed[:, 1]).all()
    assert np.isfinite(speed[:, 0]).all()
    assert type(headwind(0, 0, 5)) is float
    assert np.isnan(crosswind(0, np.nan, 5))


# wind by level
LEVELS = ([500.0, 1500.0, 3000.0], [240.0, 280.0, 10.0], [5.0, 10.0, 20.0])


def test_levels_give_themselves():
    from_deg, speed = wind_at(*LEVELS, LEVELS[0])
    np.testing.assert_allclose(from_deg, LEVELS[1])
    np.testing.assert_allclose(speed, LEVELS[2])


@given(st.floats(0, 1))
def test_vector_runs_straight_between_levels(share):
    from_deg, speed = wind_at(*LEVELS, 1500 + share * 1500)
    straight = (1 - share) * vector(280, 10) + share * vector(10, 20)
    np.testing.assert_allclose(vector(from_deg, speed), straight, atol=1e-9)


def test_wind_turns_through_north_and_not_round_the_compass():
    from_deg, speed = wind_at([0, 1000], [350, 10], [10, 10], 500)
    assert min(from_deg, 360 - from_deg) == pytest.approx(0, abs=1e-9)
    assert speed == pytest.approx(10 * np.cos(np.radians(10)))


def test_held_outside_the_table():
    from_deg, speed = wind_at(*LEVELS, [-100, 9000])
    np.testing.assert_allclose(from_deg, [240, 10])
    np.testing.assert_allclose(speed, [5, 20])


def test_one_level_is_one_wind_everywhere():
    from_deg, speed = wind_at([1200.0], [240.0], [6.0], np.array([[0.0, 4000.0, np.nan]]))
    np.testing.assert_array_equal(from_deg, [[240, 240, np.nan]])
    np.testing.assert_array_equal(speed, [[6, 6, np.nan]])
    assert wind_at([1200.0], [360.0], [6.0], 0.0) == (0.0, 6.0)


def test_levels_may_lie_close_together():
    _, speed = wind_at([0, 0.5], [240, 240], [5, 10], 0.25)
    assert speed == pytest.approx(7.5)


def test_unknown_height_is_unknown_wind():
    assert np.isnan(wind_at(*LEVELS, np.nan)).all()


@pytest.mark.parametrize(
    ("table", "message"),
    [
        (([], [], []), "got 0 levels"),
        (([0, 1000], [240], [5, 10]), "got 2 levels, 1 directions, 2 speeds"),
        (([1000, 0], [240, 250], [5, 10]), "do not rise"),
        (([0, 0], [240, 250], [5, 10]), "do not rise"),
        (([0, 1000], [240, np.nan], [5, 10]), "not known"),
        (([0, np.nan], [240, 250], [5, 10]), "not known"),
        (([0, 1000], [240, 250], [np.nan, 10]), "not known"),
        (([np.nan], [240], [5]), "not known"),
        (([[0, 1000]], [[240, 250]], [[5, 10]]), "give each level one"),
        (([0, 1000], [240, 250], [5, 150]), "wind_m_s: got 150, .* knots"),
        (([0, 1000], [240, 250], [5, -1]), "wind_m_s: got -1"),
    ],
)
def test_bad_tables_are_refused(table, message):
    with pytest.raises(RangeError, match=message):
        wind_at(*table, 500)


def test_slips_are_named():
    with pytest.raises(RangeError, match=r"airspeed_m_s: got 160, .* knots"):
        wind_triangle(0, 160, 0, 10)
    with pytest.raises(RangeError, match=r"direction: got 800, wanted -360 to 720 deg"):
        headwind(0, 800, 10)
