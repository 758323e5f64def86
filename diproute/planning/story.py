"""The story of a day: when another water body takes the first place and why, and when sites close."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from diproute.records import AssessedSite, Finding, Hour, SiteHour

SAME_DIRECTION_DEG = 1.0  # winds that differ by less are not told apart
SAME_SPEED_M_S = 0.5


@dataclass(frozen=True, slots=True)
class _Change:
    """One site before and after the hour in which the first place changes hands."""

    name: str
    before: SiteHour
    after: SiteHour

    @property
    def fill_lost(self) -> float:
        """By how much its bucket setting falls."""
        return self.before.fill - self.after.fill


def tell(sites: Sequence[AssessedSite], hours: Sequence[Hour]) -> tuple[Finding, ...]:
    """Tell what changes through the day.

    Parameters
    ----------
    sites
        Of the plan, in its order.
    hours
        In their order, each with all sites.

    Returns
    -------
    tuple of Finding
        First places by the hour, then what closes and when, site by site.
    """
    return (*_first_places(sites, hours), *_closed(sites, hours))


def _first_places(sites: Sequence[AssessedSite], hours: Sequence[Hour]) -> Iterator[Finding]:
    for before, after in pairwise(hours):
        at = after.when.isoformat()
        if before.best is None and after.best is not None:
            yield Finding.of("first-from", at=at, site=sites[after.best].name)
        elif before.best is not None and after.best is None:
            yield Finding.of("none-from", at=at)
        elif before.best is not None and after.best is not None:
            old, new = sites[before.best], sites[after.best]
            if old.point.water.id != new.point.water.id:
                lost = _Change(old.name, before.sites[before.best], after.sites[before.best])
                won = _Change(new.name, before.sites[after.best], after.sites[after.best])
                why = _why(lost, won, before, after)
                yield Finding.of("first-changes", at=at, site=new.name, before=old.name, why=why)


def _closed(sites: Sequence[AssessedSite], hours: Sequence[Hour]) -> Iterator[Finding]:
    for i, site in enumerate(sites):
        works = [not math.isnan(hour.sites[i].litres_per_hour) for hour in hours]
        if not any(works):
            continue
        for h, hour in enumerate(hours):
            if not works[h] and (h == 0 or works[h - 1]):
                until = next((later.when for later, good in zip(hours[h:], works[h:], strict=True) if good), None)
                yield Finding.of(
                    "site-closed",
                    site=site.name,
                    at=hour.when.isoformat(),
                    until=None if until is None else until.isoformat(),
                    why=hour.sites[i].why,
                )


def _why(lost: _Change, won: _Change, before: Hour, after: Hour) -> Finding:
    """Say what made the first place change: a site that closed or opened, a fill, the wind, or the fuel it lifts."""
    if math.isnan(lost.after.litres_per_hour):
        return Finding.of("no-longer-works", site=lost.name, why=lost.after.why)
    if math.isnan(won.before.litres_per_hour):
        return Finding.of("opens", site=won.name)
    if lost.fill_lost > max(0.0, won.fill_lost):
        return Finding.of(
            "fill-falls",
            site=lost.name,
            density_altitude_before_m=lost.before.density_altitude_m,
            density_altitude_m=lost.after.density_altitude_m,
            fill_before=lost.before.fill,
            fill=lost.after.fill,
            rival=won.name,
            rival_fill=won.after.fill,
        )
    if -won.fill_lost > max(0.0, -lost.fill_lost):
        return Finding.of("fill-rises", rival=won.name, rival_fill_before=won.before.fill, rival_fill=won.after.fill)
    moved = _wind_moved(before, after)
    return Finding.of(
        "rates-change",
        site=lost.name,
        before_litres_per_hour=lost.before.litres_per_hour,
        litres_per_hour=lost.after.litres_per_hour,
        rival=won.name,
        rival_before_litres_per_hour=won.before.litres_per_hour,
        rival_litres_per_hour=won.after.litres_per_hour,
        wind_before=_wind(before) if moved else None,
        wind=_wind(after) if moved else None,
    )


def _wind(hour: Hour) -> Finding:
    """Give an hour's steady wind and its gusts as what they are: gusts may come with a group of another direction."""
    return Finding.of("wind-of-the-hour", from_deg=hour.wind_from_deg, wind_m_s=hour.wind_m_s, gust_m_s=hour.gust_m_s)


def _wind_moved(before: Hour, after: Hour) -> bool:
    turned = abs((after.wind_from_deg - before.wind_from_deg + 180) % 360 - 180)
    gusts = abs((after.gust_m_s or after.wind_m_s) - (before.gust_m_s or before.wind_m_s))
    return turned >= SAME_DIRECTION_DEG or max(abs(after.wind_m_s - before.wind_m_s), gusts) >= SAME_SPEED_M_S
