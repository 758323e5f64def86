"""GeoPackage 1.2 (OGC 12-128r14): a layer a kind of thing and shape, with styles for a GIS in it."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from diproute.document.frames import NAMES, to_geodataframe
from diproute.document.plan import Plan
from diproute.errors import OutputError, plain
from diproute.writing.exchange.about import about, moment
from diproute.writing.exchange.styles import STYLES

if TYPE_CHECKING:
    import geopandas as gpd

_MAIN: Final = {"sites": 0, "legs": 1, "waypoints": 0, "waters": 2, "obstacles": 0, "areas": 2, "places": 0}
_OTHER: Final = ("points", "lines", "areas")  # by the dimension of what is in it
_TYPES: Final = ("Point", "MultiLineString", "MultiPolygon")
_MANY: Final = ("waters", "obstacles", "areas")  # a row may stand for many points
_SYNCHRONOUS: Final = "OGR_SQLITE_SYNCHRONOUS"
_STYLE_TABLE: Final = """
CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT, f_table_schema TEXT,
f_table_name TEXT, f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN,
description TEXT, owner TEXT, ui TEXT, update_time DATETIME)
"""


def geopackage(plan: Plan) -> bytes:
    """Give the plan as a GeoPackage, the same bytes for the same plan.

    Legs have heights above mean sea level as z. Times are UTC. Each kind of thing has its layer, with rows or without;
    what has another shape than the rest of its kind has a layer of its own.
    """
    from pyogrio.errors import DataLayerError, DataSourceError

    try:
        with tempfile.TemporaryDirectory(prefix="diproute-") as folder:
            place = Path(folder) / "plan.gpkg"
            names = []
            with _not_synchronous():
                for name, frame, kind in _layers(plan):
                    _write(frame, place, name, kind)
                    names.append(name)
            _finish(place, plan, names)
            return place.read_bytes()
    except (OSError, sqlite3.Error, DataSourceError, DataLayerError) as error:
        where = tempfile.gettempdir()
        raise OutputError(
            f"cannot write a temporary file for the GeoPackage in {where}; make room there, or set TMPDIR to a folder "
            "that has room",
            where=where,
        ) from error


def _layers(plan: Plan) -> Iterator[tuple[str, gpd.GeoDataFrame, str]]:
    """Give each layer with its name and geometry type: a GIS styles points, lines and areas apart."""
    import shapely

    for name in NAMES:
        frame = to_geodataframe(plan, name)
        dimension = shapely.get_dimensions(frame.geometry.values)
        dimension[dimension < 0] = _MAIN[name]
        for of in range(3):
            part = frame[dimension == of]
            if len(part) or of == _MAIN[name]:
                layer = name if of == _MAIN[name] else f"{name}_{_OTHER[of]}"
                kind = "MultiPoint" if of == 0 and name in _MANY else _TYPES[of]
                yield layer, part, f"{kind} Z" if name == "legs" else kind


@contextmanager
def _not_synchronous() -> Iterator[None]:
    """Let SQLite not wait for the disk: a temporary file that a crash takes is no loss."""
    import pyogrio

    before = pyogrio.get_gdal_config_option(_SYNCHRONOUS)
    pyogrio.set_gdal_config_options({_SYNCHRONOUS: "OFF"})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({_SYNCHRONOUS: before})


def _write(frame: gpd.GeoDataFrame, place: Path, layer: str, kind: str) -> None:
    import pyogrio

    pyogrio.write_dataframe(
        frame, place, layer=layer, driver="GPKG", append=place.exists(), promote_to_multi=kind.startswith("Multi"),
        geometry_type=kind, dataset_options={"VERSION": "1.2"},
        layer_options={"GEOMETRY_NAME": "geom", "FID": "fid", "IDENTIFIER": layer},
    )  # fmt: skip


def _finish(place: Path, plan: Plan, names: list[str]) -> None:
    """Add the styles, say what the layers are, and put the plan's own time where the writing's would stand."""
    stamp = moment(plan).replace("Z", ".000Z")
    with closing(sqlite3.connect(place)) as base:
        base.execute("PRAGMA synchronous = OFF")
        base.execute(_STYLE_TABLE)
        for name in names:
            style = STYLES.get(name)
            if style is not None:
                base.execute(
                    "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, "
                    "styleName, styleQML, styleSLD, useAsDefault, description, owner, update_time) "
                    "VALUES ('', '', ?, 'geom', 'diproute', ?, ?, 1, 'as on the map', '', ?)",
                    (name, style.qml(), style.sld(name), stamp),
                )
        base.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) "
            "VALUES ('layer_styles', 'attributes', 'layer_styles', '', ?)",
            (stamp,),
        )
        base.execute(
            "UPDATE gpkg_contents SET description = ? WHERE data_type = 'features'",
            (plain(f"{plan.title}: dip sites. {about(plan)}"),),
        )
        base.execute("UPDATE gpkg_contents SET last_change = ?", (stamp,))
        base.commit()
        base.execute("VACUUM")
