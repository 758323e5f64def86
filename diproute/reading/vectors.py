"""Vector files brought into the working frame.

A file without a coordinate reference system is refused. Broken geometry is repaired, empty geometry dropped and
counted. Areas are clipped to what is looked at; lines keep every vertex, for the vertices of a wire are its supports.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import door, turns
from diproute.reading.door import VectorFile
from diproute.reading.grid import Box
from diproute.reading.lattice import between, unwrap
from diproute.reading.packed_tags import unpacked
from diproute.reading.refusals import no_crs, no_kind, refused, told
from diproute.reading.repair import repaired
from diproute.records import Finding

Entry = tuple[Path, str | None]

_OSM_LAYERS: Final = ("points", "lines", "multipolygons")  # relations of routes and the like repeat their members
_BEYOND_M: Final = 100_000.0  # nothing further out than this is projected
_POLE_DEG: Final = 90.0 + 1e-6
_FAR: Final = 1e6
_WGS84: Final = "EPSG:4326"
_STEP_M: Final = 500.0  # an area's edge is projected at least this often
_DUST_M: Final = 1e-6  # nothing is mapped so finely


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing of a vector file: its shape in working x, y and its attributes, keys in lower case."""

    geometry: Any  # shapely, valid, not empty
    tags: dict[str, object]
    source: str  # "water.gpkg", "water.gpkg:lakes"
    osm: bool  # OpenStreetMap tags: what no rule names is not meant


def read_features(
    entry: Entry, frame: LocalFrame, area: Box | None, key: str
) -> tuple[tuple[Feature, ...], tuple[Finding, ...]]:
    """Read the features of a vector file that touch an area.

    Parameters
    ----------
    entry
        The file, and the layer of it to read. Without a layer an OpenStreetMap file gives its points, lines and areas;
        any other file must have one layer.
    frame
        The working frame.
    area
        Left, bottom, right and top of what is looked at [m]; None reads everything.
    key
        The incident file's key, for messages.

    Returns
    -------
    features : tuple of Feature
        In the file's order; GeometryCollections are taken apart.
    cautions : tuple of Finding
        What was dropped, and a file that holds nothing here and where it lies.

    Raises
    ------
    LayerError
        A file that is not there or cannot be read, several layers and none picked, or no reference system.
    """
    from pyproj import CRS

    path, picked = entry
    name = path.name if picked is None else f"{path.name}:{picked}"
    features: list[Feature] = []
    dropped = astray = 0
    with door.vector(path, key) as file:
        for layer in _layers(file, picked):
            info = file.info(layer, bounds=file.kind.startswith("GeoJSON"))
            crs = info["crs"]
            if crs is None:
                raise no_crs(file.name, key)
            astray += 0 if area is None else _beyond_a_pole(file, layer, info)
            with told(key, file.name):
                crs = CRS.from_user_input(crs)
                box = None if area is None else turns.box_in(crs, frame, area, 0.0)
            there: list[Feature] = []
            for part in (None,) if box is None else turns.boxes_to_read(crs, box):
                found, lost = _shapes(file.read(layer, part), frame, area, (name, key))
                there = _once([*there, *found]) if there else found
                dropped += lost
                if there and box is not None and not turns.crosses(crs, box):
                    break
            features += there
        extent = None if features or area is None else _extent(file, picked)
    cautions = []
    if dropped:
        cautions.append(Finding.of("features-dropped", file=name, count=dropped))
    if astray:
        cautions.append(Finding.of("places-impossible", file=name, count=astray))
    if not features and area is not None:
        lies = None if extent is None else lies_at(extent)
        cautions.append(Finding.of("layer-empty-here", file=name, key=key, lies=lies))
    return tuple(features), tuple(cautions)


def _layers(file: VectorFile, picked: str | None) -> tuple[str, ...]:
    """Name the layers to read: the one picked, those of OpenStreetMap data, or the only one."""
    there = file.layers()
    found = [name for name, shapes in there.items() if shapes]
    if picked is not None:
        if picked not in there:
            raise LayerError(
                f"{file.key}: {file.name} has no layer {picked!r}; it has {', '.join(there) or 'none'}",
                where=file.key,
                got=picked,
            )
        return (picked,)
    if set(_OSM_LAYERS) <= set(found):
        return _OSM_LAYERS
    if not found:
        raise no_kind("vector", file.name, file.key)
    if len(found) != 1:
        raise LayerError(
            f"{file.key}: {file.name} has {len(found)} layers ({', '.join(found)}); pick one with "
            f'"{file.name}:{found[0]}"',
            where=file.key,
        )
    return (found[0],)


def _beyond_a_pole(file: VectorFile, layer: str, info: dict[str, Any]) -> int:
    """Count what lies beyond a pole, as swapped coordinates do; a read of what lies here passes over it in silence."""
    from pyproj import CRS

    bounds = info["total_bounds"]
    with told(file.key, file.name):
        if bounds is None or not CRS(info["crs"]).is_geographic or max(bounds[3], -bounds[1]) <= _POLE_DEG:
            return 0
    north, south = (-_FAR, _POLE_DEG, _FAR, _FAR), (-_FAR, -_FAR, _FAR, -_POLE_DEG)
    return sum(len(file.read(layer, box)) for box in (north, south))


def _once(features: list[Feature]) -> list[Feature]:
    """Leave out what was read twice, in two boxes across ±180."""
    kept: dict[tuple[bytes, str], Feature] = {}
    for feature in features:
        kept.setdefault((feature.geometry.wkb, repr(sorted(feature.tags.items()))), feature)
    return list(kept.values())


def _shapes(table: Any, frame: LocalFrame, area: Box | None, named: tuple[str, str]) -> tuple[list[Feature], int]:
    """Features of a layer in the working frame, and how many have no shape; named are the file and the key."""
    import shapely

    name, key = named
    with told(key, name):
        flat = shapely.force_2d(np.asarray(table.geometry.values, dtype=object))
        near = None if area is None else turns.box_in(table.crs, frame, area, _BEYOND_M)
        mended = repaired(turns.steady(flat, table.crs, near), name, key)
        keep = np.flatnonzero(~(shapely.is_missing(mended) | shapely.is_empty(mended)))
        shapes = _placed(mended[keep], table.crs, frame, area, named)
        box = None if area is None else shapely.box(*area)
        parts = [_parts(shape, box) for shape in shapes]
    osm = "other_tags" in table.columns or "osm_id" in table.columns
    rows = table.drop(columns=table.geometry.name).to_dict("records")
    features = []
    for i, found in zip(keep, parts, strict=True):
        if found:
            tags = _tags(rows[i])
            features += [Feature(part, tags, name, osm) for part in found]
    return features, len(mended) - len(keep)


def _placed(shapes: Any, crs: Any, frame: LocalFrame, area: Box | None, named: tuple[str, str]) -> Any:
    """Bring mended shapes within reach and into the working frame."""
    import geopandas
    import shapely
    from pyproj import CRS

    name, key = named
    near = None if area is None else turns.box_in(crs, frame, area, _BEYOND_M)
    if near is None and area is not None and crs.is_projected:  # torn here: degrees are not
        shapes = np.asarray(geopandas.GeoSeries(shapes, crs=crs).to_crs(_WGS84).values, dtype=object)
        crs, near = CRS.from_epsg(4326), turns.box_in(CRS.from_epsg(4326), frame, area, _BEYOND_M)
    middle = float(between(frame.crs, crs).transform(0.0, 0.0)[0])
    placed = repaired(turns.beside(shapes, crs, near, middle), name, key)
    areal = shapely.get_dimensions(placed) == 2
    step = _STEP_M if crs.is_projected else _STEP_M / 111_000.0
    placed[areal] = shapely.segmentize(placed[areal], step)
    there = np.asarray(geopandas.GeoSeries(placed, crs=crs).to_crs(frame.crs).values, dtype=object)
    return repaired(_without_dust(there), name, key)


def _without_dust(shapes: Any) -> Any:
    """Set to 0 what is a hair from it: numbers close to the smallest there are overflow when they divide."""
    import shapely

    xy = shapely.get_coordinates(shapes)
    dust = (np.abs(xy) < _DUST_M) & (xy != 0.0)
    return shapely.set_coordinates(shapes, np.where(dust, 0.0, xy)) if dust.any() else shapes


def _parts(shape: Any, box: Any | None) -> list[Any]:
    """Take collections apart, clip areas to what is looked at and drop what lies outside."""
    import shapely

    if shape.geom_type == "GeometryCollection":
        return [found for part in shape.geoms for found in _parts(part, box)]
    if box is None:
        return [shape]
    if not shape.intersects(box):
        return []
    if shape.geom_type in ("Polygon", "MultiPolygon") and not shapely.contains_properly(box, shape):
        clipped = shapely.make_valid(shape.intersection(box))
        parts = clipped.geoms if clipped.geom_type == "GeometryCollection" else [clipped]
        return [part for part in parts if part.geom_type in ("Polygon", "MultiPolygon") and not part.is_empty]
    return [shape]


def _tags(row: dict[Any, Any]) -> dict[str, object]:
    """Attributes of a row: keys in lower case, empty ones left out, OpenStreetMap's packed tags unpacked."""
    tags = {str(key).lower(): value for key, value in row.items() if value is not None and value == value}
    return unpacked(tags)


def middle_of(entry: Entry, key: str) -> tuple[float, float]:
    """Longitude and latitude of the middle of a file [deg]; LayerError when it is empty or says not where it lies."""
    with door.vector(entry[0], key) as file:
        west, south, east, north = _extent(file, entry[1]) or (np.nan,) * 4
        if not np.isfinite(west + south + east + north):
            raise LayerError(f"{key}: {entry[0].name} is empty or does not say where it lies", where=key)
        if not 0.0 <= east - west <= 180.0:  # it lies on both sides of the antimeridian
            west, east = _sides(file, entry[1])
    return (west + east) / 2 - 360.0 * round((west + east) / 720), (south + north) / 2


def _sides(file: VectorFile, picked: str | None) -> tuple[float, float]:
    """West and east of a file across the antimeridian, counted on past 180 [deg]."""
    import shapely

    lon = np.concatenate(
        [
            shapely.get_coordinates(file.read(layer, None).to_crs(_WGS84).geometry.values)[:, 0]
            for layer in _layers(file, picked)
        ]
    )
    lon = unwrap(lon, 180.0)
    return float(lon.min()), float(lon.max())


def _extent(file: VectorFile, picked: str | None) -> Box | None:
    """West, south, east and north of a file [deg]; None when it does not say."""
    from pyproj import CRS, Transformer

    extents = []
    for layer in _layers(file, picked):
        info = file.info(layer, bounds=True)
        crs, bounds = info["crs"], info["total_bounds"]
        if crs is None or bounds is None:
            continue
        with told(file.key, file.name):
            if CRS(crs).is_geographic and (max(bounds[2], -bounds[0]) > 361 or max(bounds[3], -bounds[1]) > 91):
                raise refused(
                    file.key,
                    file.name,
                    f"is said to be in degrees but holds {bounds[0]:.0f}, {bounds[1]:.0f}; "
                    "write its coordinate reference system into it",
                )
            extents.append(Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform_bounds(*bounds))
    found = np.array([extent for extent in extents if np.all(np.isfinite(extent))])
    if found.size == 0:
        return None
    west, south = found[:, :2].min(axis=0)
    east, north = found[:, 2:].max(axis=0)
    return float(west), float(south), float(east), float(north)


def lies_at(box: Box) -> Finding:
    """Tell where a box of longitudes and latitudes lies: west, south, east and north [deg]."""
    west, south, east, north = (float(side) for side in box)
    return Finding.of("lies-at", south_deg=south, north_deg=north, west_deg=west, east_deg=east)
