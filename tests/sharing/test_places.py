"""The current view: the newest valid first-hand record, disagreements side by side, matches proposed, never joined."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from said import NOW, record

from diproute.sharing.places import ANY_WATER_M, FARTHEST_M, SAME_WATER_M, Word, likely_matches, places

LATER = "2026-07-20T12:00:00Z"
DESK = record(how="desk", seen=None, when="2026-07-30T12:00:00Z")


def view(*sealed, now=NOW, trusted=()):
    return places([Word.of(one, "trusted" if one in trusted else "unsigned") for one in sealed], now)


def about(*others, **said):
    return record(of=tuple(one.id for one in others), **said)


def test_first_hand_goes_before_desk_and_newer_before_older():
    old = about(DESK)
    new = about(DESK, when=LATER, seen={"depth_dm": 20})
    (place,) = view(old, DESK, new)
    assert [word.id for word in place.words] == [DESK.id, new.id, old.id]
    assert place.current.id == new.id


@pytest.mark.parametrize("how", ["overflown", "dipped", "on foot"])
def test_whoever_was_there_is_first_hand(how):
    (place,) = view(DESK, about(DESK, how=how))
    assert place.current.how == how


def test_what_has_run_out_or_lies_ahead_does_not_count():
    gone = about(DESK, when=LATER, until="2026-07-31T00:00:00Z")
    ahead = about(DESK, when="2026-12-01T00:00:00Z")
    valid = about(DESK)
    (place,) = view(DESK, gone, ahead, valid)
    assert place.current.id == valid.id
    assert len(place.words) == 4
    (place,) = view(DESK, gone, valid, now=datetime(2030, 1, 1, tzinfo=UTC))
    assert place.current is None


def test_a_trusted_word_goes_before_another():
    mine, theirs = about(DESK), about(DESK, when=LATER, agency="Nobody knows")
    (place,) = view(DESK, mine, theirs, trusted=[mine])
    assert place.current.id == mine.id
    assert [d.of for d in place.disagreements] == []


def test_valid_records_that_differ_stand_side_by_side():
    one = about(DESK, seen={"depth_dm": 25, "permission": "given"})
    two = about(DESK, seen={"depth_dm": 12, "permission": "refused"}, agency="South District")
    silent = about(DESK, seen={"remarks": "nothing to say"})
    (place,) = view(DESK, one, two, silent)
    assert {d.of: dict(d.said) for d in place.disagreements} == {
        "depth_dm": {one.id: 25, two.id: 12},
        "permission": {one.id: "given", two.id: "refused"},
    }


def test_a_correction_takes_the_place_of_its_agency_s_own_word():
    old = about(DESK)
    new = record(supersedes=(old.id,), when=LATER, seen={"depth_dm": 9})
    (place,) = view(DESK, old, new)
    assert place.superseded == {old.id}
    assert place.disagreements == ()
    assert place.current.id == new.id


@pytest.mark.parametrize(
    ("why", "said", "trusted"),
    [
        ("another agency", {"agency": "South District"}, False),
        ("older", {"when": "2026-06-01T00:00:00Z"}, False),
        ("not yet", {"when": "2026-12-01T00:00:00Z"}, False),
        ("the old one is trusted and it is not", {}, True),
    ],
)
def test_nobody_puts_another_s_word_right(why, said, trusted):
    old = about(DESK)
    new = record(supersedes=(old.id,), seen={"depth_dm": 90}, **{"when": LATER, **said})
    (place,) = view(DESK, old, new, trusted=[old] if trusted else [])
    assert place.superseded == frozenset(), why


def test_near_is_proposed_and_not_joined():
    twin = record(at=(-160.0201, 42.12), agency="South District")
    found = view(DESK, twin)
    assert len(found) == 2
    (match,) = likely_matches(map(Word.of, [DESK, twin]))
    assert {match.one, match.other} == {DESK.id, twin.id}
    assert match.same_water
    assert match.distance_m == pytest.approx(8.26, abs=0.05)  # 0.0001 deg of longitude at 42.12 N, on the sphere


def test_what_a_person_joined_is_not_proposed():
    twin = record(at=(-160.0201, 42.12), agency="South District")
    join = record(how="desk", of=(DESK.id, twin.id))
    assert len(view(DESK, twin, join)) == 1
    assert not [m for m in likely_matches(map(Word.of, [DESK, twin, join])) if {m.one, m.other} == {DESK.id, twin.id}]


def at_distance(metres, **changed):
    return replace(Word.of(record("X", (0.0, 0.0), **changed)), id="f" * 64, lat_deg=metres / 111_195.08)


@pytest.mark.parametrize(
    ("metres", "water", "proposed"),
    [
        (0.99 * SAME_WATER_M, "x ", True), (1.01 * SAME_WATER_M, "X", False),
        (0.99 * ANY_WATER_M, "Other", True), (1.01 * ANY_WATER_M, "Other", False),
    ],
)  # fmt: skip
def test_how_near_is_near(metres, water, proposed):
    here, there = Word.of(record("X", (0.0, 0.0))), at_distance(metres, water=water)
    assert bool(likely_matches([here, there])) == proposed


def test_a_match_over_the_antimeridian():
    east, west = record("Sea", (179.9999, -17.0)), record("Sea", (-179.9999, -17.0))
    (match,) = likely_matches(map(Word.of, [east, west]))
    assert match.distance_m < 30


@pytest.mark.parametrize(("share", "count"), [(0.99, 1), (1.01, 2)])
def test_a_record_far_away_cannot_pull_a_place_to_itself(share, count):
    here = Word.of(record("X", (0.0, 0.0)))
    there = replace(at_distance(share * FARTHEST_M), links=(here.id,), supersedes=(here.id,), when=LATER)
    found = places([here, there], NOW)
    assert len(found) == count
    assert {place.current.id for place in found} == ({there.id} if count == 1 else {here.id, there.id})


def test_a_record_that_names_one_that_did_not_come_stands_alone():
    (place,) = view(record(of=("0" * 64,), supersedes=("1" * 64,)))
    assert place.superseded == frozenset()
    assert place.current is not None


def test_nothing_is_nothing():
    assert places([], NOW) == ()
    assert likely_matches([]) == ()
