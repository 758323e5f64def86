"""The way in and the way out: sectors, wind, the cheapest pair, and what is said when there is none."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.records import Clearance, Governing, Limits, Sector
from diproute.sites.approach import DipWind, LegEnds, VerticalSpeeds, choose, choose_many, open_sectors, width
from diproute.sites.clearance import SurveyArrays
from diproute.wording import Reader, say

BEARING = np.arange(72) * 5.0
TREES = Governing("trees", 120.0, 40.0, 33.0, None)
LIFT_SPEED, LOWER_SPEED = 1.5, 2.0  # the demo helicopter of incident-format.md
SPEEDS = VerticalSpeeds(LIFT_SPEED, LOWER_SPEED)
METRIC = Reader("metric")


def clearance_of(lift_out, lift_in=None, surface=None):
    lift_out = np.broadcast_to(np.asarray(lift_out, float), (72,)).copy()
    lift_in = lift_out.copy() if lift_in is None else np.broadcast_to(np.asarray(lift_in, float), (72,)).copy()
    surface = np.zeros(72) if surface is None else np.broadcast_to(np.asarray(surface, float), (72,)).copy()
    return Clearance(
        BEARING, lift_out, lift_in, surface, np.where(surface > 0, 240.0, np.nan), 0.0, None, (TREES,) * 72
    )


def chosen(clearance, wind=(0.0, 0.0), out=90.0, into=270.0, limits=None):
    return choose(clearance, DipWind(*wind), limits or Limits(), LegEnds(out, into), SPEEDS)


def only(*bearings, lift=5.0):
    lifts = np.full(72, 100.0)
    lifts[[int(b // 5) for b in bearings]] = lift
    return lifts


def test_on_open_water_in_a_calm_the_legs_go_straight_on():
    got = chosen(clearance_of(5.0), out=90.0, into=270.0)
    assert (got.departure.course_deg, got.arrival.course_deg) == (90.0, 270.0)
    assert got.departure.turn_s == got.arrival.turn_s == 0.0
    assert got.open_share == 1.0
    assert got.sectors == (Sector(0.0, 360.0),)
    assert got.refused == got.cautions == ()


def test_an_arrival_over_a_corridor_is_flown_towards_the_dip():
    got = chosen(clearance_of(5.0, only(180)), into=0.0)  # only the corridor to the south is open to arrivals
    assert got.arrival.course_deg == 0.0  # arrival from the south is 0
    assert got.open.sum() == 1
    assert got.open[36]


def test_a_fresh_wind_from_the_west_forbids_leaving_downwind():
    got = chosen(clearance_of(5.0), wind=(270.0, 7.0), out=90.0, into=270.0)
    assert got.arrival.course_deg == 270.0
    assert got.arrival.headwind_m_s == pytest.approx(7.0)
    assert got.departure.headwind_m_s >= -Limits().tailwind_m_s
    assert got.departure.course_deg != 90.0
    assert got.departure.turn_s == pytest.approx(abs(got.departure.course_deg - 90.0) / 3.0)


def test_between_equal_courses_the_one_into_wind_is_taken():
    got = chosen(
        clearance_of(only(0, 180)), wind=(180.0, 2.0), out=90.0, into=90.0
    )  # north and south: 90° of turn each
    assert got.departure.course_deg == 180.0
    assert got.arrival.course_deg == 180.0
    assert got.departure.headwind_m_s == pytest.approx(2.0)


def test_a_crosswind_comes_from_the_right_when_positive_and_is_limited():
    limits = Limits(crosswind_m_s=3.0)
    got = chosen(clearance_of(only(0, 90)), wind=(90.0, 4.0), out=0.0, into=0.0, limits=limits)
    assert got.departure.course_deg == 90.0  # 0 would have 4 m/s across
    mild = chosen(clearance_of(only(0, 180)), wind=(90.0, 2.0), out=0.0, into=0.0, limits=limits)
    assert mild.departure.crosswind_m_s == pytest.approx(2.0)


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 9999), wind_from=st.floats(0, 359), wind=st.floats(0, 9),
    out=st.floats(0, 359), into=st.floats(0, 359),
)  # fmt: skip
def test_the_pair_is_the_cheapest_of_all_pairs(seed, wind_from, wind, out, into):
    rng = np.random.default_rng(seed)
    lift_out, lift_in = rng.uniform(3, 90, (2, 72))
    lift_out[rng.random(72) < 0.1] = np.nan
    limits = Limits()
    got = chosen(clearance_of(lift_out, lift_in), (wind_from, wind), out, into)

    def turn(a, b):
        return abs((a - b + 180) % 360 - 180) / 3.0

    best = None
    for i, j in itertools.product(range(72), range(72)):
        courses = ((BEARING[i] + 180) % 360, BEARING[j])
        ahead = [wind * np.cos(np.radians(wind_from - c)) for c in courses]
        across = [abs(wind * np.sin(np.radians(wind_from - c))) for c in courses]
        if not (lift_in[i] <= limits.lift_limit_m and lift_out[j] <= limits.lift_limit_m):
            continue
        if min(ahead) < -limits.tailwind_m_s or max(across) > limits.crosswind_m_s:
            continue
        seconds = lift_in[i] / LOWER_SPEED + lift_out[j] / LIFT_SPEED + turn(courses[0], into) + turn(courses[1], out)
        cost = seconds - 0.1 * sum(ahead)
        best = cost if best is None else min(best, cost)
    if best is None:
        assert got.arrival is None or got.departure is None
    else:
        a, d = got.arrival, got.departure
        mine = a.lift_m / LOWER_SPEED + d.lift_m / LIFT_SPEED + a.turn_s + d.turn_s
        assert mine - 0.1 * (a.headwind_m_s + d.headwind_m_s) == pytest.approx(best, abs=1e-5)


def test_nothing_open_names_the_lowest_lift_and_what_asks_for_it():
    got = chosen(clearance_of(75.0))
    assert got.arrival is None
    assert got.departure is None
    assert [f.code for f in got.refused] == ["no-way-in", "no-way-out"]
    assert say(got.refused[1], Reader("metric", 10.0)) == (
        "the lowest lift for any departure is 75 m, more than the limit of 60 m: trees, 120 m out on 030° magnetic"
    )
    assert "246 ft" in say(got.refused[0], Reader("us"))
    assert "040° true" in say(got.refused[0])


def test_a_lift_that_the_water_alone_asks_for_is_put_down_to_its_margin():
    bare = clearance_of(75.0)
    nothing = Clearance(BEARING, bare.lift_out_m, bare.lift_in_m, bare.surface_m, bare.surface_at_m, 0.0, None,
                        (None,) * 72)  # fmt: skip
    assert say(chosen(nothing).refused[0]) == (
        "the lowest lift for any approach is 75 m, more than the limit of 60 m: the margin over the water"
    )


def test_a_height_that_is_assumed_or_a_place_not_verified_is_told_with_the_thing():
    pole = Governing("mast", 120.0, 40.0, 33.0, 0, assumed_m=150.0, unverified=True)
    assert say(pole.told, METRIC) == "mast, height assumed 150 m, unverified, 120 m out on 040° true"
    assert say(TREES.told, Reader("us", 10.0)) == "trees, 394 ft out on 030° magnetic"


def test_a_way_in_that_has_its_own_governing_thing_names_it():
    wire = Governing("power line", 310.0, 215.0, 45.0, 0)
    shut = clearance_of(75.0)
    own = Clearance(BEARING, shut.lift_out_m, shut.lift_in_m, shut.surface_m, shut.surface_at_m, 0.0, None,
                    shut.lift_governing, (wire,) * 72)  # fmt: skip
    assert "power line, 310 m out on 215° true" in say(chosen(own).refused[0])
    assert "trees" in say(chosen(own).refused[1])


def test_a_wind_that_closes_every_open_course_is_named():
    got = chosen(clearance_of(only(0)), wind=(180.0, 10.0))
    assert [f.code for f in got.refused] == ["wind-out"]
    assert got.arrival.course_deg == 180.0
    north_only = chosen(clearance_of(only(0)), wind=(0.0, 10.0))
    assert north_only.departure.course_deg == 0.0
    assert north_only.arrival is None  # the only corridor would be flown southwards, downwind
    assert north_only.refused[0].code == "wind-in"
    assert "wind 360° true 19 kt: every open approach" in say(north_only.refused[0], METRIC)


def test_unknown_directions_are_closed_and_counted():
    lifts = np.full(72, 5.0)
    lifts[:18] = np.nan
    got = chosen(clearance_of(lifts), out=20.0, into=200.0)
    assert got.known.sum() == 54
    assert not got.open[:18].any()
    assert got.departure.course_deg in (90.0, 355.0)
    assert [f.code for f in got.cautions] == ["directions-unknown"]
    assert say(got.cautions[0]).startswith("25 %")
    nothing = chosen(clearance_of(np.nan))
    assert [f.code for f in nothing.refused] == ["no-way-in", "no-way-out"]
    assert say(nothing.refused[0]) == "no approach is known: every corridor holds or leaves unknown ground"


def test_a_direction_known_one_way_only_is_not_known():
    lifts = np.full(72, 5.0)
    lifts[:18] = np.nan
    for one, other in ((lifts, 5.0), (5.0, lifts)):
        got = chosen(clearance_of(one, other), out=20.0, into=200.0)
        assert got.known.tolist() == [False] * 18 + [True] * 54
        assert not got.open[:18].any()


def test_what_stands_at_its_limit_is_allowed():
    """Whatever the last digit of a cosine makes of it; and no more than that."""
    assert chosen(clearance_of(60.0), limits=Limits(lift_limit_m=60.0)).pair is not None
    assert chosen(clearance_of(60.01), limits=Limits(lift_limit_m=60.0)).pair is None
    for course in BEARING[::9]:
        lane = clearance_of(only(course))
        for off in np.arange(5.0, 90.0, 8.0):
            tail, side = 9.0 * np.cos(np.radians(off)), 9.0 * np.sin(np.radians(off))
            wind = ((course + 180.0 + off) % 360.0, 9.0)
            for less, flies in ((0.0, True), (1e-6, False)):
                for limits in (
                    Limits(tailwind_m_s=tail - less, crosswind_m_s=99.0),
                    Limits(tailwind_m_s=99.0, crosswind_m_s=side - less),
                ):
                    assert (chosen(lane, wind, limits=limits).departure is not None) == flies


def test_a_confined_area_with_one_way_is_a_caution():
    got = chosen(clearance_of(only(350, 355, 0, 5, 10)))
    assert got.sectors == (Sector(347.5, 12.5),)
    assert [f.code for f in got.cautions] == ["one-way"]
    assert say(got.cautions[0], Reader("us", 10.0)) == (
        "one way in and out: the only open sector is 25° wide, from 338° magnetic to 002° magnetic"
    )
    two = chosen(clearance_of(only(350, 355, 0, 180)))
    assert [f.code for f in two.cautions] == []
    crossed = chosen(clearance_of(only(0), only(90)))
    assert crossed.sectors == ()
    assert [f.code for f in crossed.cautions] == ["one-way"]
    assert say(crossed.cautions[0]).startswith("no direction is open both ways")


def test_the_published_surface_on_the_chosen_course():
    surface = np.zeros(72)
    surface[18] = 4.2  # out to the east
    got = chosen(clearance_of(5.0, surface=surface), out=90.0, into=90.0)
    assert got.departure.surface_8_to_1_m == 4.2
    assert got.departure.surface_at_m == 240.0
    assert got.arrival.surface_8_to_1_m == 0.0
    told = [say(f, METRIC) for f in got.cautions]
    assert told == ["the departure surface is penetrated by 4 m, 240 m from the dip"]
    unknown = chosen(clearance_of(5.0, surface=np.nan))
    assert [f.code for f in unknown.cautions] == ["surface-unknown", "surface-unknown"]


@settings(max_examples=50, deadline=None)
@given(st.lists(st.booleans(), min_size=8, max_size=72))
def test_sectors_cover_exactly_the_open_directions(flags):
    is_open = np.array(flags)
    bearing = np.arange(len(flags)) * 360.0 / len(flags)
    sectors = open_sectors(bearing, is_open)
    assert sum(width(s) for s in sectors) == pytest.approx(360.0 * is_open.mean())
    for b, flag in zip(bearing, flags, strict=True):
        assert any((b - s.from_deg) % 360.0 < width(s) for s in sectors) == flag


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 9999), more=st.floats(0, 30))
def test_more_lift_needed_never_opens_a_direction(seed, more):
    lifts = np.random.default_rng(seed).uniform(3, 90, 72)
    before, after = chosen(clearance_of(lifts)), chosen(clearance_of(lifts + more))
    assert not (after.open & ~before.open).any()
    assert not (chosen(clearance_of(lifts), limits=Limits(lift_limit_m=60 - more)).open & ~before.open).any()


def test_a_leg_that_turns_over_the_dip_in_any_case_needs_no_more_turning():
    free, part, none = (
        choose(clearance_of(5.0), DipWind(180.0, 8.0), Limits(), LegEnds(90.0, 90.0, s, s), SPEEDS).departure
        for s in (60.0, 4.0, 0.0)
    )
    assert free.turn_s == 0.0
    assert free.headwind_m_s >= none.headwind_m_s
    for course, turned in ((part, 4.0), (none, 0.0)):
        off = abs((course.course_deg - 90 + 180) % 360 - 180)
        assert course.turn_s == pytest.approx(max(0.0, off / 3 - turned))


def test_many_points_at_once_take_the_pairs_of_one_by_one():
    rng = np.random.default_rng(8)
    lift_out, lift_in = rng.uniform(3, 110, (2, 40, 72))
    lift_out[3], lift_in[7] = 80.0, np.nan
    out, into, froms, winds = (
        rng.uniform(0, 360, 40),
        rng.uniform(0, 360, 40),
        rng.uniform(0, 360, 40),
        rng.uniform(0, 9, 40),
    )
    arrays = SurveyArrays(BEARING, np.zeros(40), lift_out, lift_in)
    many = choose_many(arrays, DipWind(froms, winds), Limits(), LegEnds(out, into), SPEEDS)
    flown = 0
    for i in range(40):
        got = chosen(clearance_of(lift_out[i], lift_in[i]), (froms[i], winds[i]), out[i], into[i])
        pair = [many.arrival_lift_m[i], many.departure_lift_m[i], many.arrival_turn_s[i], many.departure_turn_s[i]]
        if got.pair is None:
            assert np.isnan(pair).all()
            continue
        arrival, departure = got.pair
        assert pair == [arrival.lift_m, departure.lift_m, arrival.turn_s, departure.turn_s]
        flown += 1
    assert np.isnan(many.departure_lift_m[[3, 7]]).all()
    assert flown > 30
    one = choose_many(arrays, DipWind(0.0, 0.0), Limits(), LegEnds(0.0, 0.0), SPEEDS)
    assert one.arrival_lift_m.shape == (40,)


def test_refusals():
    with pytest.raises(RangeError, match="above 0"):
        VerticalSpeeds(0.0, 2.0)
    with pytest.raises(RangeError, match="not known"):
        chosen(clearance_of(5.0), wind=(np.nan, 3.0))


def test_gusts_in_a_calm_may_come_from_anywhere():
    """A report of a calm with gusts names no direction for them: above the tailwind limit no course is left."""
    strong = choose(clearance_of(5.0), DipWind(0.0, 0.0, gust_m_s=15.0), Limits(), LegEnds(90.0, 270.0), SPEEDS)
    assert strong.arrival is None
    assert strong.departure is None
    assert [found.code for found in strong.refused] == ["wind-in", "wind-out"]
    for limits in (Limits(tailwind_m_s=14.0, crosswind_m_s=99.0), Limits(tailwind_m_s=99.0, crosswind_m_s=14.0)):
        alone = choose(clearance_of(5.0), DipWind(0.0, 0.0, gust_m_s=15.0), limits, LegEnds(90.0, 270.0), SPEEDS)
        assert alone.arrival is None
        assert alone.departure is None
    weak = choose(clearance_of(5.0), DipWind(0.0, 0.0, gust_m_s=2.0), Limits(), LegEnds(90.0, 270.0), SPEEDS)
    assert weak.pair is not None
    none = chosen(clearance_of(5.0), limits=Limits(tailwind_m_s=0.0, crosswind_m_s=0.0))
    assert none.pair is not None  # a calm without a gust is no wind at all


@pytest.mark.parametrize(("told", "from_deg"), [(360.0, 0.0), (-90.0, 270.0)])
def test_a_wind_s_direction_is_told_on_the_compass(told, from_deg):
    got = chosen(clearance_of(only(from_deg)), wind=(told, 10.0))
    assert got.refused[0].values["from_deg"] == from_deg


@pytest.mark.parametrize("between", [(200.0, 280.0), (300.0, 40.0), (240.0, 240.0), (0.0, 360.0), (200.0, 379.0 % 360)])
def test_a_wind_that_may_turn_is_held_against_every_direction_it_may_take(between):
    """A course is flyable when it is so in a wind from each degree of the arc."""
    first, last = between
    width = (last - first) % 360 if last - first != 360 else 360
    limits, ends = Limits(), LegEnds(90.0, 270.0)
    turning = choose(clearance_of(5.0), DipWind(240.0, 4.0, 7.0, between), limits, ends, SPEEDS)
    rng = np.random.default_rng(5)
    for course in rng.choice(BEARING, 24, replace=False):
        lane = clearance_of(only(course))
        here = choose(lane, DipWind(240.0, 4.0, 7.0, between), limits, ends, SPEEDS)
        each = [
            choose(lane, DipWind(from_deg % 360, 4.0, 7.0), limits, ends, SPEEDS).departure is not None
            for from_deg in (240.0, *np.arange(first, first + width + 0.5, 1.0))
        ]
        assert (here.departure is not None) == all(each)
    if between == (0.0, 360.0):  # 7 m/s from behind on any course
        assert [found.values["anywhere"] for found in turning.refused] == [True, True]
        assert "it may turn anywhere: every open" in say(turning.refused[0])
    else:
        steady = choose(clearance_of(5.0), DipWind(240.0, 4.0, 7.0), limits, ends, SPEEDS)
        assert steady.pair is not None


@pytest.mark.parametrize("limits", [(6.5, 99.0), (99.0, 6.5), (3.0, 6.0), (6.9995, 99.0), (99.0, 6.9995)])
@pytest.mark.parametrize("between", [(200.0, 280.0), (301.0, 39.0), (231.0, 244.0), (0.0, 360.0), (91.0, 329.0)])
def test_the_worst_of_an_arc_may_lie_between_its_ends(between, limits):
    """A wind from straight behind, or from the side, that both ends of the arc are far from."""
    first, last = between
    width = (last - first) % 360 if last - first != 360 else 360
    froms = np.radians([240.0, *np.arange(first, first + width + 0.5)])
    tail, side = limits
    wind, allowed = DipWind(240.0, 4.0, 7.0, between), Limits(tailwind_m_s=tail, crosswind_m_s=side)
    for course in BEARING:
        got = choose(clearance_of(only(course)), wind, allowed, LegEnds(90.0, 270.0), SPEEDS)
        off = froms - np.radians(course)
        keeps = (-7.0 * np.cos(off) <= tail + 1e-6) & (np.abs(7.0 * np.sin(off)) <= side + 1e-6)
        assert (got.departure is not None) == keeps.all()


def test_a_wind_that_may_turn_says_so_where_it_closes_every_way():
    found = choose(
        clearance_of(5.0), DipWind(240.0, 12.0, None, (150.0, 300.0)), Limits(), LegEnds(90.0, 270.0), SPEEDS
    )
    assert [f.code for f in found.refused] == ["wind-in", "wind-out"]
    assert ", it may turn to anything from 150° to 300° true: every open" in say(found.refused[1])
