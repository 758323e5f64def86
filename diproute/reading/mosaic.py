"""A VRT mosaic as what it is for us: a list of rasters with their places. GDAL never opens the VRT itself.

A VRT can do a great deal more than put files side by side (run code, warp, reach the network, read any file's bytes),
so whatever is not on the list of a plain mosaic is refused by its name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from xml.parsers import expat

from diproute.errors import LayerError
from diproute.reading.kinds import MOSAIC, kind_of
from diproute.reading.refusals import refused, there

_MOST_BYTES: Final = 4_000_000
_MOST_FILES: Final = 2000
_SAME_SIZE: Final = 1e-6  # share by which a file's cells may differ from the mosaic's
_PLAIN: Final = frozenset(
    {
        "VRTDataset", "SRS", "GeoTransform", "Metadata", "MDI", "VRTRasterBand", "NoDataValue", "HideNoDataValue",
        "ColorInterp", "SimpleSource", "ComplexSource", "NODATA", "SourceFilename", "SourceBand", "SourceProperties",
        "SrcRect", "DstRect", "OverviewList", "Offset", "Scale", "UnitType", "Description", "BlockXSize", "BlockYSize",
        "Histograms", "HistItem", "HistMin", "HistMax", "BucketCount", "IncludeOutOfRange", "Approximate", "HistCounts",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Tile:
    """One file of a mosaic."""

    path: Path
    unknown: tuple[float, ...]  # numbers that stand for nothing, beside the file's own
    left: float | None  # where the mosaic puts its upper left corner, in the mosaic's reference system
    top: float | None
    unit: str  # as the mosaic says, "" where it does not


@dataclass(slots=True)
class _Source:
    name: str = ""
    relative: bool = False
    band: str = "1"
    unknown: str = ""
    cut: tuple[float, ...] | None = None  # of the file: left, top, width, height, in cells
    put: tuple[float, ...] | None = None  # of the mosaic


class _Reader:
    """Reads the elements of a plain mosaic, in the order in which they come."""

    def __init__(self, name: str, key: str) -> None:
        self.name, self.key = name, key
        self.stack: list[str] = []
        self.text: dict[str, str] = {}  # of the whole mosaic and of its band
        self.sources: list[_Source] = []
        self.bands = 0

    def start(self, tag: str, given: Mapping[str, str]) -> None:
        if tag not in _PLAIN:
            raise self.wrong(f"is a VRT with <{tag}>, which is not read; list the files themselves")
        if "subClass" in given:
            kind = given["subClass"]
            raise self.wrong(f"is a VRT of the kind {kind[:40]!r}, which is not read; list the files themselves")
        self.stack.append(tag)
        if tag == "VRTRasterBand":
            self.bands += 1
        elif tag in ("SimpleSource", "ComplexSource"):
            self.sources.append(_Source())
        elif tag == "SourceFilename" and self.sources:
            self.sources[-1].relative = given.get("relativeToVRT", "0") == "1"
        elif tag in ("SrcRect", "DstRect") and self.sources:
            box = tuple(float(given[side]) for side in ("xOff", "yOff", "xSize", "ySize"))
            if tag == "SrcRect":
                self.sources[-1].cut = box
            else:
                self.sources[-1].put = box

    def end(self, _tag: str) -> None:
        self.stack.pop()

    def data(self, text: str) -> None:
        tag = self.stack[-1] if self.stack else ""
        source = self.sources[-1] if self.sources else None
        if tag == "SourceFilename" and source is not None:
            source.name += text
        elif tag == "SourceBand" and source is not None:
            source.band = text.strip() or source.band
        elif tag == "NODATA" and source is not None:
            source.unknown += text
        elif tag in ("NoDataValue", "GeoTransform", "Offset", "Scale", "UnitType"):
            self.text[tag] = self.text.get(tag, "") + text

    def doctype(self, *_: Any) -> None:
        raise self.wrong("is XML with a DOCTYPE, which is not read; save it again without")

    def wrong(self, why: str) -> LayerError:
        return refused(self.key, self.name, why)


def tiles_of(path: Path, folder: Path | None, key: str) -> tuple[Tile, ...]:
    """List the files of a plain mosaic.

    Parameters
    ----------
    path
        The VRT.
    folder
        The incident's folder, inside which every file must lie; None: the VRT's own.
    key
        The incident file's key, for messages.

    Returns
    -------
    tuple of Tile
        In the VRT's order, each once.

    Raises
    ------
    LayerError
        A VRT that is more than a plain mosaic of one band, that scales or resamples, or a file of it that lies
        elsewhere, is not there or is no raster.
    """
    real = there(path, key)
    reader = _read(real, path.name, key)
    root = real.parent if folder is None else there(folder, key)
    try:
        origin = _numbers(reader.text.get("GeoTransform", ""))
        unknown = tuple(_numbers(reader.text.get("NoDataValue", "")))
        if _numbers(reader.text.get("Offset", "0")) != [0.0] or _numbers(reader.text.get("Scale", "1")) != [1.0]:
            raise reader.wrong("is a VRT that scales its numbers; list the files themselves")
        tiles = [_tile(source, reader, real.parent, root, (origin, unknown)) for source in reader.sources]
    except LayerError:
        raise
    except ValueError as error:
        raise reader.wrong(f"is a VRT with a number that cannot be read: {error}") from error
    return tuple(dict.fromkeys(tiles))


def _read(real: Path, name: str, key: str) -> _Reader:
    reader = _Reader(name, key)
    if real.stat().st_size > _MOST_BYTES:
        raise reader.wrong("is a VRT of over 4 MB; list the files themselves")
    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = reader.data, reader.doctype
    try:
        parser.Parse(real.read_bytes(), True)
    except expat.ExpatError as error:
        raise reader.wrong(f"is a broken VRT ({error}); make it anew") from error
    except (KeyError, ValueError) as error:
        if isinstance(error, LayerError):
            raise
        raise reader.wrong(f"is a broken VRT (a rectangle with {error}); make it anew") from error
    if reader.bands != 1:
        raise reader.wrong(f"is a VRT of {reader.bands} bands; give one of one band")
    if not 0 < len(reader.sources) <= _MOST_FILES:
        raise reader.wrong(f"is a VRT of {len(reader.sources)} files; give one of 1 to {_MOST_FILES}")
    return reader


def _tile(
    source: _Source, reader: _Reader, beside: Path, root: Path, whole: tuple[list[float], tuple[float, ...]]
) -> Tile:
    origin, unknown = whole
    said = source.name.strip()
    if said.startswith("/vsi") or "://" in said or not said:
        raise reader.wrong(f"is a VRT that points to {said[:80]!r}, which is no file inside the incident's folder")
    path = beside / said if source.relative else Path(said)
    real = there(path, reader.key)
    if not real.is_relative_to(root):
        raise reader.wrong(f"is a VRT that points to {said[:80]!r}, outside the incident's folder; copy it there")
    if source.band != "1":
        raise reader.wrong(f"is a VRT of band {source.band[:20]} of {real.name}; only the first band is read")
    if kind_of(real, reader.key, "raster") == MOSAIC:
        raise reader.wrong(f"is a VRT of another VRT, {real.name}; list the files themselves")
    left = top = None
    if source.cut is not None and source.put is not None:
        (x, y, width, height), (to_x, to_y, to_width, to_height) = source.cut, source.put
        if not (
            abs(to_width - width) <= _SAME_SIZE * abs(width) and abs(to_height - height) <= _SAME_SIZE * abs(height)
        ):
            raise reader.wrong("is a VRT that resamples its files; list the files themselves")
        if len(origin) == 6:
            left, top = origin[0] + (to_x - x) * origin[1], origin[3] + (to_y - y) * origin[5]
    return Tile(real, (*unknown, *_numbers(source.unknown)), left, top, reader.text.get("UnitType", "").strip())


def _numbers(text: str) -> list[float]:
    return [float(part) for part in text.replace(",", " ").split()]
