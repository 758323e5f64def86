"""One round trip between the water and the fire, part by part: the one law for a site, and for many at once.

The two transits come timed with their own wind (a wind never averages out over both) and burn at their own rates.
Filling, lifting, dropping, lowering and turning on the spot burn at the hover rate; manoeuvring and waiting are flown
slowly and burn at the largest rate that the helicopter's file gives.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F64, Cycle, CyclePart, Helicopter, keys
from diproute.sortie.rig import Many, Rig


@dataclass(frozen=True, slots=True)
class RoundTrip:
    """What a cycle flies at one site, or at many: arrays broadcast, and NaN cannot be flown.

    Parameters
    ----------
    loaded_s, empty_s
        Time of the leg out with the load and of the leg back, between lift and lower [s]; for several drops their mean
        by share.
    lift_m, lower_m
        Straight up from the dip before moving off, and straight down to it at the end of the arrival [m].
    drop_lower_m, drop_lift_m
        Straight down to the drop with the load, and straight up from it [m].
    dip_turn_s, drop_turn_s
        Pedal turns on the spot between the courses of arrival and departure [s].
    wait_s
        Waiting until the dip is free when several helicopters share it [s] (`diproute.sortie.queueing.wait`).
    fixed
        Factor on the times that do not depend on the way: filling, dropping and manoeuvring.
    """

    loaded_s: Many
    empty_s: Many
    lift_m: Many
    lower_m: Many
    drop_lower_m: Many = 0.0
    drop_lift_m: Many = 0.0
    dip_turn_s: Many = 0.0
    drop_turn_s: Many = 0.0
    wait_s: Many = 0.0
    fixed: Many = 1.0


@dataclass(frozen=True, slots=True)
class Cost:
    """What a cycle takes, and what of it lies after the drop, which the last one leaves out when it goes straight home.

    The manoeuvring stays in whole, which is on the safe side.
    """

    seconds: F64
    burn_kg: F64
    after_s: F64
    after_kg: F64


def _parts(rig: Rig, trip: RoundTrip) -> tuple[tuple[str, Many, float], ...]:
    """Key, time [s] and rate of burn [kg/s] of every part, in flying order."""
    craft, bucket = rig.helicopter, rig.bucket
    hover = craft.burn_hover_kg_s
    slow = max(hover, craft.burn_loaded_kg_s, craft.burn_empty_kg_s)
    return (
        (keys.FILL, trip.fixed * (bucket.fill_s + rig.line.settle_s), hover),
        (keys.LIFT, trip.lift_m / craft.lift_speed_m_s, hover),
        (keys.TRANSIT_LOADED, trip.loaded_s, craft.burn_loaded_kg_s),
        (keys.DROP_LOWER, trip.drop_lower_m / rig.lower_m_s, hover),
        (keys.DROPPING, trip.fixed * bucket.drop_s, hover),
        (keys.DROP_TURN, trip.drop_turn_s, hover),
        (keys.DROP_LIFT, trip.drop_lift_m / craft.lift_speed_m_s, hover),
        (keys.TRANSIT_EMPTY, trip.empty_s, craft.burn_empty_kg_s),
        (keys.WAIT, trip.wait_s, slow),
        (keys.LOWER, trip.lower_m / rig.lower_m_s, hover),
        (keys.DIP_TURN, trip.dip_turn_s, hover),
        (keys.MANOEUVRE, trip.fixed * craft.manoeuvre_s, slow),
    )


def cycle(rig: Rig, trip: RoundTrip) -> Cycle:
    """Put the parts of one site's cycle in flying order, each with its seconds and fuel.

    Parameters
    ----------
    rig
        Gives the rates of burn, the vertical speeds, and the times to fill, drop and manoeuvre.
    trip
        Single values, all known.

    Returns
    -------
    Cycle
        The manoeuvring of the whole cycle stands last; what takes no time is left out of `keys.MAY_BE_NOTHING`.

    Raises
    ------
    RangeError
        A time or a height that is negative or not known.
    """
    for name in (field.name for field in fields(trip)):
        value = getattr(trip, name)
        if not value >= 0.0:
            raise RangeError(f"{name} of {value!r} came; give 0 or more", where=name, got=value)
    told = ((key, float(seconds), rate) for key, seconds, rate in _parts(rig, trip))
    return Cycle(
        tuple(CyclePart(key, s, s * rate) for key, s, rate in told if key not in keys.MAY_BE_NOTHING or s > 0.0)
    )


def cost(rig: Rig, trip: RoundTrip) -> Cost:
    """Add up the cycles of many sites and weathers at once.

    Parameters
    ----------
    rig, trip
        As for `cycle`, with arrays that broadcast; NaN stays NaN.

    Returns
    -------
    Cost
        Time and fuel [s, kg] of each cycle in the shape that the trip broadcasts to, the same sums that `cycle`'s
        parts have.
    """
    seconds = burn = after_s = after_kg = np.zeros(())
    for key, part, rate in _parts(rig, trip):
        seconds, burn = seconds + part, burn + part * rate
        if key in keys.AFTER_DROP:
            after_s, after_kg = after_s + part, after_kg + part * rate
    return Cost(seconds, burn, after_s, after_kg)


def cost_of(one: Cycle) -> Cost:
    """Add up a cycle that stands part by part [s, kg]."""
    after = [part for part in one.parts if part.name in keys.AFTER_DROP]
    sums = (one.seconds, one.burn_kg, sum(part.seconds for part in after), sum(part.burn_kg for part in after))
    return Cost(*(np.asarray(value, dtype=np.float64) for value in sums))


def farthest_drop_s(helicopter: Helicopter, loaded_s: npt.ArrayLike, shares: F64) -> F64:
    """Give what the last cycle takes beyond the mean when it serves the farthest drop, as time at the empty rate [s].

    Parameters
    ----------
    helicopter
        Gives the rates of burn: lifting and lowering hover, the way between is flown loaded, and all of it counts at
        the larger of the two.
    loaded_s
        Loaded leg to each drop, lift and lower included [s], shape (drops,) or (drops, points).
    shares
        Share of the loads that each drop gets.
    """
    each = np.asarray(loaded_s, dtype=np.float64)
    beyond: F64 = each.max(axis=0) - shares @ each
    most_kg_s = max(helicopter.burn_loaded_kg_s, helicopter.burn_hover_kg_s)
    return beyond * max(1.0, most_kg_s / helicopter.burn_empty_kg_s)


def dip_seconds(one: Cycle) -> float:
    """Seconds of a cycle during which nobody else can use the dip: lowering, filling, lifting [s]."""
    return sum(part.seconds for part in one.parts if part.name in keys.IN_THE_DIP)
