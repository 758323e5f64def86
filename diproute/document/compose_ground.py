"""The ground, what lies on it, and where each layer came from, in the document's shape."""

from __future__ import annotations

from typing import Final

from diproute import records
from diproute.document.findings import findings
from diproute.document.geometry import geometry
from diproute.document.ground import Area, Ground, Layer, LeftOut, Obstacle, Water
from diproute.physics.geodesy import LocalFrame

SHORE_M: Final = 2.0  # a shore may stray so far to save points; a dip point's distance to it was measured before


def ground(told: records.Ground) -> Ground:
    """Give the working grid."""
    return Ground(
        cell_m=told.grid.cell_m,
        rows=told.grid.rows,
        cols=told.grid.cols,
        centre_lat=told.grid.lat_deg,
        centre_lon=told.grid.lon_deg,
        elevation_is=told.elevation_is,
        vertical_datum=told.vertical_datum,
        vertical_error_m=told.vertical_error_m,
        canopy_known=told.canopy_known,
        sources=told.sources,
        cautions=findings(told.cautions),
    )


def layers(told: tuple[records.LayerSource, ...]) -> tuple[Layer, ...]:
    """Give where each layer came from."""
    return tuple(
        Layer(
            role=layer.role,
            file=layer.file,
            digest=layer.digest,
            layer=layer.layer,
            current=layer.current,
            licence=layer.licence,
            vertical_datum=layer.vertical_datum,
            vertical_error_m=layer.vertical_error_m,
        )
        for layer in told
    )


def waters(told: tuple[records.WaterBody, ...], frame: LocalFrame) -> tuple[Water, ...]:
    """Give the waters that a bucket may be dipped in."""
    return tuple(
        Water(
            id=water.id,
            name=water.name,
            kind=water.kind,
            salt=water.salt,
            level_low_m=water.level_low_m,
            level_high_m=water.level_high_m,
            level_spread_m=water.level_spread_m,
            depth_m=water.depth_m,
            source=water.source,
            geometry=shape,
            cautions=findings(water.cautions),
        )
        for water in told
        if (shape := geometry(water.polygon, frame, SHORE_M)) is not None
    )


def left_out(told: tuple[records.LeftOut, ...], frame: LocalFrame) -> tuple[LeftOut, ...]:
    """Give the waters that no bucket can use, each with its reason."""
    return tuple(LeftOut.of(w.why, name=w.name, geometry=geometry(w.geometry, frame, SHORE_M)) for w in told)


def areas(told: tuple[records.AvoidArea, ...], frame: LocalFrame) -> tuple[Area, ...]:
    """Give the areas that a slung load stays out of, or crosses at a price."""
    return tuple(
        Area.of(
            area.why,
            name=area.name,
            hard=area.hard,
            extra_cost=area.extra_cost,
            floor_m=area.floor_m,
            ceiling_m=area.ceiling_m,
            geometry=geometry(area.geometry, frame),
        )
        for area in told
    )


def obstacles(told: tuple[records.Obstacle, ...], frame: LocalFrame) -> tuple[Obstacle, ...]:
    """Give the things that stand up, in the order that sites refer to."""
    return tuple(
        Obstacle(
            name=thing.name,
            kind=thing.kind,
            wire=thing.is_wire,
            height_m=thing.height_m,
            height_assumed=thing.height_assumed,
            top_m=thing.top_m,
            verified=thing.verified,
            accuracy_m=thing.accuracy_m,
            source=thing.source,
            geometry=geometry(thing.geometry, frame),
        )
        for thing in told
    )
