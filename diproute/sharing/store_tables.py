"""The tables of a store of records: a GeoPackage (OGC 12-128r19, version 1.3) made by SQL, that only ever grows."""

from __future__ import annotations

import struct
from typing import Any, Final

from diproute.sharing.seal import Sealed

APPLICATION: Final = 0x47504B47  # "GPKG"
RECORDS: Final = (
    "CREATE TABLE records(fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,geom POINT NOT NULL,id TEXT NOT NULL UNIQUE,"
    "name TEXT NOT NULL,water TEXT NOT NULL,how TEXT NOT NULL,agency TEXT NOT NULL,person TEXT NOT NULL,"
    "dated DATETIME NOT NULL,until DATETIME NOT NULL,invented BOOLEAN NOT NULL,depth_m DOUBLE,closed BOOLEAN,"
    "permission TEXT,lon DOUBLE NOT NULL,lat DOUBLE NOT NULL,body TEXT NOT NULL)"
)
STATEMENTS: Final = (
    "CREATE TABLE statements(fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,id TEXT NOT NULL UNIQUE,body TEXT NOT NULL)"
)
TRIGGERS: Final = {
    "rtree_records_geom_insert": "CREATE TRIGGER rtree_records_geom_insert AFTER INSERT ON records BEGIN "
    "INSERT INTO rtree_records_geom VALUES(NEW.fid,NEW.lon,NEW.lon,NEW.lat,NEW.lat); END",
    **{
        f"{table}_{name}": f"CREATE TRIGGER {table}_{name} BEFORE {event} ON {table} "
        f"BEGIN SELECT RAISE(ABORT,'{why}'); END"
        for table in ("records", "statements")
        for name, event, why in (
            ("never_change", "UPDATE", "a record never changes: add one that supersedes it"),
            ("never_go", "DELETE", "a record is never removed: add one that supersedes it"),
        )
    },
}
TABLES: Final = {"records": RECORDS, "statements": STATEMENTS}
MAKE: Final = (
    "CREATE TABLE gpkg_spatial_ref_sys(srs_name TEXT NOT NULL,srs_id INTEGER PRIMARY KEY NOT NULL,"
    "organization TEXT NOT NULL,organization_coordsys_id INTEGER NOT NULL,definition TEXT NOT NULL,description TEXT)",
    "INSERT INTO gpkg_spatial_ref_sys VALUES"
    "('Undefined Cartesian SRS',-1,'NONE',-1,'undefined',NULL),"
    "('Undefined geographic SRS',0,'NONE',0,'undefined',NULL),"
    '(\'WGS 84\',4326,\'EPSG\',4326,\'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],'
    'PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]\',NULL)',
    "CREATE TABLE gpkg_contents(table_name TEXT NOT NULL PRIMARY KEY,data_type TEXT NOT NULL,identifier TEXT UNIQUE,"
    "description TEXT DEFAULT '',last_change DATETIME NOT NULL DEFAULT(strftime('%Y-%m-%dT%H:%M:%fZ','now')),"
    "min_x DOUBLE,min_y DOUBLE,max_x DOUBLE,max_y DOUBLE,srs_id INTEGER REFERENCES gpkg_spatial_ref_sys(srs_id))",
    "CREATE TABLE gpkg_geometry_columns(table_name TEXT NOT NULL UNIQUE REFERENCES gpkg_contents(table_name),"
    "column_name TEXT NOT NULL,geometry_type_name TEXT NOT NULL,"
    "srs_id INTEGER NOT NULL REFERENCES gpkg_spatial_ref_sys(srs_id),z TINYINT NOT NULL,m TINYINT NOT NULL,"
    "PRIMARY KEY(table_name,column_name))",
    "CREATE TABLE gpkg_extensions(table_name TEXT,column_name TEXT,extension_name TEXT NOT NULL,"
    "definition TEXT NOT NULL,scope TEXT NOT NULL,UNIQUE(table_name,column_name,extension_name))",
    RECORDS,
    STATEMENTS,
    "INSERT INTO gpkg_contents(table_name,data_type,identifier,srs_id) VALUES"
    "('records','features','records',4326),('statements','attributes','statements',NULL)",
    "INSERT INTO gpkg_geometry_columns VALUES('records','geom','POINT',4326,0,0)",
    "INSERT INTO gpkg_extensions VALUES('records','geom','gpkg_rtree_index',"
    "'http://www.geopackage.org/spec120/#extension_rtree','write-only')",
    "CREATE VIRTUAL TABLE rtree_records_geom USING rtree(id,minx,maxx,miny,maxy)",
    *TRIGGERS.values(),
    "PRAGMA user_version=10300",
    f"PRAGMA application_id={APPLICATION}",
)

COLUMNS: Final = (
    "geom", "id", "name", "water", "how", "agency", "person", "dated", "until", "invented", "depth_m", "closed",
    "permission", "lon", "lat", "body",
)  # fmt: skip
_POINT: Final = struct.Struct("<2sBBiBIdd")


def row(sealed: Sealed) -> tuple[Any, ...]:
    """Give the row of a record: its bytes, and beside them what a desktop GIS may want to show."""
    said = sealed.record.properties
    seen = said.seen
    lon, lat = sealed.record.geometry.coordinates
    return (
        _POINT.pack(b"GP", 0, 1, 4326, 1, 1, lon, lat),
        sealed.id,
        said.name,
        said.water.name,
        said.how,
        said.who.agency,
        said.who.by,
        _with_fraction(said.when),
        _with_fraction(said.until),
        int(said.invented),
        None if seen is None or seen.depth_dm is None else seen.depth_dm / 10,
        None if seen is None or seen.closed is None else int(seen.closed),
        None if seen is None else seen.permission,
        lon,
        lat,
        sealed.body.decode("utf-8"),
    )


def _with_fraction(when: str) -> str:
    return when.replace("Z", ".000Z")
