"""Several helicopters and the pilot's day, through whole plans."""

import pytest

from diproute.planning.duty import duty_plan

MEDIUM = {"helicopter": {"name": "demo-medium", "crew": "190 kg", "count": 1}, "bucket": {"name": "demo-1060"}}


@pytest.fixture(scope="module")
def fleets(plan_of):
    return {count: plan_of({"helicopter.count": count}).fleet for count in (1, 2, 3, 6)}


def test_one_helicopter_needs_no_sharing_out(fleets):
    assert fleets[1] is None


def test_several_never_deliver_more_than_so_many_times_one(fleets, small_plan):
    alone = max(site.sortie.litres_per_hour for site in small_plan.usable)
    rates = [alone, fleets[2].litres_per_hour, fleets[3].litres_per_hour, fleets[6].litres_per_hour]
    assert rates[1:] == sorted(rates[1:])
    assert rates[1] > rates[0]
    for count, rate in zip((2, 3, 6), rates[1:], strict=True):
        # several keep their legs apart, one alone does not: the search may find a little more there
        assert rate <= count * alone * 1.02


def test_the_parts_make_the_whole_and_every_helicopter_is_counted(fleets):
    for count in (2, 3, 6):
        fleet = fleets[count]
        assert sum(part.helicopters for part in fleet.sites) <= count == fleet.count
        assert sum(part.litres_per_hour for part in fleet.sites) == pytest.approx(fleet.litres_per_hour)
        assert all(part.wait_s >= 0 for part in fleet.sites)


def test_two_kinds_deliver_more_than_either(plan_of, small_plan):
    both = plan_of({"more": [MEDIUM]}).fleet
    assert both.count == 2
    assert {part.helicopter for part in both.sites} == {small_plan.incident.helicopter.name, "Demo medium"}
    assert both.litres_per_hour > small_plan.usable[0].sortie.litres_per_hour


def test_the_pilot_s_day_counts_whole_fuel_cycles(small_plan):
    """8 h of flight a day, 14 h of duty: NWCG 6 Minutes for Safety, Aircraft and Pilot Carding."""
    sortie, incident = small_plan.usable[0].sortie, small_plan.incident
    refuel = 0.0 if incident.base is None else incident.base.refuel_s
    by_flight = 8 * 3600 // (sortie.seconds - refuel)
    by_duty = (14 * 3600 + refuel) // sortie.seconds
    assert small_plan.duty.light_left_s is not None
    by_light = (small_plan.duty.light_left_s + refuel) // sortie.seconds
    assert small_plan.duty.fuel_cycles == min(by_flight, by_duty, by_light)
    assert small_plan.duty.litres == pytest.approx(small_plan.duty.fuel_cycles * sortie.litres)


def test_hours_flown_before_leave_fewer(plan_of, small_plan):
    tired = plan_of({"duty": {"flown_today": "2 h", "on_duty": "5 h", "flown_before": ["8 h"] * 4}}).duty
    assert tired.flight_left_s == 2 * 3600  # 36 h in six days, 34 of them flown
    assert tired.fuel_cycles < small_plan.duty.fuel_cycles
    assert (tired.flight_limit, small_plan.duty.flight_limit) == ("six days", "day")


def test_no_usable_site_no_day(small_plan):
    assert duty_plan(small_plan.incident, [site for site in small_plan.sites if site.rank is None]) is None
