"""The ground and what lies on it: terrain picture, waters, obstacles, areas, and where each layer came from."""

from __future__ import annotations

import base64
import zlib
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from diproute.document.fields import Index, Latitude, Longitude, MaybeTenth, Part, Share, Tenth
from diproute.document.findings import Finding
from diproute.document.geometry import Geometry

MOST_CELLS = 2000  # rows or columns of the coarse heights
Bounds = tuple[Latitude, Longitude, Latitude, Longitude]  # south, west, north, east [deg]


class Ground(Part):
    """The working grid."""

    cell_m: Tenth
    rows: Index
    cols: Index
    centre_lat: Latitude
    centre_lon: Longitude
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

    rows: Annotated[int, Field(ge=1, le=MOST_CELLS)]
    cols: Annotated[int, Field(ge=1, le=MOST_CELLS)]
    bounds: Bounds
    ground: str
    top: str

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if not all(_holds(packed, self.rows * self.cols) for packed in (self.ground, self.top)):
            raise ValueError("the packed heights do not fill their rows and columns")
        return self


def _holds(packed: str, cells: int) -> bool:
    """Tell whether so many heights are in it, and never unpack more of them."""
    unpack = zlib.decompressobj()
    try:
        heights = unpack.decompress(base64.b64decode(packed, validate=True), 4 * cells + 1)
    except (ValueError, zlib.error):
        return False
    return len(heights) == 4 * cells and unpack.eof


class Summit(Part):
    """A spot height."""

    lat: Latitude
    lon: Longitude
    elevation_m: Tenth


class Terrain(Part):
    """A small shaded picture of the ground in web Mercator, transparent where it is not known."""

    picture: Annotated[str, Field(pattern=r"^data:image/webp;base64,[A-Za-z0-9+/]+={0,2}$")]
    bounds: Bounds
    contour_m: Share
    heights: Heights
    summits: tuple[Summit, ...] = ()


class Water(Part):
    """One stretch of open water."""

    id: str
    name: str
    kind: str
    salt: bool
    level_low_m: MaybeTenth = None  # of a river its lower end
    level_high_m: MaybeTenth = None  # of a river its upper end
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
