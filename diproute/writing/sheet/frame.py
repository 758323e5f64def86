"""Where a sheet lies: its projection, its round scale and its corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from diproute.document.plan import Plan
from diproute.physics.geodesy import beside

F64 = npt.NDArray[np.float64]

SCALES: Final = (
    2_000, 5_000, 10_000, 15_000, 20_000, 25_000, 30_000, 40_000, 50_000, 60_000, 75_000, 100_000, 125_000, 150_000,
    200_000, 250_000, 500_000, 1_000_000,
)  # fmt: skip
UNITS_MM: Final = 10.0  # of a drawing, in a millimetre of paper
_ROOM: Final = 1.12  # of what has to be on it


@dataclass(frozen=True, slots=True)
class SheetFrame:
    """A rectangle of paper on the ground: UTM (or UPS near the poles), one scale."""

    epsg: int
    west_m: float
    north_m: float
    scale: int
    width_mm: float
    height_mm: float
    middle_deg: float  # longitude of the middle

    @property
    def metres(self) -> tuple[float, float]:
        """Width and height on the ground [m of the projection]."""
        return self.width_mm * self.scale / 1000.0, self.height_mm * self.scale / 1000.0

    def to_ground(self, lon_deg: Any, lat_deg: Any) -> tuple[F64, F64]:
        """Give easting and northing [m]."""
        east, north = _projection(self.epsg).transform(beside(lon_deg, 0.0), np.asarray(lat_deg, dtype=np.float64))
        return np.asarray(east), np.asarray(north)

    def to_lonlat(self, east_m: Any, north_m: Any) -> tuple[F64, F64]:
        """Give longitude (counted on past ±180°) and latitude [deg]."""
        lon, lat = _projection(self.epsg).transform(np.asarray(east_m), np.asarray(north_m), direction="INVERSE")
        return np.asarray(beside(lon, self.middle_deg)), np.asarray(lat)

    def on_sheet(self, east_m: Any, north_m: Any) -> tuple[F64, F64]:
        """Give the place on the drawing, right and down from its upper left corner [a tenth of a millimetre]."""
        per_m = 1000.0 * UNITS_MM / self.scale
        return (np.asarray(east_m) - self.west_m) * per_m, (self.north_m - np.asarray(north_m)) * per_m

    def place(self, lon_deg: Any, lat_deg: Any) -> tuple[F64, F64]:
        """Give the place on the drawing of a longitude and a latitude."""
        return self.on_sheet(*self.to_ground(lon_deg, lat_deg))

    def corners(self) -> list[tuple[float, float]]:
        """Give latitude and longitude [deg] of the corners: south-west, north-west, north-east, south-east."""
        wide, high = self.metres
        east = [self.west_m, self.west_m, self.west_m + wide, self.west_m + wide]
        north = [self.north_m - high, self.north_m, self.north_m, self.north_m - high]
        lon, lat = self.to_lonlat(east, north)
        return [(float(a), float(b)) for a, b in zip(lat, lon, strict=True)]


def fit(plan: Plan, width_mm: float, height_mm: float) -> SheetFrame:
    """Lay a sheet of a size round the sites, their legs, the drops and the helibase, at the next round scale."""
    lon, lat = (np.array(row) for row in zip(*_wanted(plan), strict=True))
    middle = float(beside((lon.min() + lon.max()) / 2, 0.0))
    epsg = utm_of(middle, float((lat.min() + lat.max()) / 2))
    east, north = _projection(epsg).transform(beside(lon, 0.0), lat)
    wide, high = np.ptp(east) * _ROOM, np.ptp(north) * _ROOM
    needed = max(wide / width_mm, high / height_mm) * 1000.0
    scale = next((one for one in SCALES if one >= needed), SCALES[-1])
    west = (east.min() + east.max()) / 2 - width_mm * scale / 2000.0
    top = (north.min() + north.max()) / 2 + height_mm * scale / 2000.0
    return SheetFrame(epsg, float(west), float(top), scale, width_mm, height_mm, middle)


def utm_of(lon_deg: float, lat_deg: float) -> int:
    """Give the EPSG code of the UTM zone of a place on WGS 84, of UPS beyond 84° north and 80° south."""
    if lat_deg > 84.0:
        return 32661
    if lat_deg < -80.0:
        return 32761
    zone = int((lon_deg + 180.0) // 6.0) % 60 + 1
    return (32600 if lat_deg >= 0 else 32700) + zone


def _wanted(plan: Plan) -> Sequence[tuple[float, float]]:
    """Give longitude and latitude of what has to be on the sheet; the search area where there is nothing else."""
    places = [(site.lon, site.lat) for site in plan.sites]
    places += [(lon, lat) for site in plan.suitable for leg in site.routes for lon, lat, _ in leg.path]
    places += [(drop.lon, drop.lat) for drop in plan.drops if drop.lon is not None and drop.lat is not None]
    places += [(plan.base.lon, plan.base.lat)] if plan.base is not None else []
    if len(places) < 2:
        south, west, north, east = plan.terrain.bounds
        places += [(west, south), (east, north)]
    return [(float(beside(lon, plan.ground.centre_lon)), lat) for lon, lat in places]


@cache
def _projection(epsg: int) -> Any:
    from pyproj import Transformer

    return Transformer.from_crs(4326, epsg, always_xy=True)
