"""What is said of a plan as a whole, in US and in metric units."""

import pytest

from diproute.records import Finding
from diproute.wording import Reader, say

US, METRIC = Reader("us"), Reader("metric")
DISTANCE = Finding.of("score-distance", mean_leg_m=3900.0, radius_m=12000.0)
ALTITUDE = Finding.of(
    "score-altitude", fill=0.9, density_altitude_m=2709.4, governed_by="hover limit", place="drop High"
)
HELD = Finding.of("score-altitude", fill=0.9, density_altitude_m=2709.4, governed_by="fill setting", place="dip")
NOTHING = {"what": None, "assumed_m": None, "unverified": None, "distance_m": None}
WIRE = {"what": "power line, 110 kV", "assumed_m": None, "unverified": False, "distance_m": 30.0}
LINE = Finding.of("score-obstacles", belly_hook=False, line_m=38.1, lift_m=3.0, **WIRE)
DOUBTFUL = Finding.of(
    "score-obstacles", belly_hook=False, line_m=38.1, lift_m=3.0, **{**WIRE, "assumed_m": 45.0, "unverified": True}
)
BARE_LINE = Finding.of("score-obstacles", belly_hook=False, line_m=38.1, lift_m=3.0, **NOTHING)
HOOK = Finding.of("score-obstacles", belly_hook=True, line_m=0.0, lift_m=9.0, **NOTHING)
INTO = Finding.of("score-approach", open_share=0.42, arrival_deg=225.0, into_wind=True, wind_from_deg=240.0)
ALONG = Finding.of("score-approach", open_share=0.42, arrival_deg=60.0, into_wind=False, wind_from_deg=240.0)
PART = Finding.of("fleet-part", helicopters=2, helicopter=None, site="Lake 1", litres_per_hour=7570.8, wait_s=None)
OTHER = Finding.of(
    "fleet-part", helicopters=1, helicopter="Demo medium", site="Tarn", litres_per_hour=3785.4, wait_s=65.0
)
HOURS = {"at": "2026-08-14T13:00:00-10:00", "site": "Crown Lake 1"}
LIGHT = {"first": "2026-08-14T05:17:00-10:00", "last": "2026-08-14T20:11:00-10:00"}
VARIED = {"temperature_difference_k": 3.0, "wind_m_s": 5 * 1852 / 3600, "times": 0.2, "cases": 400}
DUTY = {"flight_left_s": 28800.0, "duty_left_s": 50400.0, "fuel_cycles": 6, "site": "Crown Lake 1", "litres": 44282.0}


@pytest.mark.parametrize(
    ("finding", "us", "metric"),
    [
        (
            DISTANCE,
            "2.1 NM a leg as flown; 0 points at the search radius of 6.5 NM",
            "3.9 km a leg as flown; 0 points at the search radius of 12.0 km",
        ),
        (
            ALTITUDE,
            "90 % of the bucket at a density altitude of 8\u202f889 ft, held by the hover limit at the drop High",
            "90 % of the bucket at a density altitude of 2\u202f709 m, held by the hover limit at the drop High",
        ),
        (
            HELD,
            "90 % of the bucket at a density altitude of 8\u202f889 ft, held by the bucket setting at the dip",
            "90 % of the bucket at a density altitude of 2\u202f709 m, held by the bucket setting at the dip",
        ),
        (
            LINE,
            "a line of 125 ft, asked for by power line, 110 kV 98 ft away; 10 ft of lift before moving off",
            "a line of 38 m, asked for by power line, 110 kV 30 m away; 3 m of lift before moving off",
        ),
        (
            DOUBTFUL,
            "a line of 125 ft, asked for by power line, 110 kV, height assumed 148 ft, unverified 98 ft away; 10 ft of "
            "lift before moving off",
            "a line of 38 m, asked for by power line, 110 kV, height assumed 45 m, unverified 30 m away; 3 m of lift "
            "before moving off",
        ),
        (
            BARE_LINE,
            "a line of 125 ft; 10 ft of lift before moving off",
            "a line of 38 m; 3 m of lift before moving off",
        ),
        (
            HOOK,
            "no line: the bucket goes straight on the belly hook; 30 ft of lift before moving off",
            "no line: the bucket goes straight on the belly hook; 9 m of lift before moving off",
        ),
        (
            INTO,
            "42 % of the directions open; approach on 225° true into wind, wind from 240° true",
            "42 % of the directions open; approach on 225° true into wind, wind from 240° true",
        ),
        (
            ALONG,
            "42 % of the directions open; approach on 060° true with no headwind, wind from 240° true",
            "42 % of the directions open; approach on 060° true with no headwind, wind from 240° true",
        ),
        (
            Finding.of("too-shallow", depth_m=0.75, needed_m=1.5),
            "2 ft deep, the bucket needs 5 ft",
            "0.7 m deep, the bucket needs 1.5 m",
        ),
        (
            Finding.of("too-shallow", below_m=1.0, depth_m=None, needed_m=1.5),
            "less than 4 ft deep, the bucket needs 5 ft",
            "less than 1.0 m deep, the bucket needs 1.5 m",
        ),
        (
            Finding.of("depth-unknown", needed_m=1.5),
            "depth not known; the bucket needs 5 ft: look before the first dip",
            "depth not known; the bucket needs 1.5 m: look before the first dip",
        ),
        (
            Finding.of("density-altitude-high", density_altitude_m=3115.4, limit_m=3048.0),
            "density altitude 10\u202f221 ft, above 10\u202f000 ft: settling with power on a steep slow "
            "approach has happened in thin air",
            "density altitude 3\u202f115 m, above 3\u202f048 m: settling with power on a steep slow approach "
            "has happened in thin air",
        ),
        (
            Finding.of(
                "uncertainty", site="Crown Lake 1", first=0.4, rival="Weir Reservoir 1", rival_first=0.59, **VARIED
            ),
            "Crown Lake 1 stays first in 40 % of the cases; Weir Reservoir 1 is first in 59 % (temperature ± 5 °F, "
            "wind ± 5 kt, times to fill, drop and line up ± 20 %, 400 cases)",
            "Crown Lake 1 stays first in 40 % of the cases; Weir Reservoir 1 is first in 59 % (temperature ± 3 °C, "
            "wind ± 5 kt, times to fill, drop and line up ± 20 %, 400 cases)",
        ),
        (
            Finding.of("uncertainty", site="Crown Lake 1", first=1.0, rival=None, rival_first=None, **VARIED),
            "Crown Lake 1 stays first in 100 % of the cases (temperature ± 5 °F, wind ± 5 kt, times to fill, drop and "
            "line up ± 20 %, 400 cases)",
            "Crown Lake 1 stays first in 100 % of the cases (temperature ± 3 °C, wind ± 5 kt, times to fill, drop and "
            "line up ± 20 %, 400 cases)",
        ),
        (
            Finding.of("fleet", count=4, litres_per_hour=11356.2, parts=(PART, OTHER), idle=1),
            "4 helicopters deliver 3\u202f000 US gal an hour: 2 at Lake 1 (2\u202f000 US gal/h), 1 Demo medium at Tarn "
            "(1\u202f000 US gal/h, each waiting 1 min 05 s a cycle); 1 would add nothing and stay out",
            "4 helicopters deliver 11\u202f356 L an hour: 2 at Lake 1 (7\u202f571 L/h), 1 Demo medium at Tarn "
            "(3\u202f785 L/h, each waiting 1 min 05 s a cycle); 1 would add nothing and stay out",
        ),
        (
            Finding.of("fleet", count=2, litres_per_hour=7570.8, parts=(PART,), idle=None),
            "2 helicopters deliver 2\u202f000 US gal an hour: 2 at Lake 1 (2\u202f000 US gal/h)",
            "2 helicopters deliver 7\u202f571 L an hour: 2 at Lake 1 (7\u202f571 L/h)",
        ),
        (
            Finding.of("duty", six_days=False, **DUTY),
            "8 h 00 min of flight (8 h of flight a day) and 14 h 00 min of duty are left: 6 whole fuel cycles at Crown "
            "Lake 1, 11\u202f698 US gal",
            "8 h 00 min of flight (8 h of flight a day) and 14 h 00 min of duty are left: 6 whole fuel cycles at Crown "
            "Lake 1, 44\u202f282 L",
        ),
        (
            Finding.of("duty", six_days=True, **{**DUTY, "flight_left_s": 7200.0, "fuel_cycles": 1, "litres": 7380.3}),
            "2 h 00 min of flight (36 h of flight in 6 days) and 14 h 00 min of duty are left: 1 whole fuel cycle at "
            "Crown Lake 1, 1\u202f950 US gal",
            "2 h 00 min of flight (36 h of flight in 6 days) and 14 h 00 min of duty are left: 1 whole fuel cycle at "
            "Crown Lake 1, 7\u202f380 L",
        ),
    ],
    ids=lambda value: value.code if isinstance(value, Finding) else "",
)
def test_in_the_reader_s_units(finding, us, metric):
    assert say(finding, US) == us
    assert say(finding, METRIC) == metric


@pytest.mark.parametrize(
    ("finding", "sentence"),
    [
        (Finding.of("salt-water"), "salt water: heavier, hard on the machine, and not wanted on every ground"),
        (
            Finding.of("no-power-in-hand", helicopter="Demo light"),
            "the loads go right up to the hover chart of Demo light: neither its file gives a weight reduction nor "
            "limits.hover_margin a margin",
        ),
        (
            Finding.of("compass", blackout=True, horizontal_nt=1504),
            "magnetic blackout zone: the horizontal field is 1504 nT, a compass is unreliable here",
        ),
        (
            Finding.of("compass", blackout=False, horizontal_nt=5412),
            "magnetic caution zone: the horizontal field is 5412 nT, a compass may mislead here",
        ),
        (
            Finding.of("not-assessed", waters=2),
            "2 more water bodies have a suitable point but were not assessed: raise search.keep",
        ),
        (
            Finding.of("not-assessed", waters=1),
            "1 more water body has a suitable point but was not assessed: raise search.keep",
        ),
        (Finding.of("no-base"), "no base is given: neither ferry nor refuelling is counted in the water per hour"),
        (
            Finding.of("dark", at="2026-08-14T22:30:00-10:00", **LIGHT),
            "22:30 is in the dark: the flying window of the day is 05:17 to 20:11; over dark water height cannot be "
            "judged",
        ),
        (
            Finding.of("dark", at="2026-12-14T12:00:00+01:00", first=None, last=None),
            "12:00 is in the dark: the sun does not rise that day; over dark water height cannot be judged",
        ),
        (
            Finding.of(
                "first-changes",
                **HOURS,
                before="Mirror Tarn",
                why=Finding.of("no-longer-works", site="Mirror Tarn", why=(Finding.of("salt-water"),) * 2),
            ),
            "from 13:00 Crown Lake 1 is first instead of Mirror Tarn: Mirror Tarn no longer works (salt water: "
            "heavier, hard on the machine, and not wanted on every ground; salt water: heavier, hard on the machine, "
            "and not wanted on every ground)",
        ),
        (
            Finding.of("site-closed", **HOURS, until="2026-08-14T18:00:00-10:00", why=(Finding.of("salt-water"),)),
            "Crown Lake 1 does not work from 13:00 to 18:00: salt water: heavier, hard on the machine, and not wanted "
            "on every ground",
        ),
    ],
    ids=lambda value: value.code if isinstance(value, Finding) else "",
)
def test_without_units(finding, sentence):
    assert {say(finding, reader) for reader in (US, METRIC, Reader())} == {sentence}


def test_the_temperature_difference_is_in_kelvin_for_readers_outside():
    said = say(Finding.of("uncertainty", site="A", first=1.0, rival=None, rival_first=None, **VARIED))
    assert "temperature ± 3 K, wind ± 2.6 m/s" in said


def test_courses_are_magnetic_for_a_pilot_and_winds_stay_true():
    pilot = Reader("us", 15.0)
    assert say(INTO, pilot) == ("42 % of the directions open; approach on 210° magnetic into wind, wind from 240° true")
    glare = Finding.of("sun-in-the-eyes", elevation_deg=9.6, azimuth_deg=275.0, off_deg=5.4, course_deg=269.6)
    assert say(glare, pilot) == (
        "the sun stands 10° high at 260° magnetic, 5° off the approach course of 255° magnetic: "
        "glare on water and wires"
    )
