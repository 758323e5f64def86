"""The invented plan with the rest of what a plan may hold: a day, a doubt, several helicopters, duty, a blocked way.

None of the numbers is a result.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
from plan_fixture import blob, make_assessed

from diproute.document import Plan, compose
from diproute.records import (
    Assessed,
    AssessedSite,
    Craft,
    Day,
    Duty,
    DutyPlan,
    Finding,
    FleetPlan,
    Hour,
    LastShort,
    LineChoice,
    Sensitivity,
    Shared,
    SiteHour,
    SiteWhatIf,
    Uncertainty,
    WhatIf,
)

NAN = float("nan")
NO_SETTING = Finding.of("no-lift")
ZONE = timezone(timedelta(hours=-10))
FIRST_HOUR, HOURS = 5, 16
# share of the plan's water an hour in each hour from 05:00 for the ranked sites; None: does not work
SHAPES = (
    [1.15] * 6 + [1.1, 1.0, 0.9, 0.8, 0.8, 0.8, 0.9, 1.0, 1.1, 1.1],
    [1.0] * 16,
    [1.2] * 7 + [None, None, None] + [1.1] * 6,
    [0.9] * 16,
)


def clock(hour: int, minute: int = 0) -> datetime:
    """A time of the plan's day."""
    return datetime(2026, 8, 14, hour, minute, tzinfo=ZONE)


def make_day(sites: tuple[AssessedSite, ...]) -> Day:
    """Sixteen hours; the third site shuts in the heat, the refused one never works."""
    hours = []
    for h in range(HOURS):
        told = []
        for site, shape in zip(sites, (*SHAPES, [None] * 16), strict=True):
            share = shape[h]
            if share is None:
                why = (NO_SETTING,) if site.rank else site.refused
                told.append(SiteHour(NAN, NAN, NAN, NAN, NAN, site.density_altitude_m, why))
            else:
                rate = site.sortie.litres_per_hour * share
                told.append(SiteHour(rate, 0.9 if h < 7 else 0.8, 190.0, 12.0 + h, 30.0, 1500.0 + 20 * h, (), (),
                                     235.0 + 5 * h, 225.0 - 5 * h))  # fmt: skip
        best = max((i for i, s in enumerate(told) if s.fill > 0), key=lambda i: told[i].litres_per_hour)
        hours.append(Hour(clock(FIRST_HOUR + h), 288.0 + h, 240.0, 5.0, tuple(told), best))
    story = (
        Finding.of("first-changes", at=clock(12).isoformat(), site="Long reservoir", before="Caldera lake",
                   why=Finding.of("opens", site="Long reservoir")),
        Finding.of("site-closed", site="Tarn", at=clock(12).isoformat(), until=clock(15).isoformat(), why=NO_SETTING),
    )  # fmt: skip
    return Day(
        tuple(hours), clock(5, 47), clock(19, 41), clock(18, 30), story, None, 1, LastShort(0, clock(19, 10), 2, 121.0)
    )


def make_what_if() -> WhatIf:
    """Two temperatures by three winds for the first site and the refused one; the strong wind closes both."""
    one = np.array([4012.4, 3998.6, NAN, 3500.0, 3499.5, NAN])
    shut = np.full(6, NAN)

    def site(i: int, litres: np.ndarray, why: int) -> SiteWhatIf:
        known = np.isfinite(litres)
        rows = [np.where(known, value, NAN) for value in (0.85, 30.0, 359.7, 225.0)]
        return SiteWhatIf(i, litres, *rows, np.where(known, -1, why))

    reasons = (NO_SETTING, Finding.of("no-leg-found"))
    return WhatIf((None, 0.0, 90.0), (0.0, 5.0, 15.0), (298.0, 303.0), reasons, (site(0, one, 1), site(4, shut, 0)))


def full_assessed(**given: object) -> Assessed:
    """That of `make_assessed` with a second point in the first water, and everything that a plan may hold."""
    plan = make_assessed(**given)
    best, second, third, refused = plan.sites
    margins = tuple(12.0 + 17 * i for i in range(14))
    choices = (
        LineChoice(0.0, False, NAN, NAN, NAN, Finding.of("line-short", needed_m=27.0)),
        LineChoice(
            30.0,
            True,
            best.sortie.litres_per_hour,
            best.cycle.seconds,
            12.0,
            Finding.of("line-recommended", needed_m=27.0),
        ),
        LineChoice(
            38.0, False, 4100.0, best.cycle.seconds + 2, 7.0, Finding.of("line-less", less_l=76.0, longer_s=2.0)
        ),
    )
    best = replace(best, sortie=replace(best.sortie, margins_kg=margins), line_choices=choices)
    x, y = best.point.x_m + 150, best.point.y_m + 120
    beside = replace(best, id="caldera-2", name="Caldera lake 2", rank=4, line_choices=(),
                     point=replace(best.point, x_m=x, y_m=y, lat_deg=best.point.lat_deg + 0.0011,
                                   lon_deg=best.point.lon_deg + 0.0018))  # fmt: skip
    blocked = replace(
        refused,
        blocked=blob(4700.0, -2600.0, 500, 31),
        refused=(
            Finding.of("blocked-area", areas=(Finding.of("area", name="hamlet", why=Finding.of("area-closed")),)),
            *refused.refused,
        ),
    )
    sites = (best, second, third, beside, blocked)
    craft = plan.incident.helicopter
    more = Craft(replace(craft, name="Demo other"), 190.0, 0.8, 2, replace(plan.incident.bucket, name="Demo 1136"), 0.9)
    rate = best.sortie.litres_per_hour
    return replace(
        plan,
        incident=replace(plan.incident, count=3, more=(more,), duty=Duty(7200.0, 14400.0, (25000.0,))),
        sites=sites,
        day=make_day(sites),
        doubt=Sensitivity(
            400,
            0,
            (
                Uncertainty(rate * 0.9, rate * 1.07, 1.0, 0.86, 0.92),
                Uncertainty(rate * 0.8, rate * 0.99, 1.0, 0.14, 0.9),
                Uncertainty(NAN, NAN, 0.0, 0.0, 0.0),
                Uncertainty(rate * 0.8, rate * 0.9, 0.97, 0.0, 0.8),
                None,
            ),
        ),
        fleet=FleetPlan(5, (Shared(0, craft.name, 3, 3 * rate, 12.0), Shared(1, "Demo other", 2, 9000.0, 0.0)),
                        3 * rate + 9000.0),
        duty=DutyPlan(21600.0, 36000.0, 4, 32800.0, "day"),
        what_if=make_what_if(),
    )  # fmt: skip


def full_plan(**given: object) -> Plan:
    """The document of `full_assessed`."""
    return compose(full_assessed(**given))
