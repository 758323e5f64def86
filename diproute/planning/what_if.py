"""The what-if grid: what every site brings in other winds and temperatures than the plan's.

The winds are a calm, and 16 directions with five speeds each: a fifth, two fifths and so on of the most total wind in
which the helicopter hovers, so that the strongest is the limit itself. The temperatures are the plan's own at the
station and those of `WARMER_K` beside it. A wind of the grid is steady and the same at all heights, whatever the plan's
is; pressure and dew point stay, and so does everything else that was asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.planning.assessment import Flown
from diproute.planning.circuits import shared_out
from diproute.planning.hours import OF_THE_HOUR
from diproute.planning.later import fly_later
from diproute.planning.rates import Flyings, flyings
from diproute.planning.scenarios import Flights, best_loads, spots_of
from diproute.planning.travel_fields import TravelFields
from diproute.planning.wind_grid import GridFlights, Reasons, fly_grid
from diproute.records import F64, I64, Air, AssessedSite, Finding, HourlyWeather, SiteWhatIf, WhatIf, Wind

Bools = npt.NDArray[np.bool_]
DIRECTIONS: Final = 16
SPEEDS: Final = 5
WARMER_K: Final = (-10.0, -5.0, 0.0, 5.0, 10.0, 15.0)
AT_ONCE: Final = 8  # sites whose loads are worked together


def what_if(fields: TravelFields, sites: Sequence[AssessedSite], flown: Sequence[Flown]) -> WhatIf | None:
    """Work the what-if grid of a plan.

    In every wind the gates of a site, the drops and the base are chosen anew; the ways between them are those of the
    plan and a few others found along them, timed for the wind (`diproute.planning.wind_grid`). With every temperature
    the best line, fill and fuel are found as for the plan. In the plan's own weather the answer is the plan's own.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    sites, flown
        Of the plan, in its order; those that the plan's own wind closes as flown in another hour.

    Returns
    -------
    WhatIf or None
        With the sites that have a way in the plan's weather, in another hour or in a calm, and nothing against them but
        wind and weight; None where there is no such site.
    """
    flown = _in_a_calm(fields, sites, flown)
    moving = [i for i, site in enumerate(sites) if flown[i].rounds is not None and _of_the_weather(site)]
    if not moving:
        return None
    air, winds, reasons = fields.weather.air, grid_winds(fields), Reasons()
    airs = [with_temperature(air, air.temperature_k + change) for change in WARMER_K]
    grid = _Grid(fields, [sites[i] for i in moving], [flown[i] for i in moving], winds, reasons)
    how = [_rates(fields, one) for one in airs]
    for rates in dict.fromkeys(how):
        which = [t for t, other in enumerate(how) if other == rates]
        grid.work(rates, [airs[t] for t in which], np.array(which))
    return WhatIf(
        wind_from_deg=tuple(None if wind.speed_m_s[0] == 0.0 else wind.from_deg[0] for wind in winds),
        wind_m_s=tuple(wind.speed_m_s[0] for wind in winds),
        temperature_k=tuple(one.temperature_k for one in airs),
        reasons=tuple(reasons.found),
        sites=tuple(grid.site(row, i) for row, i in enumerate(moving)),
    )


def grid_winds(fields: TravelFields) -> list[Wind]:
    """Give the winds of the grid: a calm, then speed by speed all directions."""
    height_m = fields.weather.wind.altitude_m[0]
    most_m_s = fields.prepared.incident.most_wind_m_s
    directions = [360.0 * d / DIRECTIONS for d in range(DIRECTIONS)]
    speeds = [most_m_s * k / SPEEDS for k in range(1, SPEEDS + 1)]
    return [
        Wind((height_m,), (0.0,), (0.0,)),
        *(Wind((height_m,), (deg,), (speed,)) for speed in speeds for deg in directions),
    ]


def with_temperature(air: Air, temperature_k: float) -> Air:
    """Change the temperature; the dew point stays, but never above it."""
    dew_point_k = None if air.dew_point_k is None else min(air.dew_point_k, temperature_k)
    return replace(air, temperature_k=temperature_k, dew_point_k=dew_point_k)


def _of_the_weather(site: AssessedSite) -> bool:
    return OF_THE_HOUR.issuperset(found.code for found in site.refused)


def _in_a_calm(fields: TravelFields, sites: Sequence[AssessedSite], flown: Sequence[Flown]) -> list[Flown]:
    """Give the sites without a way so far their ways in a calm, where they have nothing else against them."""
    waiting = [i for i, site in enumerate(sites) if flown[i].rounds is None and _of_the_weather(site)]
    weather, found = fields.weather, list(flown)
    calm = replace(weather.wind, speed_m_s=tuple(0.0 for _ in weather.wind.speed_m_s), gust_m_s=None, between_deg=None)
    still = replace(weather, hourly=(HourlyWeather(fields.prepared.incident.when, weather.air, calm),))
    again = fly_later(replace(fields, weather=still), [flown[i] for i in waiting])
    for i, one in zip(waiting, again, strict=True):
        found[i] = one
    return found


def _rates(fields: TravelFields, air: Air) -> Flyings | None:
    """Give how legs are flown in some air; None where the helicopter's rates end before it."""
    try:
        return flyings(fields.prepared, air)
    except RangeError:
        return None


@dataclass(frozen=True, slots=True)
class _Worked:
    """The answer by (sites, temperatures, winds)."""

    litres_per_hour: F64
    fill: F64
    line_m: F64
    approach_deg: F64
    departure_deg: F64
    why: I64


class _Grid:
    """Sites in all winds and temperatures, worked air by air."""

    def __init__(
        self,
        fields: TravelFields,
        sites: Sequence[AssessedSite],
        flown: Sequence[Flown],
        winds: Sequence[Wind],
        reasons: Reasons,
    ) -> None:
        self.fields, self.sites, self.flown, self.winds, self.reasons = fields, sites, flown, winds, reasons
        shape = (len(sites), len(WARMER_K), len(winds))
        litres, fill, line, approach, departure = (np.full(shape, np.nan) for _ in range(5))
        self.worked = _Worked(litres, fill, line, approach, departure, np.full(shape, -1, np.int64))

    def work(self, how: Flyings | None, airs: Sequence[Air], which: I64) -> None:
        """Work the airs in which legs are flown alike; their places among the temperatures."""
        if how is None:
            self.worked.why[:, which] = self.reasons.index(Finding.of("rates-end"))
            return
        found = fly_grid(self.fields, how, self.flown, self.winds, self.reasons)
        light = self.reasons.index(Finding("no-lift")), self.reasons.index(Finding("outside-chart"))
        starts = range(0, len(self.sites), AT_ONCE)

        def part(k: int) -> None:
            some = slice(starts[k], starts[k] + AT_ONCE)
            self._load(some, found, (airs, which), light)

        shared_out(part, range(len(starts)))

    def _load(
        self, some: slice, found: GridFlights, temperatures: tuple[Sequence[Air], I64], light: tuple[int, int]
    ) -> None:
        """Find the best loads of some sites in all winds and the airs given."""
        airs, which = temperatures
        sites, count = self.sites[some], len(self.winds)
        flights = {
            name: None if value is None else np.tile(value[some], (1, len(airs)))
            for name, value in found.values().items()
        }
        flown = Flights(**flights, fixed=np.ones(len(airs) * count))  # type: ignore[arg-type]  # as found
        spots, each = spots_of(self.fields.prepared, sites), [air for air in airs for _ in range(count)]
        worked = best_loads(self.fields.prepared.incident, spots, each, flown)
        shape = (len(sites), len(airs), count)
        is_open = np.isfinite(worked.litres_per_hour).reshape(shape)
        courses = np.where(is_open[..., None], found.courses_deg[some, None], np.nan)
        why = np.where(is_open, -1, found.why[some, None])
        heavy = ~is_open & (why < 0)
        why[heavy] = np.where(worked.chart_known.reshape(shape), *light)[heavy]
        told = (worked.litres_per_hour, worked.fill, worked.line_m)
        answer = (*(value.reshape(shape) for value in told), courses[..., 0], courses[..., 1], why)
        for name, value in zip(_Worked.__dataclass_fields__, answer, strict=True):
            getattr(self.worked, name)[some, which] = value

    def site(self, row: int, i: int) -> SiteWhatIf:
        """Give one site's row; ``i`` is its index among all sites."""
        return SiteWhatIf(i, *(getattr(self.worked, name)[row].ravel() for name in _Worked.__dataclass_fields__))
