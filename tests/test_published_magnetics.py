"""Numbers from print for the World Magnetic Model 2025. Nothing in this file was computed by diproute."""

from datetime import datetime, timedelta

import pytest
from pygeomag import GeoMag
from pygeomag.wmm.wmm_2025 import WMM_2025

from diproute.physics.magnetics import declination

# NOAA/CIRES, WMM2025_FINAL_TEST_VALUES.txt: year, km above the ellipsoid, lat, lon, D, I, H, X, Y, Z, F, dD/yr
ROWS = [
    (2025.0, 65, 43, 93, 0.50, 64.10, 24301, 24300, 211, 50038, 55627, -0.02),
    (2025.0, 51, -33, 109, -5.49, -67.50, 21838, 21738, -2090, -52710, 57055, 0.07),
    (2025.5, 44, 33, -118, 11.10, 57.89, 23679, 23236, 4558, 37728, 44543, -0.08),
    (2025.5, 63, 26, 81, 0.51, 41.07, 34804, 34803, 308, 30332, 46167, 0.02),
    (2025.5, 22, -37, 140, 9.28, -68.62, 21689, 21405, 3499, -55398, 59492, 0.03),
    (2026.0, 69, 23, 63, 1.17, 35.92, 34566, 34559, 708, 25043, 42685, 0.01),
    (2026.5, 19, 29, 66, 2.24, 46.04, 32750, 32725, 1278, 33958, 47178, 0.02),
    (2027.5, 8, 62, 53, 19.39, 76.67, 12998, 12260, 4315, 54850, 56369, 0.10),
    (2028.5, 28, 54, -120, 15.43, 73.74, 15286, 14735, 4067, 52394, 54578, -0.15),
    (2029.0, 41, 42, -19, -4.13, 56.44, 24503, 24440, -1763, 36930, 44320, 0.18),
]


def moment(year):
    start = datetime(int(year), 1, 1)
    return start + (year - int(year)) * (datetime(int(year) + 1, 1, 1) - start)


@pytest.mark.parametrize("row", ROWS)
def test_declination(row):
    year, km, lat, lon, degrees, *_, change = row
    assert declination(lat, lon, km * 1000, moment(year)).deg == pytest.approx(degrees, abs=0.01)
    later = declination(lat, lon, km * 1000, moment(year) + timedelta(days=182.625)).deg
    earlier = declination(lat, lon, km * 1000, moment(year)).deg
    assert (later - earlier) * 2 == pytest.approx(change, abs=0.01)


# The other columns are not the package's: they check the library that it stands on.
@pytest.mark.parametrize("row", ROWS)
def test_field(row):
    year, km, lat, lon, _, dip, horizontal, north, east, down, total, _ = row
    field = GeoMag(coefficients_data=WMM_2025).calculate(glat=lat, glon=lon, alt=km, time=year)
    assert field.i == pytest.approx(dip, abs=0.01)
    assert (field.h, field.x, field.y) == pytest.approx((horizontal, north, east), abs=1)
    assert (field.z, field.f) == pytest.approx((down, total), abs=1)


# Same file: a row inside the blackout zone (H 1504 nT, I 88.47, F 56214)
def test_blackout_row():
    there = declination(89, -121, 28000, datetime(2025, 1, 1))
    assert there.deg == pytest.approx(-99.77, abs=0.01)
    assert there.zone == "blackout"
    assert there.horizontal_nt == pytest.approx(1504, abs=0.5)


# WMM2025 technical report, Table 6, as restated by others
def test_report_table_6():
    assert declination(80, 0, 0, datetime(2025, 1, 1)).deg == pytest.approx(1.28, abs=0.01)


# Reference page of a numerical toolbox: 42.283 N 71.35 W, 1 km above the ellipsoid, 4 July 2028
def test_toolbox_example():
    assert declination(42.283, -71.35, 1000, datetime(2028, 7, 4)).deg == pytest.approx(-13.6891, abs=0.0001)


# Error model of the WMM2025's issuer: sigma = sqrt(0.26² + (5417/H)²), at the two printed rows with that H
@pytest.mark.parametrize(("row", "sigma"), [(ROWS[2], 0.346), (ROWS[7], 0.491)])
def test_sigma(row, sigma):
    year, km, lat, lon, *_ = row
    assert declination(lat, lon, km * 1000, moment(year)).sigma_deg == pytest.approx(sigma, abs=0.0005)


# The same model at the edges of the zones: 0.940 degrees at 6000 nT, 2.721 at 2000 nT (computed)
@pytest.mark.parametrize("lon", [-120, -60, 0, 150])
def test_sigma_at_the_edges_of_the_warning_zones(lon):
    seen = set()
    for tenth in range(600, 900, 5):
        there = declination(tenth / 10, lon, 0, datetime(2027, 1, 1))
        seen.add(there.zone)
        low, high = {None: (0, 0.940), "caution": (0.940, 2.721), "blackout": (2.721, 180)}[there.zone]
        assert low - 0.0005 <= there.sigma_deg <= high + 0.0005
    assert {None, "caution"} <= seen
