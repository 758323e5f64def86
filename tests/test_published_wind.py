"""Numbers from print for the wind triangle. Nothing in this file was computed by diproute."""

import math

import pytest

from diproute.physics.wind import wind_triangle

KT = 1852 / 3600


# FAA-H-8083-25A chapter 15, Fig. 15-21: ground speed 88 kt (read), heading about 076 (from memory)
def test_handbook_figure_15_21():
    ground_speed, correction = wind_triangle(90, 120 * KT, 45, 40 * KT)
    assert ground_speed / KT == pytest.approx(88, abs=0.5)
    assert 90 + correction == pytest.approx(76, abs=0.5)


# Flight manual of the 1940s, Smithsonian transcription NASM.XXXX.0136, Example 16, by slide rule: WCA +10, GS 146 mph
def test_slide_rule_example_16():
    ground_speed, correction = wind_triangle(94, 165 * 0.44704, 154, 34 * 0.44704)
    assert ground_speed / 0.44704 == pytest.approx(146, abs=1)
    assert correction == pytest.approx(10, abs=1)


# Same manual, Example 15: track 236, wind from the right, correction of 8 degrees is added: heading 244
def test_slide_rule_example_15_sign():
    airspeed = 100.0
    _, correction = wind_triangle(236, airspeed, 236 + 90, airspeed * math.sin(math.radians(8)))
    assert 236 + correction == pytest.approx(244, abs=1e-9)


# Computed from sin WCA = (W/TAS) sin(WD − TC), GS = TAS cos WCA − W cos(WD − TC); two decimals
@pytest.mark.parametrize(
    ("course", "airspeed", "wind_from", "wind", "correction", "heading", "ground_speed"),
    [
        (90, 120, 45, 40, -13.63, 76.37, 88.33),
        (0, 90, 270, 10, -6.38, 353.62, 89.44),
        (94, 165, 154, 34, 10.28, 104.28, 145.35),
        (360, 100, 45, 20, 8.13, 8.13, 84.85),
        (180, 100, 45, 20, -8.13, 171.87, 113.14),
        (90, 100, 270, 20, 0, 90, 120),
        (270, 100, 270, 20, 0, 270, 80),
    ],
)
def test_wind_triangles(course, airspeed, wind_from, wind, correction, heading, ground_speed):
    speed, angle = wind_triangle(course, airspeed * KT, wind_from, wind * KT)
    assert angle == pytest.approx(correction, abs=0.01)
    assert (course + angle) % 360 == pytest.approx(heading, abs=0.01)
    assert speed / KT == pytest.approx(ground_speed, abs=0.01)


# US Navy flight training P-203, Fig. 4.6-2 (the printed answer was not seen): heading 052 at 250 kt TAS made good a
# track of 045 and 55 NM in 15 min. The wind of that drift, put back into the triangle, must give heading and speed.
def test_navy_inverse_problem():
    def vector(angle, length):
        return length * math.sin(math.radians(angle)), length * math.cos(math.radians(angle))

    ground, air = vector(45, 220), vector(52, 250)
    east, north = ground[0] - air[0], ground[1] - air[1]
    wind_from = math.degrees(math.atan2(-east, -north)) % 360
    speed, correction = wind_triangle(45, 250 * KT, wind_from, math.hypot(east, north) * KT)
    assert speed / KT == pytest.approx(220, abs=1e-6)
    assert 45 + correction == pytest.approx(52, abs=1e-6)
