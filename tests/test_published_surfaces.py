"""Published obstacle surfaces. Nothing in this file was computed by diproute."""

import math

import pytest

from diproute import constants as k
from diproute.sites.surfaces import published_surface

FT = 0.3048


# 14 CFR 77.23 (eCFR of 2026-04-05): 4000 ft long, as wide as the primary surface at its start, 500 ft at its end, 8:1
@pytest.mark.parametrize("circle_ft", [75, 90, 110])
def test_far_77_approach_surface(circle_ft):
    surface = published_surface("8:1", circle_ft * FT, 10.7)
    assert surface.length_m / FT == pytest.approx(4000)
    assert 2 * surface.half_width_m / FT == pytest.approx(circle_ft)
    assert 2 * (surface.half_width_m + surface.spread * surface.length_m) / FT == pytest.approx(500)
    assert surface.rise(surface.length_m) / FT == pytest.approx(500)  # 4000 ft at 8:1
    assert surface.start_m == pytest.approx(circle_ft * FT / 2)


# From 77.23, computed: half-width at distance x with primary width W (ft) is W/2 + (250 - W/2) x/4000
@pytest.mark.parametrize(("width_ft", "x_ft"), [(75, 0), (75, 1000), (90, 2500), (110, 4000)])
def test_far_77_width_on_the_way(width_ft, x_ft):
    surface = published_surface("8:1", width_ft * FT, 10.7)
    wanted = width_ft / 2 + (250 - width_ft / 2) * x_ft / 4000
    assert (surface.half_width_m + surface.spread * x_ft * FT) / FT == pytest.approx(wanted)


# 14 CFR 77.23: transitional surface 2:1, 250 ft
def test_far_77_transitional_surface():
    assert k.SIDE_SLOPE.value == 1 / 2
    assert k.SIDE_LENGTH_M.value / FT == pytest.approx(250)


# ICAO Annex 14 Volume II, Table 4-1 (4th edition, 2013), from memory; the rises are computed
@pytest.mark.parametrize(
    ("name", "length_m", "rise_m"), [("icao-a", 3386, 152.37), ("icao-b", 1075, 152.40), ("icao-c", 1220, 152.50)]
)
def test_icao_slope_categories(name, length_m, rise_m):
    surface = published_surface(name, 27.4, 12.0)
    assert surface.length_m == length_m
    assert surface.rise(length_m) == pytest.approx(rise_m, abs=0.005)
    assert surface.spread == 0.10  # divergence by day
    assert 2 * surface.widest_m == pytest.approx(7 * 12.0)  # outer width by day


# The same table, from memory: category B climbs at 8 % for 245 m, then at 16 % for 830 m
def test_icao_category_b_bends():
    surface = published_surface("icao-b", 27.4, 12.0)
    assert surface.rise(245) == pytest.approx(0.08 * 245)
    assert surface.rise(245 + 830) - surface.rise(245) == pytest.approx(0.16 * 830)


# Computed: 1:8 is 7.125 degrees, 4.5 % is 2.577, 16 % is 9.090
@pytest.mark.parametrize(("name", "angle"), [("8:1", 7.125), ("icao-a", 2.577), ("icao-c", 7.125)])
def test_slopes_as_angles(name, angle):
    assert math.degrees(math.atan(published_surface(name, 27.4, 12.0).slope)) == pytest.approx(angle, abs=0.0005)


def test_icao_category_b_upper_slope_as_an_angle():
    assert math.degrees(math.atan(published_surface("icao-b", 27.4, 12.0).slope_beyond)) == pytest.approx(
        9.090, abs=0.0005
    )


# NWCG "Helicopter Landing Zone Selection": safety circles of 110, 90 and 75 ft, 33.5, 27.4 and 22.9 m
@pytest.mark.parametrize(
    ("constant", "ft", "m"),
    [(k.HOVER_CIRCLE_TYPE_1_M, 110, 33.5), (k.HOVER_CIRCLE_TYPE_2_M, 90, 27.4), (k.HOVER_CIRCLE_TYPE_3_M, 75, 22.9)],
)
def test_safety_circles(constant, ft, m):
    assert constant.value / FT == pytest.approx(ft)
    assert constant.value == pytest.approx(m, abs=0.05)


# US Army helicopter-landing-zone material, from memory: 18 inches of height counts as an obstacle
def test_what_counts_as_an_obstacle():
    assert k.OBSTACLE_M.value / 0.0254 == pytest.approx(18)
