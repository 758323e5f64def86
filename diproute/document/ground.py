"""The ground and what lies on it: terrain picture, waters, obstacles, areas, and where each layer came from."""

from __future__ import annotations

from typing import Literal

from diproute.document.fields import Coordinate, MaybeTenth, Part, Share, Tenth
from diproute.document.findings import Finding
from diproute.document.geometry import Geometry

Bounds = tuple[Coordinate, Coordinate, Coordinate, Coordinate]  # south, west, north, east [deg]


class Ground(Part):
    """The working grid."""

    cell_m: Tenth
    rows: int
    cols: int
    centre_lat: Coordinate
    centre_lon: Coordinate
    elevation_is: Literal["ground", "surface"]
    vertical_datum: str
    vertical_error_m: MaybeTenth = None
    canopy_known: bool
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...] = ()


class Heights(Part):
    """Heights on a coarse grid in web Mercator, north-up.

    ``ground`` and ``top`` are little-endian 32-bit whole numbers of decimetres AMSL, row by row, compressed by zlib,
    in base64; the least such number stands for a cell of which any part is not known. Each is the highest in its
    cell, rounded up.
    """

    rows: int
    cols: int
    bounds: Bounds
    ground: str
    top: str


class Summit(Part):
    """A spot height."""

    lat: Coordinate
    lon: Coordinate
    elevation_m: Tenth


class Terrain(Part):
    """A small shaded picture of the ground in web Mercator, transparent where it is not known."""

    picture: str  # data:image/webp;base64,…
    bounds: Bounds
    contour_m: float
    heights: Heights
    summits: tuple[Summit, ...] = ()


class Water(Part):
    """One stretch of open water."""

    id: str
    name: str
    kind: str
    salt: bool
    level_m: MaybeTenth = None
    level_spread_m: MaybeTenth = None
    depth_m: MaybeTenth = None
    source: str
    geometry: Geometry
    cautions: tuple[Finding, ...] = ()


class LeftOut(Finding):
    """A water that no bucket can use; the finding says why."""

    name: str
    geometry: Geometry | None = None


class Area(Finding):
    """An area closed to a slung load, or crossed at a price; the finding says why."""

    name: str
    hard: bool
    extra_cost: Share
    floor_m: MaybeTenth = None
    ceiling_m: MaybeTenth = None
    geometry: Geometry | None = None


class Obstacle(Part):
    """A thing that stands up."""

    name: str
    kind: str
    wire: bool
    height_m: Tenth  # above ground, as used
    height_assumed: bool
    top_m: MaybeTenth = None  # AMSL, where the source gives it
    verified: bool | None = None
    accuracy_m: MaybeTenth = None
    source: str
    geometry: Geometry | None = None


class Layer(Part):
    """Where one layer came from; what its file does not say is None."""

    role: Literal["elevation", "canopy", "water", "obstacles", "avoid", "drop", "weather"]
    file: str
    digest: str
    layer: str | None = None
    current: str | None = None
    licence: str | None = None
    vertical_datum: str | None = None
    vertical_error_m: MaybeTenth = None
