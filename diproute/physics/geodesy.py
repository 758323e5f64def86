"""Places on the WGS 84 ellipsoid: the working frame in metres, geodesic distances and courses.

All of it is pyproj's (PROJ's transverse Mercator, Karney's geodesics), here with our units, order and NaN.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from diproute.physics.ranges import F64, Numbers, Range, Result, plain

if TYPE_CHECKING:
    from pyproj import CRS, Geod

LATITUDE: Final = Range("latitude", -90, 90, "deg", ((-180, 180, "latitude and longitude swapped?"),))
LONGITUDE: Final = Range("longitude", -180, 180, "deg", ((180, 360, "take 360 off: west is negative"),))
COURSE: Final = Range("course_deg", -360, 720, "deg")


class LocalFrame:
    """Transverse Mercator centred on a place: scale 1 at its centre, x east and y north in metres.

    Within 30 km of the centre plane distances agree with the geodesic to 0.002 %. Grid north is true north on the
    central meridian only: ``true = grid + convergence_deg``.

    Parameters
    ----------
    lat_deg, lon_deg
        The centre, WGS 84 [deg].

    Raises
    ------
    RangeError
        A centre outside ±90, ±180.
    """

    def __init__(self, lat_deg: float, lon_deg: float) -> None:
        from pyproj import CRS, Transformer

        self.lat_deg = float(LATITUDE.check(lat_deg))
        self.lon_deg = float(LONGITUDE.check(lon_deg))
        self.crs: CRS = CRS.from_proj4(
            f"+proj=tmerc +lat_0={self.lat_deg!r} +lon_0={self.lon_deg!r} +k=1 +datum=WGS84 +units=m +no_defs"
        )
        self._there = Transformer.from_crs("EPSG:4326", self.crs, always_xy=True)
        self._back = Transformer.from_crs(self.crs, "EPSG:4326", always_xy=True)

    def to_xy(self, lon_deg: Numbers, lat_deg: Numbers) -> tuple[Result, Result]:
        """Metres in the frame.

        Parameters
        ----------
        lon_deg, lat_deg
            WGS 84 [deg], any shapes that broadcast.

        Returns
        -------
        x_m, y_m : float or ndarray
            East and north of the centre along the grid [m]; NaN where a place is not known or cannot be projected.

        Raises
        ------
        RangeError
            A latitude outside ±90 (swapped?) or a longitude outside ±180.
        """
        lon, lat = _both(LONGITUDE.check(lon_deg), LATITUDE.check(lat_deg))
        x, y = self._there.transform(lon, lat)
        return _finite(x), _finite(y)

    def to_lonlat(self, x_m: Numbers, y_m: Numbers) -> tuple[Result, Result]:
        """Longitude and latitude of places in the frame.

        Parameters
        ----------
        x_m, y_m
            [m], any shapes that broadcast.

        Returns
        -------
        lon_deg, lat_deg : float or ndarray
            WGS 84 [deg]; NaN where a place is not known or lies off the projection.
        """
        x, y = _both(x_m, y_m)
        lon, lat = self._back.transform(x, y)
        return _finite(lon), _finite(lat)

    def convergence_deg(self, x_m: Numbers, y_m: Numbers) -> Result:
        """Turn from a grid direction to the true one: ``true = grid + convergence``.

        Parameters
        ----------
        x_m, y_m
            [m], any shapes that broadcast.

        Returns
        -------
        float or ndarray
            True bearing of grid north [deg]; in the northern hemisphere positive east of the central meridian.
        """
        from pyproj import Proj

        lon, lat = self.to_lonlat(x_m, y_m)
        shape = np.shape(lon)
        factors = Proj(self.crs).get_factors(np.ravel(lon), np.ravel(lat))
        return plain(np.asarray(_finite(factors.meridian_convergence)).reshape(shape))


class Centred(Protocol):
    """Anything laid out about a place, such as the working grid."""

    @property
    def lat_deg(self) -> float:
        """Latitude of the centre, WGS 84 [deg]."""

    @property
    def lon_deg(self) -> float:
        """Longitude of the centre, WGS 84 [deg]."""


def frame_of(centred: Centred) -> LocalFrame:
    """Give the working frame of a grid; the frame of a centre is made once."""
    return _frame(centred.lat_deg, centred.lon_deg)


@lru_cache(maxsize=8)
def _frame(lat_deg: float, lon_deg: float) -> LocalFrame:
    return LocalFrame(lat_deg, lon_deg)


def distance_and_course(
    lon1_deg: Numbers, lat1_deg: Numbers, lon2_deg: Numbers, lat2_deg: Numbers
) -> tuple[Result, Result]:
    """Geodesic from one place to another.

    Parameters
    ----------
    lon1_deg, lat1_deg, lon2_deg, lat2_deg
        From and to, WGS 84 [deg], any shapes that broadcast.

    Returns
    -------
    distance_m : float or ndarray
        Along the ellipsoid [m].
    course_deg : float or ndarray
        At the start [deg true], 0 to 360; NaN between a place and itself. C. F. F. Karney, Algorithms for geodesics,
        2013.

    Raises
    ------
    RangeError
        A latitude outside ±90 (swapped?) or a longitude outside ±180.
    """
    lon1, lat1, lon2, lat2 = np.broadcast_arrays(
        LONGITUDE.check(lon1_deg), LATITUDE.check(lat1_deg), LONGITUDE.check(lon2_deg), LATITUDE.check(lat2_deg)
    )
    shape = lon1.shape
    azimuth, _, distance = _geod().inv(lon1.ravel(), lat1.ravel(), lon2.ravel(), lat2.ravel())
    metres = np.asarray(distance, dtype=np.float64).reshape(shape)
    course = np.asarray(azimuth, dtype=np.float64).reshape(shape) % 360
    return plain(metres), plain(np.where(metres > 0, course, np.nan))


def destination(lon_deg: Numbers, lat_deg: Numbers, course_deg: Numbers, distance_m: Numbers) -> tuple[Result, Result]:
    """Where a geodesic leads.

    Parameters
    ----------
    lon_deg, lat_deg
        From, WGS 84 [deg], any shapes that broadcast.
    course_deg
        At the start [deg true], −360 to 720.
    distance_m
        Along the ellipsoid [m].

    Returns
    -------
    lon_deg, lat_deg : float or ndarray
        WGS 84 [deg]; NaN where an argument is not known. C. F. F. Karney, Algorithms for geodesics, 2013.

    Raises
    ------
    RangeError
        A latitude outside ±90 (swapped?), a longitude outside ±180, or a course outside its range.
    """
    lon, lat, course, distance = np.broadcast_arrays(
        LONGITUDE.check(lon_deg),
        LATITUDE.check(lat_deg),
        COURSE.check(course_deg),
        np.asarray(distance_m, dtype=np.float64),
    )
    known = ~(np.isnan(lon) | np.isnan(lat) | np.isnan(course) | np.isnan(distance))
    to_lon, to_lat, _ = _geod().fwd(lon.ravel(), lat.ravel(), course.ravel(), distance.ravel())
    return (
        plain(np.where(known, np.asarray(to_lon).reshape(known.shape), np.nan)),
        plain(np.where(known, np.asarray(to_lat).reshape(known.shape), np.nan)),
    )


def beside(lon_deg: Numbers, middle_deg: float) -> Result:
    """Longitudes counted on past ±180, within half a turn of a middle one.

    Parameters
    ----------
    lon_deg
        [deg], any shape.
    middle_deg
        [deg].

    Returns
    -------
    float or ndarray
        [deg], a whole number of turns from what was given; NaN stays.
    """
    lon = np.asarray(lon_deg, dtype=np.float64)
    return plain(lon + 360.0 * np.round((middle_deg - lon) / 360.0))


@cache
def _geod() -> Geod:
    from pyproj import Geod

    return Geod(ellps="WGS84")


def _both(first: Numbers, second: Numbers) -> tuple[F64, F64]:
    a, b = np.broadcast_arrays(np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64))
    return a, b


def _finite(values: Numbers) -> Result:
    array = np.asarray(values, dtype=np.float64)
    return plain(np.where(np.isfinite(array), array, np.nan))
