"""Weather from values, reports and tables: what is not said is never assumed."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from diproute.errors import WeatherError
from diproute.reading.incident import read_incident
from diproute.reading.metar import read_metar
from diproute.reading.taf import read_taf
from diproute.reading.weather import from_hourly, from_metar
from diproute.wording import say

KT = 1852 / 3600
WHEN = datetime(2026, 8, 14, 15, 0, tzinfo=timezone(timedelta(hours=-10)))  # 15 Aug 01:00Z
METAR = "METAR KXYZ 150053Z 24012G20KT 10SM FEW070 31/08 A2992 RMK AO2 T03110078"
TAF = (
    "TAF KXYZ 142320Z 1500/1600 24012KT 9999 FEW070 TX33/1501Z TN12/1513Z "
    "TEMPO 1501/1503 26020G35KT BECMG 1504/1506 30010KT FM151200 09005KT CAVOK PROB30 TEMPO 1514/1516 VRB15G30KT"
)


def codes(weather) -> list[str]:
    return [finding.code for finding in weather.cautions]


# ----------------------------------------------------------------------------------------- METAR
def test_a_whole_report():
    weather = from_metar(METAR, 1200.0, WHEN, lapse_k_per_m=0.0065)
    assert weather.air.temperature_k == pytest.approx(273.15 + 31.1)
    assert weather.air.dew_point_k == pytest.approx(273.15 + 7.8)
    assert weather.air.qnh_pa == pytest.approx(29.92 * 3386.389)
    assert (weather.air.measured_at_m, weather.air.lapse_k_per_m) == (1200.0, 0.0065)
    assert (weather.wind.altitude_m, weather.wind.from_deg) == ((1200.0,), (240.0,))
    assert weather.wind.speed_m_s == pytest.approx((12 * KT,))
    assert weather.wind.gust_m_s == pytest.approx(20 * KT)
    assert weather.source == "METAR KXYZ 150053Z"
    assert weather.hourly == weather.cautions == ()


def metar(wind="24012KT", rest="CAVOK 12/03 Q1013"):
    return read_metar(f"EGXX 150053Z {wind} {rest}=", WHEN)


def test_edge_cases_of_the_wind():
    assert (metar("00000KT").wind.speed_m_s, metar("36010KT").wind.from_deg) == (0.0, 360.0)
    assert metar("24010MPS").wind.speed_m_s == 10.0
    assert metar("VRB02KT").wind.from_deg is None
    assert metar("24010G15MPS 210V270").wind.between_deg == (210, 270)


@pytest.mark.parametrize(
    ("wind", "wanted"),
    [
        ("/////KT", "the wind is missing"),
        ("///12KT", "the wind is missing"),
        ("", "no wind group"),
        ("24012", "no wind group"),
        ("P49MPS", "only a lower bound"),
        ("240P49MPS", "only a lower bound"),
        ("24040GP49MPS", "only a lower bound"),
        ("24012KMH", "cannot read the wind group"),
        ("2401OKT", "cannot read the wind group"),
        ("24012G2KT", "cannot read the wind group"),
        ("240105KT", "cannot read the wind group"),
        ("24012G105KT", "cannot read the wind group"),
        ("40012KT", "more than 360"),
        ("24012KT 25012KT", "two wind groups"),
    ],
)
def test_a_wind_that_cannot_be_had(wind, wanted):
    with pytest.raises(WeatherError, match=f"^metar: .*{wanted}"):
        metar(wind)


def test_edge_cases_of_the_temperature():
    assert metar(rest="CAVOK M00/M05 Q1013").temperature_k == 273.15
    assert metar(rest="CAVOK M12/M15 Q1013").temperature_k == pytest.approx(261.15)
    assert metar(rest="CAVOK 12/// Q1013").dew_point_k is None
    assert metar(rest="CAVOK 12/ Q1013").dew_point_k is None
    assert metar(rest="CAVOK 12/XX Q1013").temperature_k == pytest.approx(285.15)
    assert metar(rest="CAVOK ///// Q1013 RMK T01230034").temperature_k == pytest.approx(285.45)
    assert metar(rest="CAVOK 12/03 Q1013 RMK T0123").dew_point_k == pytest.approx(276.15)
    assert metar(rest="CAVOK M00/M01 Q1013 RMK T10041008").temperature_k == pytest.approx(272.75)


@pytest.mark.parametrize(
    ("rest", "wanted"),
    [
        ("CAVOK ///// Q1013", "no temperature"),
        ("CAVOK Q1013", "no temperature"),
        ("CAVOK 12 Q1013", "no temperature"),
        ("CAVOK //03 Q1013", "no temperature"),
        ("CAVOK 03/12 Q1013", "dew point 12 degC is above the temperature 3"),
        ("CAVOK 72/12 Q1013", "72 degC is not possible"),
        ("CAVOK 12/03 Q1013 RMK T02230034", "12 degC in the report and 22.3 degC in its remarks"),
        ("CAVOK 12/03", "no QNH"),
        ("CAVOK 12/03 Q////", "no QNH"),
        ("CAVOK 12/03 A////", "no QNH"),
        ("CAVOK 12/03 Q2992", "QNH of 2992 hPa is not possible"),
        ("CAVOK 12/03 A1013", "QNH of 343 hPa is not possible"),
        ("CAVOK 12/03 Q1013 A2952", "two altimeter settings"),
        ("CAVOK NOSIG 12/03 Q1013", "no temperature"),
        ("CAVOK 12/03 RMK Q1013", "no QNH"),
    ],
)
def test_what_is_missing_or_contradicts_itself(rest, wanted):
    with pytest.raises(WeatherError, match=wanted):
        metar(rest=rest)


def test_the_lower_of_two_settings():
    assert metar(rest="CAVOK 12/03 Q1013 A2993").qnh_pa == 101300.0


def test_what_comes_after_the_body_is_not_the_weather():
    report = metar("24010KT", "9999 12/03 Q1013 TEMPO 30040G60KT RMK PK WND 28045/0030")
    assert report.wind.speed_m_s == pytest.approx(10 * KT)
    (trend,) = report.trends
    assert (trend.wind.from_deg, trend.wind.gust_m_s) == (300.0, pytest.approx(60 * KT))
    assert (trend.start, trend.end) == (report.observed, report.observed + timedelta(hours=2))


@pytest.mark.parametrize(
    ("trend", "gust_kt", "between"),
    [
        ("NOSIG", 20, None),
        ("TEMPO 3000 TSRA", 20, None),
        ("TEMPO 25025G35KT 3000 TSRA", 35, (240.0, 250.0)),
        ("BECMG FM0200 30018KT", 20, (240.0, 300.0)),
        ("BECMG 30018KT TEMPO 20010G40KT", 40, (200.0, 300.0)),
        ("TEMPO 06030KT", 30, (0.0, 360.0)),  # from ahead and from behind: both ways round
        ("TEMPO VRB20G30KT", 30, (0.0, 360.0)),
        ("BECMG VRB03KT", 20, None),  # too light for its direction to matter
        ("TEMPO 25025G35KT RMK TEMPO 06050KT", 35, (240.0, 250.0)),
    ],
)
def test_the_trend_of_a_report_counts(trend, gust_kt, between):
    weather = from_metar(METAR.split(" RMK")[0] + " " + trend, 1200.0, WHEN)
    assert (weather.wind.from_deg, weather.wind.speed_m_s) == ((240.0,), pytest.approx((12 * KT,)))
    assert weather.wind.gust_m_s == pytest.approx(gust_kt * KT)
    assert weather.wind.between_deg == between
    assert codes(weather) == ([] if between is None else ["wind-of-groups"])


def test_a_trend_holds_for_two_hours():
    text = METAR.replace(" RMK", " TEMPO 25025G35KT RMK")
    late = WHEN + timedelta(minutes=110)
    assert from_metar(text, 1200.0, late).wind.gust_m_s == pytest.approx(35 * KT)
    assert from_metar(text, 1200.0, late + timedelta(minutes=10)).wind.gust_m_s == pytest.approx(20 * KT)
    assert from_metar(text, 1200.0, WHEN - timedelta(hours=2, minutes=10)).wind.gust_m_s == pytest.approx(20 * KT)


def test_a_trend_that_cannot_be_read_is_refused():
    with pytest.raises(WeatherError, match="cannot read the wind group"):
        metar("24010KT", "9999 12/03 Q1013 BECMG 3004OG60KT")


def test_a_wind_of_groups_says_where_it_may_come_from():
    told = from_metar(METAR.replace(" RMK", " BECMG 30018KT RMK"), 1200.0, WHEN).cautions[-1]
    assert "the wind from 240° to 300° true: planned from 240°; every course" in say(told)
    told = from_metar(METAR.replace(" RMK", " TEMPO 06030KT RMK"), 1200.0, WHEN).cautions[-1]
    assert say(told).endswith("planned from 240° true; every course is held against a wind from anywhere")


@pytest.mark.parametrize("group", ["24020G15KT", "VRB20G15KT"])
def test_a_gust_below_its_mean_is_refused(group):
    with pytest.raises(WeatherError, match=f'"{group}" has a gust below its mean wind'):
        metar(group)
    with pytest.raises(WeatherError, match=f'"{group}" has a gust below its mean wind'):
        read_taf(f"TAF KXYZ 142320Z 1500/1524 24012KT TEMPO 1504/1506 {group}", WHEN)
    assert metar("24020G20KT").wind.gust_m_s == pytest.approx(20 * KT)


@pytest.mark.parametrize("celsius", ["60", "75", "M70"])
def test_an_impossible_temperature_is_refused(celsius):
    with pytest.raises(WeatherError, match="not possible"):
        metar(rest=f"CAVOK {celsius}/M75 Q1013")
    with pytest.raises(WeatherError, match=r"highest temperature of .* is not possible"):
        read_taf(f"TAF KXYZ 142320Z 1500/1524 24012KT TX{celsius}/1501Z", WHEN)


NO_METAR = ["", "METAR", "sunny", "METAR KXYZ 24012KT 31/08 A2992", "METAR KXYZ 150053Z NIL"]


@pytest.mark.parametrize("text", [*NO_METAR, "METAR KXYZ 390053Z 24012KT 31/08 A2992"])
def test_no_report(text):
    with pytest.raises(WeatherError, match=r"^metar: "):
        read_metar(text, WHEN)


def test_the_month_is_the_nearest():
    text = METAR.replace("150053Z", "312350Z")
    assert read_metar(text, datetime(2026, 9, 1, 0, 30, tzinfo=UTC)).observed == datetime(
        2026, 8, 31, 23, 50, tzinfo=UTC
    )
    assert read_metar(text, datetime(2027, 1, 1, 0, 30, tzinfo=UTC)).observed == datetime(
        2026, 12, 31, 23, 50, tzinfo=UTC
    )
    assert (
        read_metar(METAR.replace("150053Z", "010005Z"), datetime(2026, 8, 31, 23, 55, tzinfo=UTC)).observed.month == 9
    )


@pytest.mark.parametrize(
    ("time", "flagged"),
    [
        ("150053Z", None),
        ("142301Z", None),
        ("142259Z", {"before": True, "apart_s": 7260.0, "days": None}),
        ("150305Z", {"before": False, "apart_s": 7500.0, "days": None}),
        ("050053Z", {"before": True, "apart_s": 864_420.0, "days": 10}),
    ],
)
def test_a_report_of_another_time_is_flagged(time, flagged):
    weather = from_metar(METAR.replace("150053Z", time), 1200.0, WHEN)
    assert codes(weather) == ([] if flagged is None else ["report-of-another-time"])
    if flagged is not None:
        assert weather.cautions[0].values == {"report": f"METAR KXYZ {time}", **flagged}


def test_a_light_variable_wind_helps_nobody():
    weather = from_metar(METAR.replace("24012G20KT", "VRB04KT"), 1200.0, WHEN)
    assert weather.wind.speed_m_s == (0.0,)
    assert weather.wind.gust_m_s == pytest.approx(4 * KT)
    assert codes(weather) == ["wind-variable"]


@pytest.mark.parametrize("wind", ["VRB07KT", "VRB04G10KT", "VRB04MPS"])
def test_a_strong_variable_wind_is_refused(wind):
    with pytest.raises(WeatherError, match=r"^weather: a variable wind of \d+ kt has no direction"):
        from_metar(METAR.replace("24012G20KT", wind), 1200.0, WHEN)


def test_a_varying_direction_is_flagged():
    weather = from_metar(METAR.replace("24012G20KT", "24012KT 200V280"), 1200.0, WHEN)
    assert codes(weather) == ["wind-variable"]
    assert weather.cautions[0].values == {
        "speed_m_s": pytest.approx(12 * KT), "from_deg": 240.0, "low_deg": 200, "high_deg": 280,
    }  # fmt: skip
    assert weather.wind.between_deg == (200.0, 280.0)
    round_north = from_metar(METAR.replace("24012G20KT", "34012KT 300V030"), 1200.0, WHEN)
    assert round_north.wind.between_deg == (300.0, 30.0)
    wide = from_metar(METAR.replace("24012G20KT", "24012KT 140V340"), 1200.0, WHEN)
    assert wide.wind.between_deg == (0.0, 360.0)
    assert [(f.code, f.values["low_deg"]) for f in wide.cautions] == [("wind-variable", 140)]


# ----------------------------------------------------------------------------------------- TAF
def test_a_forecast_warns_of_gusts_and_heat():
    weather = from_metar(METAR, 1200.0, WHEN, taf=TAF)
    assert weather.air.temperature_k == pytest.approx(273.15 + 33)
    assert weather.wind.from_deg == (240.0,)
    assert weather.wind.speed_m_s == pytest.approx((12 * KT,))
    assert weather.wind.gust_m_s == pytest.approx(35 * KT)
    assert codes(weather) == ["warmest-of-the-forecast", "wind-of-groups"]
    assert weather.wind.between_deg == (240.0, 260.0)  # and every direction between the groups
    assert weather.source == "METAR KXYZ 150053Z and TAF KXYZ"


def test_the_hours_of_a_forecast():
    hours = {h.when.astimezone(UTC).hour: h for h in from_metar(METAR, 1200.0, WHEN, taf=TAF).hourly}
    assert sorted(hours) == list(range(24))
    assert all(h.when.utcoffset() == timedelta(hours=-10) for h in hours.values())
    assert all(h.air.temperature_k == pytest.approx(306.15) for h in hours.values())
    at = {}
    for hour, h in hours.items():
        at[hour] = (h.wind.from_deg[0], round(h.wind.speed_m_s[0] / KT), round((h.wind.gust_m_s or 0) / KT))
    assert at[0] == (240, 12, 0)
    assert at[1] == at[2] == (240, 12, 35)
    assert at[3] == (240, 12, 0)
    assert at[5] == (240, 12, 0)  # BECMG 04/06: either wind may blow, and the new one is no stronger
    assert at[6] == at[11] == (300, 10, 0)
    assert at[12] == at[23] == (90, 5, 0)
    assert at[14] == at[15] == (90, 5, 30)
    between = {hour: h.wind.between_deg for hour, h in hours.items()}
    assert between[0] is between[3] is between[6] is between[12] is None
    assert between[1] == between[2] == (240.0, 260.0)
    assert between[4] == between[5] == (240.0, 300.0)  # while it turns
    assert between[14] == between[15] == (0.0, 360.0)


def test_a_becoming_stronger_wind_counts_from_its_start():
    taf = read_taf("TAF KXYZ 142320Z 1500/1524 24012KT 9999 BECMG 1504/1506 30025KT", WHEN)
    hour = datetime(2026, 8, 15, 4, tzinfo=UTC)
    assert taf.steady(hour).from_deg == 240.0
    assert [wind.from_deg for wind in taf.winds(hour, hour + timedelta(hours=1))] == [240.0, 300.0]
    assert [wind.from_deg for wind in taf.winds(hour - timedelta(hours=1), hour)] == [240.0]
    assert taf.steady(hour + timedelta(hours=2)).from_deg == 300.0
    assert taf.end == datetime(2026, 8, 16, tzinfo=UTC)


def test_the_warmest_of_several_days():
    taf = read_taf("TAF KXYZ 142330Z 1500/1606 24012KT 9999 TX33/1521Z TNM02/1512Z TX35/1603Z", WHEN)
    assert taf.warmest_k == pytest.approx(308.15)
    assert read_taf("TAF KXYZ 142330Z 1500/1606 24012KT TXM03/1521Z", WHEN).warmest_k == pytest.approx(270.15)


def test_an_old_report_gives_way_to_the_forecasts_wind():
    weather = from_metar(METAR.replace("150053Z 24012G20KT", "142053Z 18030KT"), 1200.0, WHEN, taf=TAF)
    assert weather.wind.from_deg == (240.0,)
    assert weather.wind.speed_m_s == pytest.approx((12 * KT,))
    assert "report-of-another-time" in codes(weather)


def test_a_forecast_without_its_highest_temperature_gives_no_hours():
    weather = from_metar(METAR, 1200.0, WHEN, taf=TAF.replace("TX33/1501Z ", ""))
    assert weather.hourly == ()
    assert weather.air.temperature_k == pytest.approx(273.15 + 31.1)
    assert codes(weather) == ["wind-of-groups", "hours-without-temperature"]


def test_hours_of_a_strong_variable_wind_are_left_out():
    weather = from_metar(METAR, 1200.0, WHEN, taf=TAF.replace("09005KT", "VRB15KT"))
    assert len(weather.hourly) == 12
    assert codes(weather)[-1] == "hours-left-out"
    hours = [hour.values["at"] for hour in weather.cautions[-1].values["hours"]]
    assert hours[:2] == ["2026-08-15T02:00:00-10:00", "2026-08-15T03:00:00-10:00"]


@pytest.mark.parametrize(
    ("taf", "wanted"),
    [
        ("TAF KXYZ NIL", "empty"),
        ("TAF KXYZ 142320Z 1500/1524 CNL", "cancelled"),
        ("TAF KXYZ 132320Z 1400/1424 24012KT", "does not hold the plan's time"),
        ("TAF KXYZ 142320Z 1500/1524 24012KMH", "cannot read the wind group"),
        ("TAF KXYZ 142320Z 1500/1524 24012KT BECMG 1504/1506 2401OKT", "cannot read the wind group"),
        ("TAF KXYZ 142320Z 1500/1524 24012KT TEMPO 1504/1506 240P99KT", "only a lower bound"),
        ("TAF KXYZ 142320Z 1500/1524 9999 CAVOK", "no wind"),
        ("TAF KXYZ 142320Z 1600/1524 24012KT", "no forecast period"),
        ("TAF KXYZ", "cannot read"),
        ("rain later", "cannot read"),
        (METAR, "cannot read"),
    ],
)
def test_a_forecast_that_cannot_be_used(taf, wanted):
    with pytest.raises(WeatherError, match=rf"^weather\.taf: .*{wanted}"):
        from_metar(METAR, 1200.0, WHEN, taf=taf)


def test_wind_shear_is_no_surface_wind():
    taf = read_taf("TAF AMD KXYZ 142330Z 1500/1524 24012G22KT P6SM SKC WS020/24045KT", WHEN)
    (wind,) = taf.winds(WHEN, WHEN + timedelta(hours=1))
    assert wind.strongest_m_s == pytest.approx(22 * KT)


# ----------------------------------------------------------------------------------------- hourly table
def test_between_two_rows(incident_folder):
    weather = from_hourly(incident_folder / "hourly.csv", 1200.0, WHEN)
    assert weather.air.temperature_k == pytest.approx(304.15)
    assert weather.air.qnh_pa == pytest.approx(100900)
    assert weather.air.dew_point_k == pytest.approx(281.15)
    assert weather.air.measured_at_m == 1200.0
    # the mean of 230/10 and 250/14 as vectors: by hand 241.7/11.8
    assert weather.wind.from_deg[0] == pytest.approx(241.7, abs=0.1)
    assert weather.wind.speed_m_s[0] / KT == pytest.approx(11.8, abs=0.05)
    assert weather.wind.gust_m_s == pytest.approx(22 * KT)
    assert weather.source == "hourly.csv, 15:00"
    assert [h.when.hour for h in weather.hourly] == [14, 16, 17]
    assert weather.cautions == ()


def test_on_a_row(incident_folder):
    weather = from_hourly(incident_folder / "hourly.csv", 1200.0, WHEN.replace(hour=17))
    assert weather.air == weather.hourly[-1].air
    assert weather.air.dew_point_k is None
    assert weather.wind.from_deg[0] == pytest.approx(260)
    assert weather.wind.gust_m_s == pytest.approx(20 * KT)


def test_across_north_the_wind_does_not_swing_through_south(incident_folder):
    path = incident_folder / "hourly.csv"
    path.write_text(path.read_text().replace(",230,10", ",350,12").replace(",250,14", ",10,12"))
    from_deg = from_hourly(path, 1200.0, WHEN).wind.from_deg[0]
    assert min(from_deg, 360 - from_deg) == pytest.approx(0, abs=1e-6)


def test_a_hole_in_the_table_is_flagged(incident_folder):
    path = incident_folder / "hourly.csv"
    path.write_text(path.read_text().replace("T14:00", "T12:30"))
    assert codes(from_hourly(path, 1200.0, WHEN)) == ["hours-missing"]


def test_other_units_and_orders(incident_folder):
    path = incident_folder / "hourly.csv"
    path.write_text(
        "\ufeffwind_m/s, time, qnh_inHg, wind_from_deg, temperature_degF\n"
        "5, 2026-08-15T01:00+00:00, 29.92, 240, 86\n\n6, 2026-08-15T02:00Z, 29.90, 240, 88\n",
        encoding="utf-8",
    )
    weather = from_hourly(path, 1200.0, WHEN)
    assert weather.air.temperature_k == pytest.approx(303.15)
    assert weather.air.qnh_pa == pytest.approx(29.92 * 3386.389)
    assert weather.wind.speed_m_s == (5.0,)
    assert weather.wind.gust_m_s is None


# ----------------------------------------------------------------------------------------- through the incident file
VALUES = 'temperature = "31 degC"\nmeasured_at = "1200 m"\nqnh = "1009 hPa"\nwind = "240 deg 12 kt"\n'


def test_a_report_in_the_incident_file(swap):
    told = f'metar = "{METAR}"\ntaf = "{TAF}"\nstation_elevation = "3000 ft"\nlapse = "7 K/km"\n'
    weather = read_incident(swap(VALUES, told)).weather
    assert weather.air.measured_at_m == pytest.approx(914.4)
    assert weather.air.lapse_k_per_m == pytest.approx(0.007)
    assert len(weather.hourly) == 24


def test_a_table_in_the_incident_file(swap):
    weather = read_incident(swap(VALUES, 'hourly = "hourly.csv"\nmeasured_at = "1200 m"\n')).weather
    assert len(weather.hourly) == 3
    assert weather.file is not None
    assert weather.file.name == "hourly.csv"
    assert weather.hourly[0].air.measured_at_m == 1200.0


def test_the_formats_pages_examples_are_read(swap, incident_folder):
    page = (Path(__file__).parents[2] / "docs" / "formats.md").read_text(encoding="utf-8")
    levels = page.split("```toml\n")[1].split("```")[0]
    assert len(read_incident(swap('wind = "240 deg 12 kt"\n', levels)).weather.wind.altitude_m) == 3
    table = incident_folder / "page.csv"
    table.write_text("time," + page.split("```\ntime,")[1].split("```")[0], encoding="utf-8")
    weather = from_hourly(table, 1200.0, WHEN.replace(hour=8, minute=30))
    assert weather.air.temperature_k == pytest.approx(273.15 + 20.5)
    assert weather.wind.gust_m_s == pytest.approx(14 * KT)
