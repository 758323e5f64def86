"""One round trip between the water and the fire, part by part.

The two transits come timed with their own wind (a wind never averages out over both) and burn at their own rates.
Filling, lifting, dropping and lowering burn at the hover rate; turns, manoeuvring and waiting are flown slowly and
burn at the largest rate that the helicopter's file gives.
"""

from __future__ import annotations

from diproute.errors import RangeError
from diproute.records import Bucket, Cycle, CyclePart, Helicopter, Line

FILL, LIFT, DEPARTURE, LOADED, DROP = "fill", "lift", "departure turn", "transit loaded", "drop"
EMPTY, ARRIVAL, WAIT, LOWER, MANOEUVRE = "transit empty", "arrival turn", "wait for the hole", "lower", "manoeuvre"
AFTER_DROP = frozenset({EMPTY, ARRIVAL, WAIT, LOWER})
IN_THE_HOLE = frozenset({LOWER, FILL, LIFT})


def cycle(
    helicopter: Helicopter,
    bucket: Bucket,
    line: Line,
    *,
    loaded_s: float,
    empty_s: float,
    lift_m: float,
    lower_m: float,
    departure_turn_s: float = 0.0,
    arrival_turn_s: float = 0.0,
    wait_s: float = 0.0,
) -> Cycle:
    """Put the parts of a cycle in flying order, each with its seconds and fuel.

    Parameters
    ----------
    helicopter, bucket, line
        Give the rates of burn, the vertical speeds, and the times to fill, drop and manoeuvre.
    loaded_s, empty_s
        Time of the leg out with the load and of the leg back [s]; for several drops their mean by share.
    lift_m, lower_m
        Straight up before moving off, and straight down at the end of the arrival [m].
    departure_turn_s, arrival_turn_s
        Turning between the courses at the dip and the legs' own [s].
    wait_s
        Waiting until the dip is free when several helicopters share it [s] (`diproute.sortie.queueing.wait`).

    Returns
    -------
    Cycle
        The manoeuvring of the whole cycle stands last; a wait of nothing is left out.

    Raises
    ------
    RangeError
        A time or a height that is negative or not known.
    """
    given = {
        "loaded_s": loaded_s, "empty_s": empty_s, "lift_m": lift_m, "lower_m": lower_m,
        "departure_turn_s": departure_turn_s, "arrival_turn_s": arrival_turn_s, "wait_s": wait_s,
    }  # fmt: skip
    for name, value in given.items():
        if not value >= 0.0:
            raise RangeError(f"{name} of {value!r} came; give 0 or more", where=name, got=value)
    hover = helicopter.burn_hover_kg_s
    slow = max(hover, helicopter.burn_loaded_kg_s, helicopter.burn_empty_kg_s)
    parts = (
        (FILL, bucket.fill_s + line.settle_s, hover),
        (LIFT, lift_m / helicopter.lift_speed_m_s, hover),
        (DEPARTURE, departure_turn_s, slow),
        (LOADED, loaded_s, helicopter.burn_loaded_kg_s),
        (DROP, bucket.drop_s, hover),
        (EMPTY, empty_s, helicopter.burn_empty_kg_s),
        (ARRIVAL, arrival_turn_s, slow),
        (WAIT, wait_s, slow),
        (LOWER, lower_m / helicopter.lower_speed_m_s, hover),
        (MANOEUVRE, helicopter.manoeuvre_s, slow),
    )
    return Cycle(tuple(CyclePart(name, s, s * rate) for name, s, rate in parts if name != WAIT or s > 0.0))


def after_drop(trip: Cycle) -> tuple[float, float]:
    """Seconds and fuel [s, kg] of the parts after the drop: what the last cycle leaves out when it goes straight home.

    The manoeuvring stays in whole, which is on the safe side.
    """
    left = [part for part in trip.parts if part.name in AFTER_DROP]
    return sum(part.seconds for part in left), sum(part.burn_kg for part in left)


def hole_seconds(trip: Cycle) -> float:
    """Seconds of a cycle during which nobody else can use the dip: lowering, filling, lifting [s]."""
    return sum(part.seconds for part in trip.parts if part.name in IN_THE_HOLE)
