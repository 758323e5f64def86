"""Numbers from print and facts of the trade. Nothing in this file was computed by diproute.

The tolerance is the precision printed, or the looseness of the word ("about", "just over") beside the value.
"""

from dataclasses import replace

import pytest
from demo_flight import BUCKET, FRESH, FT, LIGHT, RIG, SEA_LEVEL_KG, TASK, changed, constant_power_chart

from diproute.constants import RESERVE_S
from diproute.records import Line
from diproute.sortie.cycle import RoundTrip, cycle
from diproute.sortie.duty import duty_left
from diproute.sortie.fuel_cycle import best
from diproute.sortie.hover_chart import hover_limit
from diproute.sortie.load import Place, load_sheet
from diproute.sortie.rig import Ferry
from diproute.units import parse

LB, GAL = 0.45359237, 3.785411784  # NIST SP 811 (2008) Appendix B, from memory


SEA_LEVEL = (Place("dip", 0.0, 288.15),)


def sheet(fuel_kg=150.0, places=SEA_LEVEL, **changes):
    return load_sheet(changed(RIG, **changes), changed(TASK, **changes), places, fuel_kg)


# Common practice, no published source
def test_the_light_bucket_of_216_gallons():
    litres = parse("216 gal", "volume", "test")
    assert litres == pytest.approx(820, rel=0.005)  # "about 820 L"
    # "That bucket full, with its rigging: just over 2100 lb, just under 1000 kg." The water alone weighs 1801 lb, so
    # bucket, head, line and rigging come to 300 lb or a little more: here 115 kg and a 125 ft line of 22.9 kg.
    full = sheet(bucket=replace(BUCKET, capacity_l=litres, empty_kg=115.0), fuel_kg=100.0)
    hanging = full.water_kg + sum(line.mass_kg for line in full.lines if line.name in {"bucket", "line", "gear"})
    assert full.fill == 1.0
    assert 2100 < hanging / LB < 2150
    assert 950 < hanging < 1000


# Common practice, no published source: "spoken of as 1500 lb (exact water: 1441 lb)"
def test_eighty_per_cent_of_it():
    got = sheet(bucket=replace(BUCKET, capacity_l=216 * GAL), fill=0.8)
    assert got.water_kg / LB == pytest.approx(1441, abs=0.5)
    assert got.water_kg / LB == pytest.approx(1500, rel=0.05)


# Common practice, no published source: "just under 2600 US gal: about 9800 L, close to 22 000 lb or 10 000 kg full"
def test_the_largest_buckets():
    litres = parse("2590 gal", "volume", "test")
    assert litres == pytest.approx(9800, rel=0.005)
    assert litres * FRESH == pytest.approx(10_000, rel=0.03)
    assert litres * FRESH / LB == pytest.approx(22_000, rel=0.03)


# Common practice, no published source: "usual setting on a hot day in a light helicopter: 80 % fuel, 80 % fill: about
# two hours of bucket work before refuelling"
def test_eighty_eighty_is_about_two_hours():
    task = changed(TASK, reserve_s=RESERVE_S.value, fuel=0.8, ferry=Ferry(180.0, 180.0, 720.0, "drop"))
    places = (Place("dip", 5500 * FT, 273.15 + 35.0), Place("drop", 6500 * FT, 273.15 + 35.0))
    got = best(RIG, task, places, cycle(RIG, RoundTrip(110.0, 95.0, 15.0, 15.0)))
    assert got.load.fill == 0.8  # the highest setting that lifts with that fuel on that day
    work_s = got.sortie.seconds - 720.0
    assert work_s / 3600 == pytest.approx(2.0, abs=0.2)


# Cycle check, computed by hand with illustrative times (not published): 2 NM legs at 90 kt; dip 30 s, drop 15 s,
# manoeuvre 60 s; then with 20 kt along the track
@pytest.mark.parametrize(
    ("out_kt", "back_kt", "seconds", "litres_an_hour_per_1000"), [(90, 90, 265.0, 13_585), (110, 70, 273.3, 13_172)]
)
def test_wind_never_averages_out(out_kt, back_kt, seconds, litres_an_hour_per_1000):
    helicopter = replace(LIGHT, manoeuvre_s=60.0)
    bucket = replace(BUCKET, fill_s=30.0, drop_s=15.0, capacity_l=1000.0)
    rig = changed(RIG, helicopter=helicopter, bucket=bucket, line=Line(0.0))
    leg_m = parse("2 NM", "length", "test")
    legs_s = (leg_m / parse(f"{speed} kt", "speed", "test") for speed in (out_kt, back_kt))
    got = cycle(rig, RoundTrip(*legs_s, 0.0, 0.0))
    assert got.seconds == pytest.approx(seconds, abs=0.05)
    assert 3600 / got.seconds == pytest.approx(litres_an_hour_per_1000 / 1000, abs=0.0005)
    answer = best(rig, changed(TASK, fuel=0.3, fill=0.7), SEA_LEVEL, got)
    assert answer.sortie.litres_per_hour / 0.7 == pytest.approx(litres_an_hour_per_1000, abs=0.5)


# AMC1 SPO.SPEC.HESLO.100 (g), UK CAA Regulatory Library: the mass limit is taken at the higher of pick-up and drop-off
@pytest.mark.parametrize(("dip_ft", "drop_ft", "governs"), [(3000, 6000, "drop"), (7000, 2000, "dip")])
def test_the_higher_of_pick_up_and_drop_governs(dip_ft, drop_ft, governs):
    places = (Place("dip", dip_ft * FT, 288.15), Place("drop", drop_ft * FT, 288.15))
    assert sheet(places=places, fuel_kg=350.0).place == governs


# 14 CFR 91.151(b): 20 minutes at normal cruise for rotorcraft, VFR; read in print
def test_the_reserve_is_twenty_minutes():
    assert RESERVE_S.value == 20 * 60


# Leishman, Principles of Helicopter Aerodynamics, from memory; constant power gives thrust as sigma^(1/3). Factors at
# 1, 2, 4, 5, 6, 8 and 10 thousand feet of density altitude: computed from that formula and ICAO Doc 7488's densities
@pytest.mark.parametrize(
    ("thousand_ft", "standard_celsius", "factor"),
    [(1, 13.02, 0.9903), (2, 11.04, 0.9806), (4, 7.08, 0.9612), (5, 5.09, 0.9516), (6, 3.11, 0.9420),
     (8, -0.85, 0.9229), (10, -4.81, 0.9039)],
)  # fmt: skip
def test_the_constant_power_chart(thousand_ft, standard_celsius, factor):
    fine = constant_power_chart(tuple(500 * FT * n for n in range(25)), tuple(253.15 + 2.0 * n for n in range(31)))
    got = float(hover_limit(fine, thousand_ft * 1000 * FT, 273.15 + standard_celsius)) / SEA_LEVEL_KG
    assert got == pytest.approx(factor, abs=0.00006)


# NWCG "6 Minutes for Safety", Aircraft and Pilot Carding: 8 h of flight a day, 14 h of duty, 36 h in 6 days running
def test_duty_limits_of_a_fresh_pilot_and_of_a_tired_one():
    fresh = duty_left()
    assert (fresh.flight_s, fresh.duty_s) == (8 * 3600, 14 * 3600)
    assert duty_left(flown_before_s=[8 * 3600] * 4).flight_s == 4 * 3600


# NWCG PMS 510 load calculation, from memory: operating = equipped + crew + fuel; adjusted = chart - reduction;
# selected = the lesser of adjusted and certificated; allowable payload = selected - operating
def test_the_lines_of_the_form_add_up():
    mass = {line.name: line.mass_kg for line in sheet(fuel_kg=300.0, hover_margin_kg=20.0).lines}
    assert mass["operating mass"] == mass["equipped"] + mass["crew"] + mass["fuel"]
    assert mass["adjusted"] == pytest.approx(mass["chart limit"] - mass["weight reduction"] - mass["hover margin"])
    assert mass["selected"] == min(mass["adjusted"], mass["certificated limit"])
    assert mass["allowable payload"] == mass["selected"] - mass["operating mass"]


# FAA AMT Handbook General ch. 4: Jet A 6.7 lb a gallon, 0.8028 kg/L; read in print
def test_fuel_weighs_what_the_handbook_says():
    density = parse("6.7 lb/gal", "density", "test")
    assert density == pytest.approx(0.8028, abs=0.00005)
    assert replace(LIGHT, fuel_density_kg_l=density).fuel_capacity_kg == pytest.approx(433.5, abs=0.05)


# Interagency hover rule, from memory: no ground effect is ever counted on with a bucket. The height of the hover above
# the surface below does not come into the load at all: only pressure altitude and temperature do
def test_no_ground_effect_is_counted_on():
    short, long = (sheet(line=Line(length, 0.0)) for length in (0.0, 60.0))
    assert short.hoge_limit_kg == long.hoge_limit_kg
