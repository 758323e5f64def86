"""One cycle law: the site judged in full and many points in many kinds of weather give the same water an hour."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_incident import place

from diproute.planning.air import one_air
from diproute.planning.plan import assess
from diproute.planning.scenarios import Flights, Spots, best_loads
from diproute.records import Line, keys
from diproute.sortie.cycle import RoundTrip, cycle
from diproute.sortie.fuel_cycle import best
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry, Rig, Task

DROPS = [{"name": "Head", "at": place(0, 0), "share": 3.0}, {"name": "Heel", "at": place(-1600, 1000), "share": 1.0}]


@pytest.fixture(scope="module")
def far_drops(prepared_of):
    prepared = prepared_of({"drop": DROPS, "weather.temperature": "42 degC"})
    return prepared, assess(prepared, prepared.incident.weather)


def test_fuel_is_there_for_the_farthest_drop_last(far_drops):
    """The last load goes to the farthest drop, and the reserve is still in the tank at home."""
    prepared, plan = far_drops
    craft, beyond = prepared.incident.helicopter, []
    assert plan.usable
    for site in plan.usable:
        route, sortie = site.route, site.sortie
        parts = {part.name: part for part in site.cycle.parts}
        before = (keys.LIFT, keys.TRANSIT_LOADED, keys.DROP_LOWER)  # from the dip to the drop, the mean of the drops
        mean_s = sum(parts[name].seconds for name in before if name in parts)
        after = (keys.TRANSIT_EMPTY, keys.LOWER, keys.DROP_LIFT, keys.DIP_TURN, keys.DROP_TURN)
        spared = sum(parts[name].burn_kg for name in after if name in parts)
        beyond_s = max(leg.seconds for leg in route.loaded) - mean_s
        used = sortie.cycles * site.cycle.burn_kg - spared + beyond_s * craft.burn_loaded_kg_s
        ferries = craft.burn_empty_kg_s * (route.from_base.seconds + route.to_base.seconds)
        assert site.load.fuel_kg - ferries - used >= sortie.reserve_kg - 1e-6
        beyond.append(beyond_s)
    assert max(beyond) > 10.0


seconds = st.floats(20.0, 900.0)
lifts = st.floats(3.0, 60.0)
turns = st.floats(0.0, 12.0)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(seconds, seconds, lifts, lifts, lifts, lifts, turns, turns), st.tuples(seconds, seconds),
    st.floats(0.0, 3000.0), st.floats(0.0, 3000.0), st.floats(280.0, 315.0),
    st.tuples(st.booleans(), st.booleans(), st.booleans()),
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
        climbs = {"dip": incident.helicopter.lift_speed_m_s, "drop": 0.0}
        places = [
            Place(name, here.pressure_altitude_m, here.temperature_k, climbs[name]) for name, here in airs.items()
        ]
        ferry = Ferry(*ferry_s, incident.base.refuel_s, "drop") if based else None
        got = best(rig, Task.of(incident, water_kg_l, ferry), places, cycle(rig, RoundTrip(*way)))
        rates.append(np.nan if got.sortie is None else got.sortie.litres_per_hour)
    alone = np.nan if np.isnan(rates).all() else np.nanmax(rates)
    assert many.litres_per_hour[0, 0] == pytest.approx(alone, rel=1e-9, nan_ok=True)
