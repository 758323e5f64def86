"""What a changed plan tells: who is first, what moves, opens and closes, and why."""

from composed import changed, full, with_sites

from diproute.document import Finding
from diproute.planning.changed import tell
from diproute.wording import say

HEAVY = Finding(code="no-lift")


def faster(site, share):
    return changed(site, sortie=changed(site.sortie, litres_per_hour=site.sortie.litres_per_hour * share))


def refused(site):
    return changed(site, rank=None, refused=(HEAVY,))


def codes(found):
    return [one.code for one in found]


def test_the_same_plan_tells_that_nothing_changes():
    assert codes(tell(full(), full())) == ["nothing-moves"]


def test_a_water_that_brings_less_tells_it_with_its_setting():
    first, *others = full().suitable
    less = changed(faster(first, 0.8), load=changed(first.load, fill=0.7))
    found = tell(with_sites(full(), first, *others), with_sites(full(), less, *others))
    assert codes(found) == ["first-stays", "rate-moves"]
    assert found[1].values["fill_before"] == first.load.fill
    assert found[1].values["fill"] == 0.7
    assert "bucket setting" in say(found[1])


def test_a_first_place_that_changes_hands_says_what_became_of_the_one_before():
    first, second, *_ = full().suitable
    less = faster(first, 0.5)
    found = tell(with_sites(full(), first, second), with_sites(full(), second, less))
    assert codes(found) == ["first-instead", "rate-moves"]
    assert found[0].values["site"] == second.water
    assert found[0].values["before"] == first.water
    assert codes(found[0].values["why"]) == ["rate-moves"]


def test_what_closes_and_opens_gives_its_reason():
    first, second, *_ = full().suitable
    both, one = with_sites(full(), first, second), with_sites(full(), second, refused(first))
    closed, opened = tell(both, one), tell(one, both)
    assert codes(closed) == ["first-instead", "site-closes"]
    assert codes(closed[1].values["why"]) == ["no-lift"]
    assert codes(opened) == ["first-instead", "site-opens"]
    assert codes(opened[1].values["why"]) == ["no-lift"]


def test_none_and_some_again():
    first, *_ = full().suitable
    some, none = with_sites(full(), first), with_sites(full(), refused(first))
    assert codes(tell(some, none)) == ["none-any-more", "site-closes"]
    assert codes(tell(none, some)) == ["first-at-all", "site-opens"]
    assert codes(tell(none, none)) == ["nothing-moves"]


def test_a_water_that_only_one_plan_looks_at():
    first, second, *_ = full().suitable
    (opens,) = [
        one for one in tell(with_sites(full(), first), with_sites(full(), first, second)) if one.code == "site-opens"
    ]
    assert opens.values["why"] is None
    assert "not looked at" in say(opens)
