"""One site of the plan: what was found out about it, in the document's shape."""

from __future__ import annotations

import math
from itertools import groupby

import numpy as np

from diproute import records
from diproute.document.compose_legs import Ferries, routes
from diproute.document.findings import findings, maybe
from diproute.document.geometry import geometry
from diproute.document.legs import MaybeWind
from diproute.document.site import (
    Criterion,
    Cycle,
    CyclePart,
    Direction,
    FillCurve,
    GoNoGo,
    LineChoice,
    LineNeed,
    Load,
    LoadLine,
    Score,
    Sector,
    Site,
    Sortie,
    Thing,
    Way,
)
from diproute.document.thinning import maybe as maybe_row
from diproute.document.thinning import up
from diproute.physics.wind import wind_at
from diproute.records import F64


def compose_site(site: records.AssessedSite, assessed: records.Assessed, ferries: Ferries) -> Site:
    """Turn one site into the plan's; ``course_deg`` is always the course flown.

    Parameters
    ----------
    site
        The site.
    assessed
        What it belongs to, for wind and declination.
    ferries
        Keeps the ways from and to the helibase.
    """
    point, water, approach = site.point, site.point.water, site.approach
    things: dict[records.Governing, int] = {}
    directions = _directions(site.clearance, approach, things)
    return Site(
        id=site.id,
        name=site.name,
        water=water.name,
        water_id=water.id,
        water_kind=water.kind,
        salt=water.salt,
        chosen_for=point.chosen_for,
        lat=point.lat_deg,
        lon=point.lon_deg,
        rank=site.rank,
        rank_band=site.rank_band,
        elevation_m=point.level_high_m,
        level_low_m=point.level_low_m,
        level_spread_m=water.level_spread_m,
        shore_clearance_m=point.shore_clearance_m,
        depth_m=water.depth_m,
        temperature_k=site.temperature_k,
        pressure_altitude_m=site.pressure_altitude_m,
        density_altitude_m=site.density_altitude_m,
        wind=_wind(point.level_high_m, assessed.incident.weather.wind),
        line=LineNeed(
            needed_m=float(up(np.float64(site.clearance.line_needed_m))),
            carried_m=None if site.line is None else site.line.length_m,
            governed_by=_thing(site.clearance.line_governing),
        ),
        lines=tuple(_choice(choice) for choice in site.line_choices),
        things=tuple(_seen(governing) for governing in things),
        directions=directions,
        open_share=None if approach is None else approach.open_share,
        sectors=()
        if approach is None
        else tuple(Sector(from_deg=s.from_deg, to_deg=s.to_deg) for s in approach.sectors),
        arrival=_way(None if approach is None else approach.arrival, assessed.declination_deg),
        departure=_way(None if approach is None else approach.departure, assessed.declination_deg),
        load=compose_load(site.load),
        go_no_go=_go_no_go(site.go_no_go),
        routes=routes(site.route, site.id, ferries.frame),
        ferry=ferries.of(site.route),
        cycle=_cycle(site.cycle),
        sortie=_sortie(site.sortie),
        score=Score(
            total=site.score,
            criteria=tuple(Criterion.of(c.why, name=c.name, points=c.points, weight=c.weight) for c in site.criteria),
        ),
        curve=_curves(site.curve),
        blocked=geometry(site.blocked, ferries.frame),
        refused=findings(site.refused),
        cautions=findings(site.cautions),
    )


def _wind(level_m: float, wind: records.Wind) -> MaybeWind:
    """Give the wind at the water; where its level is not known, at the sea's."""
    height = 0.0 if math.isnan(level_m) else level_m
    from_deg, speed_m_s = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, height)
    return MaybeWind(from_deg=float(from_deg), speed_m_s=float(speed_m_s), gust_m_s=wind.gust_m_s)


def _seen(governing: records.Governing) -> Thing:
    return Thing(
        what=governing.what,
        distance_m=governing.distance_m,
        bearing_deg=governing.bearing_deg,
        height_m=governing.height_m,
        obstacle=governing.obstacle,
        assumed_m=governing.assumed_m,
        unverified=governing.unverified,
    )


def _thing(governing: records.Governing | None) -> Thing | None:
    return None if governing is None else _seen(governing)


def _choice(choice: records.LineChoice) -> LineChoice:
    return LineChoice.of(
        choice.why,
        length_m=choice.length_m,
        chosen=choice.chosen,
        litres_per_hour=choice.litres_per_hour,
        cycle_s=choice.cycle_s,
        margin_kg=choice.margin_kg,
    )


def _directions(
    clearance: records.Clearance, approach: records.Approach | None, things: dict[records.Governing, int]
) -> tuple[Direction, ...]:
    """List every course with its lifts; what asks for them goes to `things`, each once."""
    bearings = np.mod(clearance.bearing_deg, 360.0)
    arriving = np.argmin(np.abs(np.mod(bearings[None, :] - bearings[:, None], 360.0) - 180.0), axis=1)
    of_departure = clearance.lift_governing
    of_arrival = clearance.arrival_governing or of_departure

    def index(governing: tuple[records.Governing | None, ...], i: int) -> int | None:
        thing = governing[i] if governing else None
        return None if thing is None else things.setdefault(thing, len(things))

    return tuple(
        Direction(
            course_deg=float(bearings[i]),
            arrival_lift_m=float(clearance.lift_in_m[arriving[i]]),
            departure_lift_m=float(clearance.lift_out_m[i]),
            open=approach is not None and bool(approach.open[i]),
            known=approach is not None and bool(approach.known[i]),
            surface_8_to_1_m=float(clearance.surface_m[i]),
            arrival_thing=index(of_arrival, arriving[i]),
            departure_thing=index(of_departure, i),
        )
        for i in np.argsort(bearings, kind="stable")
    )


def _way(course: records.Course | None, declination_deg: float) -> Way | None:
    if course is None:
        return None
    return Way(
        course_deg=course.course_deg,
        course_magnetic_deg=course.course_deg - declination_deg,
        lift_m=course.lift_m,
        headwind_m_s=course.headwind_m_s,
        crosswind_m_s=course.crosswind_m_s,
        surface_8_to_1_m=course.surface_8_to_1_m,
        surface_at_m=course.surface_at_m,
        gradient=course.gradient,
        straight_m=course.straight_m,
        governed_by=_thing(course.governing),
    )


def compose_load(load: records.Load | None) -> Load | None:
    """Turn a load into the plan's."""
    if load is None:
        return None
    return Load(
        water_l=load.water_l,
        water_kg=load.water_kg,
        fill=load.fill,
        fuel_kg=load.fuel_kg,
        governed_by=load.governed_by,
        place=load.place,
        hoge_limit_kg=load.hoge_limit_kg,
        margin_kg=load.margin_kg,
        lines=tuple(LoadLine(name=line.name, mass_kg=line.mass_kg, note=maybe(line.note)) for line in load.lines),
    )


def _go_no_go(table: records.GoNoGo | None) -> GoNoGo | None:
    if table is None:
        return None
    return GoNoGo(
        temperature_k=table.temperature_k,
        fuel_kg=table.fuel_kg,
        fill=table.fill,
        row=table.row,
        column=table.column,
        holds_to_k=table.holds_to_k,
        holds_to_m=table.holds_to_m,
        edge=table.edge,
    )


def _cycle(cycle: records.Cycle | None) -> Cycle | None:
    if cycle is None:
        return None
    parts = tuple(CyclePart(name=part.name, seconds=part.seconds, burn_kg=part.burn_kg) for part in cycle.parts)
    return Cycle(seconds=cycle.seconds, burn_kg=cycle.burn_kg, parts=parts)


def _sortie(sortie: records.Sortie | None) -> Sortie | None:
    if sortie is None:
        return None
    return Sortie(
        cycles=sortie.cycles,
        seconds=sortie.seconds,
        litres=sortie.litres,
        litres_per_hour=sortie.litres_per_hour,
        first_drop_seconds=sortie.first_drop_s,
        reserve_kg=sortie.reserve_kg,
        loads_l=sortie.loads_l,
        margins_kg=sortie.margins_kg,
        note=maybe(sortie.note),
    )


def _curves(points: tuple[records.CurvePoint, ...]) -> tuple[FillCurve, ...]:
    """Group the points by bucket setting, in the order in which they come."""
    found = []
    for fill, run in groupby(points, key=lambda point: point.fill):
        row = list(run)

        def tenths(name: str, row: list[records.CurvePoint] = row) -> F64:
            return np.round([getattr(point, name) for point in row], 1) + 0.0

        found.append(
            FillCurve(
                fill=fill,
                fuel_kg=tuple(tenths("fuel_kg").tolist()),
                litres_per_hour=maybe_row(tenths("litres_per_hour")),
                margin_kg=maybe_row(tenths("margin_kg")),
                cycles=tuple(int(point.cycles) for point in row),
            )
        )
    return tuple(found)
