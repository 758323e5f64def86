"""Sensitivity: the same seed gives the same cases, and the plan lies inside its own range."""

from diproute.planning.plan import assess
from diproute.planning.sensitivity import sensitivity_of, with_direction, with_gusts, with_speed, work_cases
from diproute.records import Wind


def test_the_same_seed_gives_the_same_answer_and_another_seed_another(sample_fields, sample_flown, sample_assessed):
    order = range(len(sample_assessed.sites))
    again = [
        sensitivity_of(work_cases(sample_fields, sample_assessed.sites, sample_flown, seed), order) for seed in (0, 1)
    ]
    assert again[0] == sample_assessed.doubt
    assert again[1] != sample_assessed.doubt


def test_the_plan_lies_inside_its_range(sample_assessed):
    for site, found in zip(sample_assessed.sites, sample_assessed.doubt.sites, strict=True):
        assert (found is None) == (site.rank is None)
        if found is not None:
            assert found.low <= site.sortie.litres_per_hour <= found.high, site.name
            assert 0 < found.works <= 1
            assert 0 <= found.first <= found.works


def test_somebody_is_first_in_every_case_in_which_anything_works(sample_assessed):
    first = sum(found.first for found in sample_assessed.doubt.sites if found is not None)
    assert 0.99 <= first <= 1 + 1e-9


def test_the_cases_are_counted(small_plan):
    assert (small_plan.doubt.cases, small_plan.doubt.seed) == (400, 0)


def test_nothing_usable_no_sensitivity():
    assert sensitivity_of(None, ()) is None


def test_direction_and_gusts_are_in_the_cases():
    wind = Wind((0.0,), (350.0,), (5.0,), 9.0, (330.0, 10.0))
    turned = with_direction(wind, 20.0)
    assert (turned.from_deg, turned.between_deg) == ((10.0,), (350.0, 30.0))
    assert [with_gusts(wind, change).gust_m_s for change in (-6.0, 2.0)] == [None, 11.0]


def test_gusts_stay_in_the_cases(prepared_of):
    """The pond has one lane: gusts that close it in the plan close it in the cases, and the range holds the plan."""
    prepared = prepared_of({"weather.wind": "09008G16KT"})
    plan = assess(prepared, prepared.incident.weather)
    assert plan.doubt is not None
    for site, found in zip(plan.sites, plan.doubt.sites, strict=True):
        if found is not None:
            assert found.low <= site.sortie.litres_per_hour <= found.high, site.name


def test_a_wind_with_less_or_more_speed_keeps_its_gusts_above_it():
    wind = Wind((0.0,), (240.0,), (5.0,), 9.0)
    assert [with_speed(wind, change).gust_m_s for change in (-6.0, -2.0, 0.0, 2.0)] == [None, 7.0, 9.0, 11.0]
    assert with_speed(Wind((0.0,), (240.0,), (5.0,)), 2.0).gust_m_s is None
