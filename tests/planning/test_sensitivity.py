"""Sensitivity: the same seed gives the same answer, and the plan lies inside its own range."""

from diproute.planning.sensitivity import sensitivity_of


def test_the_same_seed_gives_the_same_answer_and_another_seed_another(small_scene, small_plan):
    assert sensitivity_of(small_scene, small_plan.sites, seed=0) == small_plan.doubt
    assert sensitivity_of(small_scene, small_plan.sites, seed=1) != small_plan.doubt


def test_the_plan_lies_inside_its_range(sample_plan):
    for site, stray in zip(sample_plan.sites, sample_plan.doubt.sites, strict=True):
        assert (stray is None) == (site.rank is None)
        if stray is not None:
            assert stray.low <= site.sortie.litres_per_hour <= stray.high, site.name
            assert 0 < stray.works <= 1
            assert 0 <= stray.first <= stray.works


def test_somebody_is_first_in_every_draw_in_which_anything_works(sample_plan):
    first = sum(stray.first for stray in sample_plan.doubt.sites if stray is not None)
    assert 0.99 <= first <= 1 + 1e-9


def test_the_sentence_names_what_was_drawn(small_plan):
    because = small_plan.doubt.because
    assert "temperature ± 3 °C" in because
    assert "wind ± 5 kt" in because
    assert "± 20 %" in because
    assert small_plan.usable[0].name in because


def test_nothing_usable_no_doubt(small_scene, small_plan):
    assert sensitivity_of(small_scene, [site for site in small_plan.sites if site.rank is None]) is None
