"""The approach of a dip point, or of many at once, to legs as flown or as estimated, in the wind over the water."""

from __future__ import annotations

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning.travel_fields import course_of, turned_s
from diproute.records import F64, Approach, Clearance, Helicopter, Incident, Leg, Wind
from diproute.sites.approach import DipWind, LegEnds, Pairs, VerticalSpeeds, choose, choose_many
from diproute.sites.clearance import SurveyArrays

BLOCKED_COURSE_DEG = 0.0  # of a leg that is not there: the site is refused, and its open directions still shown


def approach_to(
    incident: Incident, wind: Wind, clearance: Clearance, level_m: float, legs: tuple[Leg | None, Leg | None]
) -> Approach:
    """Choose the courses at one dip point.

    Parameters
    ----------
    incident
        Limits and helicopter.
    wind
        By height.
    clearance
        What stands round the point.
    level_m
        High end of the water level, for the wind [m AMSL].
    legs
        The loaded leg to the main drop and the empty one from it; None where it is blocked.
    """
    out, back = legs
    from_deg, speed_m_s = wind_over(wind, np.asarray(level_m))
    ends = LegEnds(
        BLOCKED_COURSE_DEG if out is None else course_of(out, "start"),
        BLOCKED_COURSE_DEG if back is None else course_of(back, "end"),
        0.0 if out is None else turned_s(out, "start"),
        0.0 if back is None else turned_s(back, "end"),
    )
    air = DipWind(float(from_deg), float(speed_m_s), wind.gust_m_s, wind.between_deg)
    return choose(clearance, air, incident.limits, ends, vertical_speeds(incident.helicopter))


def approaches_to(incident: Incident, wind: Wind, around: SurveyArrays, level_m: F64, ends: LegEnds) -> Pairs:
    """Choose the courses at many points, as `approach_to` would; ends that are not known count as north.

    Parameters
    ----------
    incident, wind
        As for `approach_to`.
    around
        What stands round the points.
    level_m
        High ends of the water levels, for the wind [m AMSL], shape (points,).
    ends
        How the legs leave and come in, shape (points,).
    """
    air = DipWind(*wind_over(wind, level_m), wind.gust_m_s, wind.between_deg)
    known = LegEnds(
        *(
            np.nan_to_num(value)
            for value in (ends.out_course_deg, ends.in_course_deg, ends.out_turned_s, ends.in_turned_s)
        )
    )
    return choose_many(around, air, incident.limits, known, vertical_speeds(incident.helicopter))


def vertical_speeds(helicopter: Helicopter) -> VerticalSpeeds:
    """How fast a helicopter raises the load and lowers the empty bucket."""
    return VerticalSpeeds(helicopter.lift_speed_m_s, helicopter.lower_speed_m_s)


def wind_over(wind: Wind, height_m: F64) -> tuple[F64, F64]:
    """Give the wind at heights [m AMSL]: from [deg true] and speed [m/s]; the lowest level's where not known."""
    height = np.nan_to_num(height_m, nan=wind.altitude_m[0])
    from_deg, speed_m_s = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, height)
    return np.asarray(from_deg, dtype=float), np.asarray(speed_m_s, dtype=float)
