"""What the wind allows, held against the wind triangle by brute force; and what is told of the courses flown."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.reading.fleet import read_helicopter
from diproute.records import Gate, Wind
from diproute.sites.wind_rules import DipWind, WindLimits, courses_in_wind, gate_cautions

KT = 1852 / 3600
LIMITS = WindLimits(5 * KT, 15 * KT, 30 * KT, 15 * KT)
BEARINGS = np.arange(0.0, 360.0, 5.0)
DEMO = read_helicopter("demo-light")
UNTOLD, LEFT, RIGHT = (
    dataclasses.replace(DEMO, rotor_turns=turns) for turns in (None, "counterclockwise", "clockwise")
)


def parts(course_deg, from_deg, speed):
    """Headwind, and crosswind from the right: the wind vector on the course's own axes."""
    blows = np.radians(from_deg + 180.0)
    east, north = speed * np.sin(blows), speed * np.cos(blows)
    c = np.radians(course_deg)
    return -(east * np.sin(c) + north * np.cos(c)), -(east * np.cos(c) - north * np.sin(c))


def worst(course_deg, wind, steps=7201):
    """Tailwind and crosswind of the strongest wind over every direction that it may take."""
    top = max(wind.speed_m_s, wind.gust_m_s or 0.0)
    if wind.speed_m_s == 0 or wind.between_deg == (0.0, 360.0):
        around = np.linspace(0.0, 360.0, steps)
    elif wind.between_deg is None:
        around = np.array([wind.from_deg])
    else:
        first, last = wind.between_deg
        around = np.append(first + np.linspace(0.0, (last - first) % 360.0, steps), wind.from_deg)
    ahead, across = parts(course_deg, around, top)
    return (-ahead).max(), np.abs(across).max()


@given(
    from_deg=st.floats(0.0, 359.9),
    speed=st.one_of(st.just(0.0), st.floats(0.5, 18.0)),
    gust=st.one_of(st.none(), st.floats(0.5, 22.0)),
    swing=st.one_of(st.none(), st.just((0.0, 360.0)), st.tuples(st.integers(0, 359), st.integers(0, 359))),
    departure=st.booleans(),
)
def test_a_course_is_allowed_just_where_no_wind_that_may_blow_breaks_a_limit(from_deg, speed, gust, swing, departure):
    wind = DipWind(from_deg, speed, gust, swing)
    made = courses_in_wind(BEARINGS, wind, LIMITS, departure=departure)
    top = max(speed, gust or 0.0)
    within = top <= LIMITS.most_m_s + 1e-9 and top - speed <= LIMITS.gust_spread_m_s + 1e-9
    for i, outward in enumerate(BEARINGS):
        course = outward if departure else (outward + 180.0) % 360.0
        assert made.course_deg[i] == course
        ahead, across = parts(course, from_deg, speed)
        assert made.headwind_m_s[0, i] == pytest.approx(ahead, abs=1e-9)
        assert made.crosswind_m_s[0, i] == pytest.approx(across, abs=1e-9)
        tail, side = worst(course, wind)
        # the sampled worst is a hair under the true one
        if within and (tail > LIMITS.tailwind_m_s + 2e-6 or side > LIMITS.crosswind_m_s + 2e-6):
            assert not made.allowed[0, i]
        elif within and tail < LIMITS.tailwind_m_s - 2e-6 and side < LIMITS.crosswind_m_s - 2e-6:
            assert made.allowed[0, i]
        elif not within:
            assert not made.allowed[0, i]


def test_a_wind_at_its_limit_is_allowed_and_a_hair_more_is_not():
    for wind, allowed in [
        (DipWind(0.0, 30 * KT), True), (DipWind(0.0, 30.01 * KT), False),
        (DipWind(0.0, 10 * KT, 25 * KT), True), (DipWind(0.0, 10 * KT, 25.01 * KT), False),
    ]:  # fmt: skip
        assert courses_in_wind(BEARINGS, wind, LIMITS, departure=True).allowed[0, 0] == allowed
    for wind, allowed in [(DipWind(180.0, 5 * KT), True), (DipWind(180.0, 5.01 * KT), False)]:
        assert courses_in_wind(BEARINGS, wind, LIMITS, departure=True).allowed[0, 0] == allowed
    for wind, allowed in [(DipWind(90.0, 15 * KT), True), (DipWind(90.0, 15.01 * KT), False)]:
        assert courses_in_wind(BEARINGS, wind, LIMITS, departure=True).allowed[0, 0] == allowed


@pytest.mark.parametrize(
    ("wind", "departure", "code"),
    [
        (DipWind(0.0, 31 * KT), True, "wind-too-strong"),
        (DipWind(0.0, 10 * KT, 31 * KT), True, "wind-too-strong"),  # the total comes before the spread
        (DipWind(0.0, 10 * KT, 26 * KT), True, "gusts-too-wide"),
        (DipWind(0.0, 10 * KT), True, "wind-out"),
        (DipWind(0.0, 10 * KT), False, "wind-in"),
    ],
)
def test_the_refusal_names_the_limit(wind, departure, code):
    found = courses_in_wind(BEARINGS, wind, LIMITS, departure=departure).refused(0)
    assert found.code == code


def test_each_place_is_refused_for_its_own_wind():
    """Three places: one in the lee, one under the ridge's wind, one in gusts that stand too far above a light wind."""
    wind = DipWind(np.array([0.0, 90.0, 180.0]), np.array([10 * KT, 35 * KT, 1 * KT]), 17 * KT)
    made = courses_in_wind(BEARINGS, wind, LIMITS, departure=True)
    assert [made.refused(i).code for i in range(3)] == ["wind-out", "wind-too-strong", "gusts-too-wide"]
    assert [row.any() for row in made.allowed] == [True, False, False]
    assert made.refused(1).values["strongest_m_s"] == pytest.approx(35 * KT)  # the gust is below that wind


def test_an_unknown_wind_allows_nothing():
    with pytest.raises(RangeError, match="wind not known"):
        courses_in_wind(BEARINGS, DipWind(0.0, math.nan), LIMITS, departure=True)


def gate(kind="departure", relative=0.0, speed=15 * KT, slope_deg=7.125, course=40.0):
    """A gate whose wind comes from an angle off the nose, clockwise."""
    ahead, across = parts(course, course + relative, speed)
    slope = math.tan(math.radians(slope_deg))
    return Gate("drop", kind, course, 5.0, slope, 20.0, 150.0, 200.0, float(ahead), float(across))


def told(*args, wind=None, craft=LEFT, loaded=False, **keys):
    made = gate(*args, **keys)
    wind = wind or Wind((0.0,), (0.0,), (math.hypot(made.headwind_m_s, made.crosswind_m_s),))
    return gate_cautions(made, craft, wind, loaded=loaded)


def codes(found):
    return {finding.code for finding in found}


# FAA-H-8083-21B chapter 11 and AC 90-95 (1995), references.md 12: 285 to 315 degrees at 10 to 30 kt, 120 to 240,
# 210 to 330, for a rotor that turns counterclockwise; the mirror for the other way (from memory)
@pytest.mark.parametrize("relative", range(0, 360, 5))
@pytest.mark.parametrize(("craft", "sign"), [(LEFT, 1), (RIGHT, -1)])
def test_the_sectors_of_unanticipated_yaw(relative, craft, sign):
    angle = sign * relative % 360
    assert ("yaw-sector" in codes(told(relative=relative, craft=craft))) == (120 <= angle <= 330)


def test_a_rotor_that_nobody_described_has_the_sectors_of_both():
    for relative in range(0, 360, 5):
        found = [one for one in told(relative=relative, craft=UNTOLD) if one.code == "yaw-sector"]
        assert bool(found) == (30 <= relative <= 330)
        assert not any(one.values["stated"] for one in found)


def test_light_winds_have_no_sectors_but_their_gusts_do():
    assert "yaw-sector" not in codes(told(relative=180.0, speed=9.9 * KT))
    assert "yaw-sector" in codes(told(relative=180.0, speed=10.1 * KT))
    assert "yaw-sector" in codes(told(relative=180.0, speed=5 * KT, wind=Wind((0.0,), (0.0,), (5 * KT,), 12 * KT)))


def test_a_wind_that_may_swing_into_a_sector_is_told():
    """On a course of 040 a wind from 050 comes from 10 degrees off the nose."""
    steady = {"relative": 10.0, "speed": 12 * KT}
    swung = [
        told(**steady, wind=Wind((0.0,), (50.0,), (12 * KT,), between_deg=between))
        for between in ((20.0, 80.0), (20.0, 165.0), (320.0, 80.0), (0.0, 360.0))
    ]
    assert ["yaw-sector" in codes(found) for found in swung] == [False, True, True, True]


def test_gusts_out_of_a_calm_come_from_anywhere():
    found = told(speed=0.0, wind=Wind((0.0,), (0.0,), (0.0,), 14 * KT))
    assert codes(found) == {"yaw-sector"}


# NZ TAIC 08-005 (references.md 12): 11 to 21 kt of tailwind on final, hover out of ground effect, yaw to the right
@pytest.mark.parametrize("speed_kt", [11, 16, 21])
def test_the_tailwind_on_final_of_an_accident_is_told(speed_kt):
    found = told("arrival", relative=180.0, speed=speed_kt * KT, loaded=True)
    assert codes(found) == {"tailwind-loaded", "yaw-sector"}


# FAA-H-8083-21B chapters 10 and 11: a steep approach is one of 13 to 15 degrees; with a tailwind settling with power
@pytest.mark.parametrize(
    ("kind", "relative", "slope_deg", "is_told"),
    [
        ("arrival", 180.0, 13.1, True), ("arrival", 180.0, 12.9, False), ("arrival", 0.0, 15.0, False),
        ("departure", 180.0, 15.0, False),
    ],
)  # fmt: skip
def test_a_steep_approach_with_a_tailwind_is_told(kind, relative, slope_deg, is_told):
    found = told(kind, relative=relative, speed=4 * KT, slope_deg=slope_deg)
    assert ("steep-tailwind" in codes(found)) == is_told


def test_a_tailwind_is_told_of_loads_alone_and_into_wind_nothing_is():
    assert codes(told(relative=180.0, speed=4 * KT)) == set()
    assert codes(told(relative=180.0, speed=4 * KT, loaded=True)) == {"tailwind-loaded"}
    assert codes(told(relative=0.0, speed=20 * KT, loaded=True)) == set()
    assert codes(told("arrival", relative=89.0, speed=4 * KT, loaded=True, slope_deg=15.0)) == set()
