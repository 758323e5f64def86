"""What the reading room finds, as its readers see it: US units, metric units, and SI for other programs."""

import pytest

from diproute.records import Finding
from diproute.wording import Reader, say

US, METRIC = Reader("us"), Reader("metric")
OF = Finding.of
LIES = OF("lies-at", south_deg=50.0, north_deg=51.0, west_deg=-0.5, east_deg=11.0)
COVERED = {"what": "canopy height", "towards": None, "second": None, "third": None, "all_round": True}

LAYERS = [
    (
        OF("layer-empty-here", file="w.gpkg", key="layers.water", lies=LIES),
        *("w.gpkg (layers.water) holds nothing here; it lies at 50.000 N to 51.000 N, 0.500 W to 11.000 E",) * 2,
    ),
    (
        OF("layer-empty-here", file="w.gpkg", key="layers.water", lies=None),
        *("w.gpkg (layers.water) holds nothing here; it is empty",) * 2,
    ),
    (
        OF("partly-covered", share=0.004, little=True, **COVERED),
        *("under 1 % of the search has no canopy height, all round; nothing is known there",) * 2,
    ),
    (
        OF("partly-covered", share=0.2, little=False, what="elevation", towards="east", second="north", third=None,
           all_round=False),
        *("20 % of the search has no elevation, mostly to the east and north; nothing is known there",) * 2,
    ),
    (
        OF("place-unknown", drop="East"),
        *("drop 'East' lies where the ground is not known",) * 2,
    ),
    (OF("place-unknown", drop=None), *("the base lies where the ground is not known",) * 2),
    (
        OF("elevation-coarse", spacing_m=90.0),
        "the elevation has one height every 295 ft; ridges and hollows between are not seen",
        "the elevation has one height every 90 m; ridges and hollows between are not seen",
    ),
    (
        OF("obstacle-height-assumed", count=1, of=3,
           assumed=(OF("assumed-height", kind="mast", height_m=150.0),
                    OF("assumed-height", kind="wire", height_m=65.0))),
        "no height is known for 1 of 3 obstacles; assumed: mast 492 ft, wire 213 ft",
        "no height is known for 1 of 3 obstacles; assumed: mast 150 m, wire 65 m",
    ),
    (
        OF("obstacles-left-out", file="o.gpkg", left=(
            OF("obstacle-gone", count=2, state="demolished", filed=False), OF("obstacle-underground", count=171),
            OF("obstacle-gone", count=1, state="dismantled", filed=True),
        )),
        *("o.gpkg: left out 2 demolished, 171 under ground or under water, 1 filed as dismantled",) * 2,
    ),
    (
        OF("obstacle-unverified", count=1),
        *("1 obstacle is not verified: place and height are unreliable",) * 2,
    ),
    (
        OF("obstacle-file-old", file="dof.dat", current="2026-05-01", days=105, every_days=56),
        *("dof.dat is current to 2026-05-01, 105 days before the plan; a new one comes every 56 days",) * 2,
    ),
    (
        OF("water-slopes", spread_m=12.0),
        "the ground inside strays by 39 ft: water and elevation do not match",
        "the ground inside strays by 12 m: water and elevation do not match",
    ),
    (OF("water-unsure", tidal=True, nhd_code=None), *("tidal: it may be dry at low water",) * 2),
    (
        OF("water-unsure", tidal=False, nhd_code=39000),
        *("NHD code 39000 does not say that it holds water all year",) * 2,
    ),
    (
        OF("water-unsure", tidal=False, nhd_code=None),
        *("nothing says that it holds water all year",) * 2,
    ),
    (
        OF("intermittent", tag="intermittent", said="yes", nhd_code=None),
        *("intermittent: no water is sure",) * 2,
    ),
    (
        OF("tailings", tag="name", said="North Tailings", nhd_code=None),
        *("tailings (name = 'North Tailings')",) * 2,
    ),
    (OF("wash", tag=None, said=None, nhd_code=48400), *("a wash, dry but after rain (NHD code 48400)",) * 2),
    (OF("line-without-width", kind="stream"), *("a stream drawn as a line without a width",) * 2),
    (OF("area-said", text="people camp here"), *("people camp here",) * 2),
]  # fmt: skip

HOURS = tuple(OF("hour", at=f"2026-08-14T{hour}:00:00-10:00") for hour in ("15", "16"))
REPORT = "METAR KXYZ 150053Z"
WEATHER = [
    (
        OF("warmest-of-the-forecast", forecast_k=306.15, reported_k=304.15),
        "planned with the forecast's highest temperature, 91 °F, not the 88 °F reported",
        "planned with the forecast's highest temperature, 33 °C, not the 31 °C reported",
    ),
    (
        OF("report-of-another-time", report=REPORT, before=True, apart_s=7260.0, days=None),
        *(f"{REPORT} was made 2 h 01 min before the plan's time; get a report of the hour",) * 2,
    ),
    (
        OF("report-of-another-time", report=REPORT, before=False, apart_s=864_420.0, days=10),
        *(f"{REPORT} was made 10 days after the plan's time; get a report of the hour",) * 2,
    ),
    (
        OF("wind-variable", speed_m_s=4 * 1852 / 3600, from_deg=None, low_deg=None, high_deg=None),
        *("the wind is variable at 4 kt: planned as calm, and on any course it may blow from behind",) * 2,
    ),
    (
        OF("wind-variable", speed_m_s=6.0, from_deg=50.0, low_deg=20, high_deg=90),
        *(
            "the wind varies between 020° and 090° true: planned from 050°; "
            "every course is held against the whole of it",
        )
        * 2,
    ),
    (
        OF("hours-left-out", hours=HOURS),
        *("the TAF's wind is variable and strong at 15:00, 16:00: these hours are not planned",) * 2,
    ),
    (
        OF("hours-missing", file="h.csv", start="2026-08-14T12:30:00-10:00", end="2026-08-14T16:00:00-10:00"),
        *("h.csv has no row between 12:30 and 16:00: the weather in between is interpolated",) * 2,
    ),
]


@pytest.mark.parametrize(("finding", "us", "metric"), LAYERS, ids=lambda v: getattr(v, "code", ""))
def test_sentences_about_the_layers(finding, us, metric):
    assert say(finding, US) == us
    assert say(finding, METRIC) == metric


@pytest.mark.parametrize(("finding", "us", "metric"), WEATHER, ids=lambda v: getattr(v, "code", ""))
def test_sentences_about_the_weather(finding, us, metric):
    assert say(finding, US) == us
    assert say(finding, METRIC) == metric
