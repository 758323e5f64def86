"""The gates of a plan's ends: corridors surveyed round dips, drops and base, and what the wind leaves open of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from diproute.constants import STEEP_APPROACH_DEG
from diproute.physics.wind import wind_at
from diproute.planning.prepared import Prepared
from diproute.planning.rates import Flyings
from diproute.records import F64, Corridors, Wind
from diproute.routing.gates import SURVEYED_M, GateEnds, Gates, corridor_gradients, make_gates
from diproute.sites.corridors import survey_corridors
from diproute.sites.wind_rules import CoursesInWind, DipWind, WindLimits, courses_in_wind

Bools = npt.NDArray[np.bool_]
Place = Literal["dip", "drop", "base"]


@dataclass(frozen=True, slots=True)
class Ends:
    """Ends of legs of one kind, with the corridors surveyed round them; n ends, d directions."""

    place: Place
    out: Corridors  # for departures
    into: Corridors  # for arrivals
    open_out: Bools  # (n, d) by the end's own survey; of drop and base all: their kinds' lifts say it
    open_in: Bools  # (n, d)

    def some(self, which: npt.NDArray[np.int64] | slice) -> Ends:
        """Give a part of the ends."""
        return replace(
            self, out=self.out.some(which), into=self.into.some(which), open_out=self.open_out[which],
            open_in=self.open_in[which],
        )  # fmt: skip

    @classmethod
    def joined(cls, ends: Sequence[Ends]) -> Ends:
        """Put ends of one kind, surveyed for the same kinds of corridor, together."""

        def together(parts: Sequence[Corridors]) -> Corridors:
            rows = {
                name: np.concatenate([getattr(part, name) for part in parts])
                for name in ("x_m", "y_m", "z_m", "grid_bearing_rad", "lift_m")
            }
            return replace(parts[0], **rows)

        return cls(
            ends[0].place, together([one.out for one in ends]), together([one.into for one in ends]),
            np.concatenate([one.open_out for one in ends]), np.concatenate([one.open_in for one in ends]),
        )  # fmt: skip


def survey_ends(
    prepared: Prepared, flyings: Flyings, place: Place, spots: tuple[F64, F64, F64], opened: tuple[Bools, Bools] | None
) -> Ends:
    """Survey the corridors of some ends, for departures and arrivals.

    Parameters
    ----------
    prepared, flyings
        The ground made ready, and how legs are flown: gradients and speeds belong together.
    place
        Dips are left loaded and reached empty, drops the other way round, the base is left and reached empty.
    spots
        x and y [m] and the height of the bucket's bottom [m AMSL], shape (n,) each.
    opened
        Directions that the ends' own survey leaves open to departures and to arrivals, (n, d) each; None: all.
    """
    limits, rules = prepared.incident.limits, prepared.rules
    out_of, into_of = (flyings.loaded, flyings.empty) if place == "dip" else (flyings.empty, flyings.loaded)
    if place == "base":
        into_of = flyings.empty
    least_m = limits.least_lift_m if place == "dip" else 0.0
    lengths = (*(length for length in SURVEYED_M if length < limits.corridor_length_m), limits.corridor_length_m)
    found = []
    for rate, speed, gradient in (
        (out_of.climb_m_s, out_of.airspeed_m_s, limits.departure_gradient),
        (into_of.descent_m_s, into_of.airspeed_m_s, limits.arrival_gradient),
    ):
        kinds = (corridor_gradients(rate, speed, gradient), np.array(lengths))
        found.append(survey_corridors(prepared.ground, prepared.heights, rules, spots, kinds, least_lift_m=least_m))
    out, into = found
    everywhere = np.ones(out.lift_m.shape[:2], np.bool_)
    open_out, open_in = (everywhere, everywhere) if opened is None else opened
    return Ends(place, out, into, open_out, open_in)


def courses_over(prepared: Prepared, bearing_deg: F64, height_m: F64, wind: Wind, *, departure: bool) -> CoursesInWind:
    """Tell what the wind allows over places at some heights [m AMSL], for outward bearings [deg true].

    With one wind for all heights the answer has one row for all places.
    """
    from_deg, speed_m_s = wind_over(wind, height_m[:1] if len(wind.altitude_m) == 1 else height_m)
    over = DipWind(from_deg, speed_m_s, wind.gust_m_s, wind.between_deg)
    return courses_in_wind(bearing_deg, over, WindLimits.of(prepared.incident), departure=departure)


def gates_at(
    prepared: Prepared, flyings: Flyings, ends: Ends, wind: Wind, *, departure: bool, downwind: bool = False
) -> Gates:
    """Give the gates of some ends in a wind.

    A loaded departure, a loaded arrival and a steep arrival are flown without a tailwind where a corridor is open that
    way; ``downwind`` opens the others too, as far as the limits allow, for when no leg can be flown without.

    Parameters
    ----------
    prepared, flyings, ends, wind
        The ground, how legs are flown, the ends and the wind by height.
    departure
        True for departures, False for arrivals.
    downwind
        True: courses with a tailwind are taken like any other.
    """
    incident = prepared.incident
    corridors, allowed = (ends.out, ends.open_out) if departure else (ends.into, ends.open_in)
    courses = courses_over(prepared, corridors.bearing_deg, corridors.z_m, wind, departure=departure)
    allowed = allowed & courses.allowed
    limit_m = incident.limits.drop_lift_limit_m if ends.place == "drop" else incident.limits.lift_limit_m
    if not downwind and _into_wind_first(prepared, ends.place, departure=departure):
        with np.errstate(invalid="ignore"):
            upwind = allowed & courses.into_wind & (corridors.lift_m <= limit_m).any(axis=-1)
        allowed = np.where(upwind.any(axis=-1, keepdims=True), upwind, allowed)
    loaded = departure == (ends.place == "dip")
    flying = flyings.loaded if loaded and ends.place != "base" else flyings.empty
    craft = incident.helicopter
    lower_m_s = min(craft.lower_speed_m_s, incident.limits.vertical_descent_m_s)
    vertical = craft.lift_speed_m_s if departure else lower_m_s
    return make_gates(
        corridors, allowed, flying, wind, GateEnds(ends.place, departure, vertical, limit_m, prepared.longest_hanging_m)
    )


def _into_wind_first(prepared: Prepared, place: Place, *, departure: bool) -> bool:
    """Whether a manner of flying goes into the wind first: loaded, or down a steep arrival."""
    if departure:
        return place == "dip"
    steep = prepared.incident.limits.arrival_gradient > np.tan(np.radians(STEEP_APPROACH_DEG.value))
    return place == "drop" or bool(steep)


def wind_over(wind: Wind, height_m: F64) -> tuple[F64, F64]:
    """Give the wind at heights [m AMSL]: from [deg true] and speed [m/s]; the lowest level's where not known."""
    height = np.nan_to_num(height_m, nan=wind.altitude_m[0])
    from_deg, speed_m_s = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, height)
    return np.asarray(from_deg, dtype=float), np.asarray(speed_m_s, dtype=float)
