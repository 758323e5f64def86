"""The incident as it was understood, in the document's shape."""

from __future__ import annotations

from diproute import records
from diproute.document.asked import (
    Air,
    Base,
    Bucket,
    BurnRates,
    CarriedLine,
    Craft,
    Drop,
    DutySoFar,
    Helicopter,
    HoverCurve,
    Limits,
    RateTable,
    Search,
    Speeds,
    WindLevel,
)
from diproute.document.findings import findings
from diproute.document.geometry import geometry
from diproute.physics.geodesy import LocalFrame


def air(weather: records.Weather) -> Air:
    """Give the air and the wind at the reporting station."""
    told, wind = weather.air, weather.wind
    return Air(
        temperature_k=told.temperature_k,
        measured_at_m=told.measured_at_m,
        qnh_pa=told.qnh_pa,
        dew_point_k=told.dew_point_k,
        lapse_k_per_m=told.lapse_k_per_m,
        wind_from_deg=wind.from_deg[0],
        wind_m_s=wind.speed_m_s[0],
        gust_m_s=wind.gust_m_s,
        wind_levels=tuple(
            WindLevel(altitude_m=altitude, from_deg=origin, speed_m_s=speed)
            for altitude, origin, speed in zip(wind.altitude_m, wind.from_deg, wind.speed_m_s, strict=True)
        ),
        source=weather.source,
        cautions=findings(weather.cautions),
    )


def drops(incident: records.Incident) -> tuple[Drop, ...]:
    """Give the drops; one along a line has no place of its own."""
    return tuple(Drop(name=d.name, lat=d.lat_deg, lon=d.lon_deg, share=d.share) for d in incident.drops)


def base(told: records.Base | None) -> Base | None:
    """Give the helibase, where there is one."""
    return None if told is None else Base(lat=told.lat_deg, lon=told.lon_deg, refuel_s=told.refuel_s)


def helicopter(craft: records.Helicopter, count: int, crew_kg: float, fuel: float | None) -> Helicopter:
    """Give the numbers of one kind of helicopter."""
    return Helicopter(
        name=craft.name,
        source=craft.source,
        type=craft.type,
        count=count,
        crew_kg=crew_kg,
        fuel_share=fuel,
        rotor_diameter_m=craft.rotor_diameter_m,
        equipped_kg=craft.equipped_kg,
        max_gross_external_kg=craft.max_gross_external_kg,
        hook_limit_kg=craft.hook_limit_kg,
        weight_reduction_kg=craft.weight_reduction_kg,
        fuel_capacity_kg=craft.fuel_capacity_kg,
        burn_kg_s=BurnRates(hover=craft.burn_hover_kg_s, loaded=craft.burn_loaded_kg_s, empty=craft.burn_empty_kg_s),
        airspeed_m_s=Speeds(loaded=craft.speed_loaded_m_s, empty=craft.speed_empty_m_s),
        climb_m_s=Speeds(loaded=craft.climb_loaded_m_s, empty=craft.climb_empty_m_s),
        descent_m_s=Speeds(loaded=craft.descent_loaded_m_s, empty=craft.descent_empty_m_s),
        lift_m_s=craft.lift_speed_m_s,
        lower_m_s=craft.lower_speed_m_s,
        manoeuvre_s=craft.manoeuvre_s,
        hoge=tuple(
            HoverCurve(
                temperature_k=curve.temperature_k,
                pressure_altitude_m=curve.pressure_altitude_m,
                mass_kg=curve.mass_kg,
            )
            for curve in craft.hoge.curves
        ),
    )


def bucket(told: records.Bucket, fill: float | None) -> Bucket:
    """Give the bucket and the setting asked for."""
    return Bucket(
        name=told.name,
        source=told.source,
        capacity_l=told.capacity_l,
        empty_kg=told.empty_kg,
        gear_kg=told.gear_kg,
        length_m=told.length_m,
        depth_needed_m=told.depth_needed_m,
        fills=told.fills,
        fill_asked=fill,
        part_fill=told.part_fill,
        fill_s=told.fill_s,
        drop_s=told.drop_s,
    )


def more(incident: records.Incident) -> tuple[Craft, ...]:
    """Give the other kinds of helicopter."""
    return tuple(
        Craft(
            helicopter=helicopter(craft.helicopter, craft.count, craft.crew_kg, craft.fuel),
            bucket=bucket(craft.bucket, craft.fill),
        )
        for craft in incident.more
    )


def duty_so_far(told: records.Duty) -> DutySoFar:
    """Give what the pilot has flown and worked."""
    return DutySoFar(flown_today_s=told.flown_today_s, on_duty_s=told.on_duty_s, flown_before_s=told.flown_before_s)


def lines(carried: tuple[records.Line, ...]) -> tuple[CarriedLine, ...]:
    """Give the carried lines."""
    return tuple(CarriedLine(length_m=c.length_m, mass_kg=c.mass_kg, settle_s=c.settle_s) for c in carried)


def limits(incident: records.Incident) -> Limits:
    """Give the limits, each as it was used."""
    told = incident.limits
    return Limits(
        reserve_s=told.reserve_s,
        tailwind_m_s=told.tailwind_m_s,
        crosswind_m_s=told.crosswind_m_s,
        shore_clearance_m=told.shore_clearance_m,
        hover_circle_m=incident.hover_circle_m,
        rotor_margin_m=told.rotor_margin_m,
        side_slope=told.side_slope,
        side_length_m=told.side_length_m,
        load_margin_m=told.load_margin_m,
        wire_margin_m=told.wire_margin_m,
        departure_gradient=told.departure_gradient,
        arrival_gradient=told.arrival_gradient,
        corridor_start_m=told.corridor_start_m,
        corridor_spread=told.corridor_spread,
        corridor_length_m=told.corridor_length_m,
        least_lift_m=told.least_lift_m,
        lift_limit_m=told.lift_limit_m,
        cruise_clearance_m=told.cruise_clearance_m,
        lateral_clearance_m=told.lateral_clearance_m,
        keep_apart_m=incident.keep_apart_m,
        drop_height_m=told.drop_height_m,
        drop_lift_limit_m=told.drop_lift_limit_m,
        hover_margin_kg=told.hover_margin_kg,
        hover_margin_share=told.hover_margin_share if told.hover_margin_kg is None else None,
        wind_m_s=incident.most_wind_m_s,
        gust_spread_m_s=told.gust_spread_m_s,
        vertical_descent_m_s=told.vertical_descent_m_s,
        turn_clearance_m=told.turn_clearance_m,
        people_distance_m=incident.people_distance_m,
        surface=told.surface,
        weights=told.weights,
    )


def search(incident: records.Incident, frame: LocalFrame) -> Search:
    """Give how far was looked, with the area round all drops where each of them is a point."""
    from shapely import Point, union_all

    told = incident.search
    at = [(drop.lon_deg, drop.lat_deg) for drop in incident.drops]
    rings = [
        Point(*frame.to_xy(lon, lat)).buffer(told.radius_m, 48)
        for lon, lat in at
        if lon is not None and lat is not None
    ]
    area = geometry(union_all(rings), frame) if len(rings) == len(at) else None
    return Search(radius_m=told.radius_m, keep=told.keep, area=area)


def _rates(told: records.RateTable | None) -> RateTable | None:
    if told is None:
        return None
    return RateTable(mass_kg=told.mass_kg, density_altitude_m=told.density_altitude_m, rate_m_s=told.rate_m_s)
