"""Plans with names and values that hypothesis makes, for the tests of exchange files."""

from __future__ import annotations

from typing import Any

from composed import changed, plain
from exchange_scene import at_offset, renamed
from hypothesis import strategies as st

from diproute.document import Plan
from diproute.document.fields import rounded

NAMES = st.text(min_size=1, max_size=24)


def numbers(low: float, high: float, decimals: int) -> Any:
    """Numbers as the plan rounds them."""
    return st.floats(low, high).map(lambda value: rounded(value, decimals))


def maybe(values: Any) -> Any:
    """Those, or not known."""
    return st.none() | values


@st.composite
def variants(draw: Any) -> Plan:
    """The plain plan with other names, places and values; of the first site much may be unknown."""
    plan = renamed(plain(), draw(NAMES))
    best, *others = plan.sites
    tenths = numbers(-400, 9000, 1)
    load = changed(best.load, water_l=draw(maybe(tenths)), margin_kg=draw(maybe(tenths)), fuel_kg=draw(tenths))
    best = changed(
        best, lat=draw(numbers(-80, 84, 6)), lon=draw(numbers(-180, 180, 6)), elevation_m=draw(maybe(tenths)),
        depth_m=draw(maybe(tenths)), density_altitude_m=draw(maybe(tenths)), load=draw(st.sampled_from([load, None])),
        arrival=draw(st.sampled_from([best.arrival, None])),
    )  # fmt: skip
    plan = changed(plan, sites=(best, *others), declination_deg=draw(numbers(-180, 180, 2)))
    return at_offset(changed(plan, display=draw(st.sampled_from(["us", "metric"]))), draw(st.sampled_from([-10, 5.5])))
