"""METAR examples decoded by those who printed them. Nothing in this file was computed by diproute.

The tenths and the altimeter settings are as printed in the reports themselves; where a row is marked "as restated by",
the page is a secondary one. Tolerance: the last figure printed.
"""

from datetime import UTC, datetime

import pytest

from diproute.reading.metar import read_metar

KT = 1852 / 3600
INHG = 3386.389  # NIST SP 811, Appendix B, conventional inch of mercury

# report, its time, from (None: not asked), knots, gust, between, temperature, dew point, QNH [Pa], its tolerance
PRINTED = [
    # NWS Little Rock, METAR page: calm, 7/5, 30.13
    (
        "KLIT 200953Z 00000KT 4SM -RA BR OVC030 07/05 A3013 RMK AO2 SLP205",
        (20, 9, 53), 0, 0, None, None, 7.0, 5.0, 30.13 * INHG,
    ),
    # as restated by a pilot training page: 040 true 11 kt, -2/-2, 30.06
    (
        "METAR KTTN 051853Z 04011KT 1/2SM VCTS SN FZFG BKN003 OVC010 M02/M02 A3006",
        (5, 18, 53), 40, 11, None, None, -2.0, -2.0, 30.06 * INHG,
    ),
    # as restated by a weather coding page: 180/14G18, 15.6/-2.2, 30.08
    (
        "KMEM 230853Z AUTO 18014G18KT 10SM CLR 16/M02 A3008 RMK AO2 SLP117 T01561022",
        (23, 8, 53), 180, 14, 18, None, 15.6, -2.2, 30.08 * INHG,
    ),
    # the same page: 290/17G27, -1.7/-2.2, 29.61
    (
        "KBIL 162256Z 29017G27KT 10SM FEW070 SCT085 BKN110 M02/M02 A2961 RMK T10171022",
        (16, 22, 56), 290, 17, 27, None, -1.7, -2.2, 29.61 * INHG,
    ),
    # the same page: 320/10 varying between 280 and 340, 19.4/14.4
    (
        "KABQ 100156Z 32010KT 280V340 10SM TS FEW033 BKN075CB OVC100 19/14 A2999 RMK T01940144",
        (10, 1, 56), 320, 10, None, (280, 340), 19.4, 14.4, 29.99 * INHG,
    ),
    # the same page: calm, 21/19, QNH 1013
    (
        "SVVA 171100Z 00000KT 9999 FEW016 BKN250 21/19 Q1013 NOSIG",
        (17, 11, 0), 0, 0, None, None, 21.0, 19.0, 101300.0,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "time", "from_deg", "kt", "gust", "between", "celsius", "dew", "qnh_pa"), PRINTED)
def test_printed_reports(text, time, from_deg, kt, gust, between, celsius, dew, qnh_pa):
    report = read_metar(text, datetime(2026, 8, 15, tzinfo=UTC))
    assert (report.observed.day, report.observed.hour, report.observed.minute) == time
    assert report.wind.from_deg == from_deg
    assert report.wind.speed_m_s / KT == pytest.approx(kt, abs=1e-6)
    assert report.wind.gust_m_s == (None if gust is None else pytest.approx(gust * KT, abs=1e-6))
    assert report.wind.between_deg == between
    assert report.temperature_k - 273.15 == pytest.approx(celsius, abs=0.05)
    assert report.dew_point_k - 273.15 == pytest.approx(dew, abs=0.05)
    assert report.qnh_pa == pytest.approx(qnh_pa, abs=0.005 * INHG)
