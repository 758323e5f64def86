"""A leg of given heights over flat ground, for what is made of a leg."""

from itertools import pairwise

import numpy as np
from plan_fixture import FRAME, gate

from diproute.records import Leg, Piece


def flat_leg(along, height, *, floor=None, x=None, y=None, waypoints=None, **more):
    """A leg over flat ground at 100 m."""
    along = np.asarray(along, dtype=float)
    x = along if x is None else np.asarray(x, dtype=float)
    y = np.zeros_like(along) if y is None else np.asarray(y, dtype=float)
    lon, lat = FRAME.to_lonlat(x, y)
    ground = np.full_like(along, 100.0)
    given = {
        "drop": "Head", "leg": "loaded", "x_m": x, "y_m": y, "lon_deg": np.asarray(lon), "lat_deg": np.asarray(lat),
        "distance_m": along, "ground_m": ground, "top_m": ground, "floor_m": ground if floor is None else floor,
        "altitude_m": np.asarray(height, dtype=float), "time_s": along / 40.0, "crossings": (),
        "pieces": tuple(Piece("straight", a, b) for a, b in pairwise(sorted({0, len(along) - 1, *(waypoints or ())}))),
        "departure": gate("departure"), "arrival": gate("arrival"), **more,
    }  # fmt: skip
    return Leg(**given)


# --- the plan as a whole -------------------------------------------------------------------------------------
