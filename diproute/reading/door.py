"""The one door to GDAL: every raster and every vector file that the package reads passes it.

A file's first bytes say what it is and so which one driver may read it (`diproute.reading.kinds`). What a file names
beside itself stays closed: links, other files, the network. Whatever a library raises becomes one `LayerError`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from diproute.reading import limits
from diproute.reading.drivers import VECTOR, armed, check_drivers
from diproute.reading.geojson_crs import crs_of
from diproute.reading.geopackage import at_rest, check_tables
from diproute.reading.kinds import MOSAIC, ZIP, kind_of
from diproute.reading.mosaic import Tile, tiles_of
from diproute.reading.refusals import no_kind, refused, there, told
from diproute.reading.shapefile import check_parts, has_index
from diproute.reading.unpacked import unzipped

Box = tuple[float, float, float, float]

_MOST_SIDE_BYTES: Final = 4_000_000
_ELSEWHERE: Final = re.compile(
    rb"OVERVIEW_FILE|/vsi|https?:|ftp:|<!\s*DOCTYPE|<!\s*ENTITY|<GDALWarp|<Source|<VRT", re.IGNORECASE
)
_STANDARDS: Final = re.compile(rb"https?://www\.(?:opengis\.net|isotc211\.org|w3\.org)[^\"<\s]*")
_TIFF: Final = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_SIDES: Final = (".aux.xml", ".ovr", ".msk", ".dbf", ".shx", ".prj", ".cpg", ".qix", ".sbn", ".sbx", ".aux", ".tfw")
_SAME: Final = ({"GeoJSON", "GeoJSONSeq"}, {"KML", "LIBKML"})  # drivers of one kind of file


@cache
def _checked() -> None:
    """Look once at what drivers there are, in a process that was armed."""
    if armed():
        check_drivers()


def tiles(path: Path, folder: Path | None, key: str) -> tuple[Tile, ...]:
    """List the raster files that a name stands for: itself, or the files of a VRT mosaic.

    Parameters
    ----------
    path
        A raster or a VRT mosaic.
    folder
        The incident's folder, inside which a mosaic's files must lie.
    key
        The incident file's key, for messages.

    Raises
    ------
    LayerError
        As `kinds.kind_of` and `mosaic.tiles_of`.
    """
    if kind_of(path, key, "raster") == MOSAIC:
        return tiles_of(path, folder, key)
    return (Tile(path, (), None, None, ""),)


@contextmanager
def raster(path: Path, key: str) -> Iterator[Any]:
    """Open a raster file with its one driver.

    Parameters
    ----------
    path
        The file; no mosaic.
    key
        The incident file's key, for messages.

    Yields
    ------
    rasterio.DatasetReader
        Whatever is raised over it, inside the block too, becomes a `LayerError`.
    """
    import rasterio

    kind = kind_of(path, key, "raster")
    if kind == MOSAIC:
        raise refused(key, path.name, "is a VRT inside another; list the files themselves")
    real = there(path, key)
    _check_sides(real, key)
    with told(key, path.name):
        _checked()
        with rasterio.open(real, driver=kind) as file:
            away = [name for name in file.files if not Path(name).resolve().is_relative_to(real.parent)]
            if away:
                raise refused(key, path.name, f"keeps its numbers elsewhere ({Path(away[0]).name}); save it as GeoTIFF")
            yield file


@dataclass(frozen=True, slots=True)
class VectorFile:
    """A vector file that has passed the door."""

    path: Path  # where it is read: itself, or a copy
    name: str  # as the incident names it
    kind: str
    key: str
    crs: Any | None  # of a GeoJSON, as it says; None: as GDAL reads it

    def layers(self) -> dict[str, bool]:
        """Name its layers, and say which have shapes."""
        import pyogrio

        with told(self.key, self.name):
            return {str(name): kind is not None for name, kind in pyogrio.list_layers(self.path)}

    def info(self, layer: str, *, bounds: bool = False) -> dict[str, Any]:
        """Tell what a layer says of itself; `bounds` looks at every feature where it must."""
        import pyogrio

        with told(self.key, self.name):
            said: dict[str, Any] = pyogrio.read_info(self.path, layer=layer, force_total_bounds=bounds)
        driver = said["driver"]
        if driver != self.kind and not any({driver, self.kind} <= same for same in _SAME):
            raise refused(self.key, self.name, f"was opened as {driver} and is {self.kind}; save it as GeoPackage")
        if self.crs is not None:
            said["crs"] = self.crs.to_wkt()
        return said

    def read(self, layer: str, box: Box | None) -> Any:
        """Read a layer's features that touch a box of its own reference system, within the limits; None reads all."""
        import pyogrio

        trusted = self.kind != "ESRI Shapefile" or not has_index(self.path)
        with told(self.key, self.name):
            table = pyogrio.read_dataframe(
                self.path,
                layer=layer,
                bbox=box if trusted else None,
                max_features=limits.MOST_FEATURES + 1,
                on_invalid="ignore",
            )
            if not hasattr(table, "crs"):
                raise refused(self.key, self.name, "has no shapes in this layer, only a table; pick one with shapes")
            if not table.columns.is_unique:
                twice = table.columns[table.columns.duplicated()][0]
                raise refused(self.key, self.name, f"has two columns of the name {twice!r}; rename one")
            if self.crs is not None:
                table = table.set_crs(self.crs, allow_override=True)
        self._check_size(table)
        return table

    def _check_size(self, table: Any) -> None:
        import shapely

        if len(table) > limits.MOST_FEATURES:
            raise refused(
                self.key, self.name, f"has more than {limits.MOST_FEATURES} features here; cut it to the search"
            )
        vertices = shapely.get_num_coordinates(table.geometry.values) if len(table) else None
        if vertices is None:
            return
        if (most := int(vertices.max())) > limits.MOST_VERTICES_A_FEATURE:
            raise refused(
                self.key, self.name,
                f"has a feature of {most} vertices, at most {limits.MOST_VERTICES_A_FEATURE} are read; simplify it",
            )  # fmt: skip
        if (total := int(vertices.sum())) > limits.MOST_VERTICES:
            raise refused(
                self.key, self.name,
                f"has {total} vertices here, at most {limits.MOST_VERTICES} are read; cut it to the search",
            )  # fmt: skip


@contextmanager
def vector(path: Path, key: str) -> Iterator[VectorFile]:
    """Open a vector file.

    Parameters
    ----------
    path
        The file, or a zip with one in it.
    key
        The incident file's key, for messages.

    Yields
    ------
    VectorFile
        Good until the block ends.
    """
    with ExitStack() as copies:
        kind = kind_of(path, key, "vector")
        real = there(path, key)
        if kind == ZIP:
            with told(key, path.name):
                real = copies.enter_context(unzipped(real, key))
                kind = kind_of(real, key, "vector")
            if kind not in VECTOR:
                raise no_kind("vector", path.name, key)
        if "!" in str(real):
            raise refused(key, path.name, "has a ! in its name or its folder's; rename it")
        _check_sides(real, key)
        crs = None
        if kind in ("GeoJSON", "GeoJSONSeq"):
            with told(key, path.name):
                crs = crs_of(real, key, sequence=kind == "GeoJSONSeq")
        elif kind == "GPKG":
            with told(key, path.name):
                real = copies.enter_context(at_rest(real, key))
                check_tables(real, path.name, key)
        elif kind == "ESRI Shapefile":
            with told(key, path.name):
                check_parts(real, path.name, key)
        with told(key, path.name):
            _checked()
        yield VectorFile(real, path.name, kind, key, crs)


def _check_sides(real: Path, key: str) -> None:
    """Refuse a file beside the named one that GDAL would open with it and that leads elsewhere."""
    if real.is_dir():
        away = [file for file in real.iterdir() if not file.resolve().is_relative_to(real)]
        if away:
            raise refused(key, real.name, f"has a link in it, {away[0].name}, that leads out of it; copy the file")
        return
    for ending in _SIDES:
        for side in {real.with_name(real.name + ending), real.with_suffix(ending)} - {real}:
            if side.exists():
                _check_side(side, real, ending, key)


def _check_side(side: Path, real: Path, ending: str, key: str) -> None:
    if not side.resolve().is_relative_to(real.parent):
        raise refused(key, side.name, "is a link that leads elsewhere; copy the file beside the layer")
    if ending == ".msk":
        raise refused(key, side.name, f"is a mask beside {real.name}; save the two as one GeoTIFF with no-data")
    with side.open("rb") as file:
        if ending == ".ovr" and file.read(4) not in _TIFF:
            raise refused(key, side.name, "is no overview; remove it")
        if ending == ".aux.xml":
            text = file.read(_MOST_SIDE_BYTES + 1)
            if len(text) > _MOST_SIDE_BYTES or _ELSEWHERE.search(_STANDARDS.sub(b"", text)):
                raise refused(key, side.name, "points to other files, or is over 4 MB; remove it")
