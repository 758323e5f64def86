"""One cycle law: screening, the site judged in full and the scenarios give the same water an hour for the same legs."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_incident import place

from diproute.planning.air import one_air
from diproute.planning.scenarios import Flights, Spots, best_loads, work_scenarios
from diproute.planning.screening import Swept, Times, water_per_hour
from diproute.planning.travel_fields import course_of, turned_s
from diproute.records import Line
from diproute.sites.approach import LegEnds
from diproute.sites.clearance import SurveyArrays
from diproute.sortie.cycle import RoundTrip, cycle, farthest_drop_s
from diproute.sortie.fuel_cycle import best
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry, Rig, Task

DROPS = [{"name": "Head", "at": place(0, 0), "share": 3.0}, {"name": "Heel", "at": place(-1600, 1000), "share": 1.0}]
_PLACE = ("x_m", "y_m", "level_low_m", "level_high_m")


def legs_as_flown(prepared, sites):
    """What screening would take, with the legs as flown."""
    routes, main = [site.route for site in sites], prepared.main_drop
    clearances = [site.clearance for site in sites]
    points = Swept(
        *(np.array([getattr(site.point, name) for site in sites]) for name in _PLACE),
        np.array([site.point.water.density_kg_l for site in sites]),
        np.ones(len(sites), dtype=bool),
        SurveyArrays(
            clearances[0].bearing_deg,
            np.array([clearance.line_needed_m for clearance in clearances]),
            np.array([clearance.lift_out_m for clearance in clearances]),
            np.array([clearance.lift_in_m for clearance in clearances]),
        ),
    )
    ends = (
        [course_of(route.loaded[main], "start") for route in routes],
        [course_of(route.empty[main], "end") for route in routes],
        [turned_s(route.loaded[main], "start") for route in routes],
        [turned_s(route.empty[main], "end") for route in routes],
    )
    ferries = None
    if prepared.base is not None:
        ferries = tuple(np.array([getattr(route, way).seconds for route in routes]) for way in ("from_base", "to_base"))
    times = Times(
        np.array([[leg.seconds for leg in route.loaded] for route in routes]).T,
        np.array([[leg.seconds for leg in route.empty] for route in routes]).T,
        np.array([[leg.altitude_m[-1] - leg.hanging_m for leg in route.loaded] for route in routes]).T,
        LegEnds(*map(np.array, ends)),
        ferries,
    )
    return points, times


@pytest.fixture(scope="module")
def assessed(prepared_of):
    """Incidents with their plans: several drops, heat, part fills, fixed fuel and fill, no base."""
    from diproute.planning.plan import assess

    asked = {
        "as it is": {},
        "two drops in the heat": {"drop": DROPS, "weather.temperature": "42 degC"},
        "no base": {"base": None},
        "fixed fuel": {"helicopter.fuel": "60 %"},
        "fixed fill, a margin": {"bucket.fill": "70 %", "limits.hover_margin": "40 kg"},
    }
    made = {name: prepared_of(changes) for name, changes in asked.items()}
    heat = made["two drops in the heat"]
    made["part fills"] = replace(
        heat, incident=replace(heat.incident, bucket=replace(heat.incident.bucket, part_fill=True))
    )
    return {name: (prepared, assess(prepared, prepared.incident.weather)) for name, prepared in made.items()}


NAMES = ["as it is", "two drops in the heat", "no base", "fixed fuel", "fixed fill, a margin", "part fills"]


@pytest.mark.parametrize("name", NAMES)
def test_screening_with_the_legs_as_flown_is_the_site_judged_in_full(assessed, name):
    prepared, plan = assessed[name]
    judged = [site.sortie.litres_per_hour for site in plan.usable]
    assert len(judged) >= 3
    points, times = legs_as_flown(prepared, plan.usable)
    screened = water_per_hour(prepared, prepared.incident.weather, points, times)
    assert screened == pytest.approx(judged, rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_scenarios_with_the_legs_as_flown_are_the_site_judged_in_full(assessed, name):
    prepared, plan = assessed[name]
    sites, craft = plan.usable, prepared.incident.helicopter
    _, times = legs_as_flown(prepared, sites)
    pairs = [site.approach.pair for site in sites]
    extra_s = farthest_drop_s(craft, times.loaded_s, prepared.shares)
    flights = Flights(
        (prepared.shares @ times.loaded_s)[:, None],
        (prepared.shares @ times.empty_s)[:, None],
        *(np.array(values)[:, None] for values in zip(
            *((out.lift_m, into.lift_m, out.turn_s, into.turn_s) for into, out in pairs), strict=True
        )),
        None if times.ferries is None else times.ferries[0][:, None],
        None if times.ferries is None else (times.ferries[1] + extra_s)[:, None],
        np.ones(1),
    )  # fmt: skip
    got = work_scenarios(prepared, sites, [prepared.incident.weather.air], flights)
    assert got.litres_per_hour[:, 0] == pytest.approx([s.sortie.litres_per_hour for s in sites], rel=1e-9)
    assert got.cycle_s[:, 0] == pytest.approx([s.cycle.seconds for s in sites], rel=1e-9)
    assert got.fuel_kg[:, 0] == pytest.approx([s.load.fuel_kg for s in sites], rel=1e-9)
    assert got.margin_kg[:, 0] == pytest.approx([s.load.margin_kg for s in sites], abs=1e-6)
    assert got.fill[:, 0] == pytest.approx([s.load.fill for s in sites])
    assert got.line_m[:, 0] == pytest.approx([s.line.length_m for s in sites])


def test_fuel_is_there_for_the_farthest_drop_last(assessed):
    """The last load goes to the farthest drop, and the reserve is still in the tank at home."""
    prepared, plan = assessed["two drops in the heat"]
    craft, further_s = prepared.incident.helicopter, []
    for site in plan.usable:
        route, sortie = site.route, site.sortie
        spared = sum(p.burn_kg for p in site.cycle.parts if p.name in {"transit empty", "arrival turn", "lower"})
        (mean_s,) = (p.seconds for p in site.cycle.parts if p.name == "transit loaded")
        beyond_s = max(leg.seconds for leg in route.loaded) - mean_s
        further_s.append(beyond_s)
        used = sortie.cycles * site.cycle.burn_kg - spared + beyond_s * craft.burn_loaded_kg_s
        ferries = craft.burn_empty_kg_s * (route.from_base.seconds + route.to_base.seconds)
        assert site.load.fuel_kg - ferries - used >= sortie.reserve_kg - 1e-6
    assert max(further_s) > 10.0


seconds = st.floats(20.0, 900.0)
lifts = st.floats(3.0, 60.0)
turns = st.floats(0.0, 40.0)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(seconds, seconds, lifts, lifts, turns, turns), st.tuples(seconds, seconds), st.floats(0.0, 3000.0),
    st.floats(0.0, 3000.0), st.floats(280.0, 315.0), st.tuples(st.booleans(), st.booleans(), st.booleans()),
)  # fmt: skip
def test_one_site_and_many_at_once_by_the_same_law(small_prepared, way, ferry_s, level_m, drop_m, kelvin, choices):
    based, part_fill, salt = choices
    incident = small_prepared.incident
    incident = replace(
        incident,
        base=incident.base if based else None,
        bucket=replace(incident.bucket, part_fill=part_fill),
        lines=(Line(0.0), Line(30.0, 24.0, 6.0), Line(60.0, 48.0, 12.0)),
    )
    air = replace(incident.weather.air, temperature_k=kelvin)
    water_kg_l = 1.025 if salt else 0.9991
    needed_m = 20.0
    spots = Spots(np.array([level_m]), np.array([water_kg_l]), np.array([needed_m]), np.array([[drop_m]]))
    column = [np.array([[value]]) for value in way]
    ends = [np.array([[value]]) for value in ferry_s] if based else [None, None]
    many = best_loads(incident, spots, [air], Flights(*column, *ends, np.ones(1)))
    rates = []
    for line in incident.lines[1:]:
        rig = Rig.of(incident, line)
        heights = {"dip": level_m + way[2] + rig.hanging_m, "drop": drop_m + rig.hanging_m}
        airs = {name: one_air(air, height) for name, height in heights.items()}
        places = [Place(name, here.pressure_altitude_m, here.temperature_k) for name, here in airs.items()]
        ferry = Ferry(*ferry_s, incident.base.refuel_s, "drop") if based else None
        got = best(rig, Task.of(incident, water_kg_l, ferry), places, cycle(rig, RoundTrip(*way)))
        rates.append(np.nan if got.sortie is None else got.sortie.litres_per_hour)
    alone = np.nan if np.isnan(rates).all() else np.nanmax(rates)
    assert many.litres_per_hour[0, 0] == pytest.approx(alone, rel=1e-9, nan_ok=True)
