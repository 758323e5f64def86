"""The layers against each other: heights that cannot all be right are refused or said, never corrected in silence.

A wrong unit shows as one ratio between two layers, a second vertical datum as one distance, a slip as a single thing
that stands alone. What is compared is the ground of the working grid, so that nothing is said where that is not known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from diproute import constants as k
from diproute.errors import LayerError, WeatherError
from diproute.physics.geodesy import LocalFrame
from diproute.records import F64, Finding, Ground, Incident, Obstacle

_FT: Final = k.FT_M.value
_UNITS: Final = (  # what a layer's heights are, in those of another: what that looks like
    (1 / _FT, "metres that were read as feet"),
    (_FT, "feet that were read as metres"),
    (0.1, "decimetres that were read as metres"),
)
_NAMED: Final = 5  # single things that a caution names


@dataclass(frozen=True, slots=True)
class Place:
    """A drop, or the base, in the working frame."""

    drop: str | None  # None: the base
    x_m: F64
    y_m: F64


def look_across(incident: Incident, frame: LocalFrame, ground: Ground, drops: Sequence[Place]) -> tuple[Finding, ...]:
    """Hold the layers, the weather's station, the drops and the base against each other.

    Parameters
    ----------
    incident
        Its base and search, and the elevation and place of its weather's station.
    frame
        The working frame.
    ground
        The ground with its obstacles.
    drops
        Where the water is wanted.

    Returns
    -------
    tuple of Finding
        What is doubtful, or cannot be compared.

    Raises
    ------
    LayerError, WeatherError
        Heights that are in another unit than they are said to be.
    """
    places = list(drops)
    if incident.base is not None:
        x, y = frame.to_xy(incident.base.lon_deg, incident.base.lat_deg)
        places.append(Place(None, np.atleast_1d(x), np.atleast_1d(y)))
    return (
        *unknown_places(ground, places),
        *slopes(ground),
        *obstacles_on_ground(ground),
        *station_on_ground(incident, frame, ground),
        *far_places(places, incident.search.radius_m),
    )


def unknown_places(ground: Ground, places: Sequence[Place]) -> tuple[Finding, ...]:
    """Say which of the drops and the base lie where the ground is not known."""
    found = []
    for place in places:
        row, col = ground.grid.rowcol(place.x_m, place.y_m)
        held = ground.grid.holds(row, col)
        if not held.all() or not np.isfinite(ground.ground[row, col]).all():
            found.append(Finding.of("place-unknown", drop=place.drop))
    return tuple(found)


def slopes(ground: Ground) -> tuple[Finding, ...]:
    """Look at how steep the ground is: no country is as steep as heights in decimetres, few as those in feet.

    Slopes are taken over 60 m or more, so that treetops in a surface model are none. What is level is left out: a sea
    says nothing of a unit. Nor does country that is level but for a cliff.

    Raises
    ------
    LayerError
        Half of the ground is steeper than any country.
    """
    apart = max(1, round(k.SLOPE_BASE_M.value / (2 * ground.grid.cell_m)))
    every = max(1, round((ground.ground.size / k.SLOPE_CELLS.value) ** 0.5))
    z = ground.ground
    run = 2 * apart * ground.grid.cell_m
    east = (z[apart:-apart, 2 * apart :] - z[apart:-apart, : -2 * apart])[::every, ::every] / run
    north = (z[: -2 * apart, apart:-apart] - z[2 * apart :, apart:-apart])[::every, ::every] / run
    slope = np.hypot(east, north)
    known = np.count_nonzero(np.isfinite(slope))
    slope = slope[slope > 0]  # NaN: not known
    if slope.size < max(k.SLOPE_LEAST_CELLS.value, k.SLOPE_LEAST_SHARE.value * known):
        return ()
    middle = float(np.median(slope))
    angle_deg = float(np.degrees(np.arctan(middle)))
    if middle > k.SLOPE_REFUSED.value:
        raise LayerError(
            f"layers.elevation: half of the ground is steeper than {angle_deg:.0f} degrees, which no country is; its "
            "heights look like feet, decimetres or centimetres: bring the files into metres",
            where="layers.elevation",
            got=middle,
        )
    return (Finding.of("ground-too-steep", slope_deg=angle_deg),) if middle > k.SLOPE_DOUBTED.value else ()


def obstacles_on_ground(ground: Ground) -> tuple[Finding, ...]:
    """Hold what each obstacle file says of its obstacles' feet (top less height) against the ground.

    From 8 obstacles on. The higher of the stated top and of ground plus height counts in any case. On a surface model
    only feet above the surface are told: the surface may be the trees beside.

    Raises
    ------
    LayerError
        The feet stand on 3.28, 0.30 or 0.10 times the ground.
    """
    found: list[Finding] = []
    filed = [o for o in ground.obstacles if o.top_m is not None and not o.height_assumed]
    for source in sorted({o.source for o in filed}):
        found += _one_file(ground, source, [o for o in filed if o.source == source])
    return tuple(found)


def _one_file(ground: Ground, source: str, obstacles: Sequence[Obstacle]) -> list[Finding]:
    under = np.array([_ground_round(ground, obstacle) for obstacle in obstacles])
    known = np.isfinite(under).all(axis=1)
    if np.count_nonzero(known) < k.CROSS_LEAST.value:
        return []
    kept = [obstacle for obstacle, yes in zip(obstacles, known, strict=True) if yes]
    at, low, high = under[known].T
    foot = np.array([(o.top_m or 0.0) - o.height_m for o in kept])
    away = float(np.median(foot - at))
    _refuse_ratio(source, foot, at, away)
    count, surface = len(kept), ground.elevation_is == "surface"
    strays = 1.4826 * float(np.median(np.abs(foot - at - away)))  # a standard deviation, outliers left aside
    two = abs(away) > k.DATUMS_APART_M.value and strays < abs(away) / 2 and not (surface and away < 0)
    found = []
    if two:
        found.append(Finding.of("obstacles-two-datums", file=source, above=away > 0, off_m=abs(away), count=count))
    shift = away if two else 0.0
    room = 0.25 * (high - low)  # a hilltop is higher than any cell of it
    over, below = foot - shift - (high + room), (low - room) - (foot - shift)
    off = np.maximum(over, -np.inf if surface else below)
    least = np.array([max(k.FOOT_OFF_M.value, o.vertical_error_m or 0.0) for o in kept])
    bad = [int(i) for i in np.argsort(-off, kind="stable") if off[i] > least[i]]
    if bad:
        which = tuple(
            Finding.of("obstacle-off-ground", name=kept[i].name, above=bool(over[i] > 0), off_m=float(off[i]))
            for i in bad[:_NAMED]
        )
        more = len(bad) - len(which)
        found.append(
            Finding.of("obstacles-off-ground", file=source, count=len(bad), of=count, which=which, more=more or None)
        )
    return found


def _ground_round(ground: Ground, obstacle: Obstacle) -> tuple[float, float, float]:
    """Ground at an obstacle, and the lowest and highest of it where the obstacle may stand; NaN: not all known."""
    grid, spot = ground.grid, obstacle.geometry.centroid
    row, col = (int(i) for i in grid.rowcol(spot.x, spot.y))
    reach = obstacle.accuracy_m if obstacle.accuracy_m is not None else k.POINT_ACCURACY_M.value
    wide = int(np.ceil(reach / grid.cell_m)) + 1
    if not (grid.holds(row - wide, col - wide) and grid.holds(row + wide, col + wide)):
        return np.nan, np.nan, np.nan
    part = ground.ground[row - wide : row + wide + 1, col - wide : col + wide + 1]
    return float(ground.ground[row, col]), float(part.min()), float(part.max())


def _refuse_ratio(source: str, foot: F64, at: F64, away_m: float) -> None:
    tall = np.abs(at) > k.CROSS_LEAST_HEIGHT_M.value
    if np.count_nonzero(tall) < k.CROSS_LEAST.value:
        return
    ratio = float(np.median(foot[tall] / at[tall]))
    for factor, looks in _UNITS:
        near = abs(ratio / factor - 1) < k.RATIO_ALIKE.value
        if near and float(np.median(np.abs(foot - factor * at))) < 0.5 * abs(away_m):
            raise LayerError(
                f"layers.elevation: the obstacles of {source} stand on {ratio:.2f} times the ground ({foot.size} "
                f"compared); the elevation's heights look like {looks}: check elevation_unit, or convert the files",
                where="layers.elevation",
                got=ratio,
            )


def station_on_ground(incident: Incident, frame: LocalFrame, ground: Ground) -> tuple[Finding, ...]:
    """Hold the elevation of the weather's station against the ground where it stands, if the incident says where.

    Raises
    ------
    WeatherError
        It is 3.28 or 0.30 times the ground.
    """
    if incident.weather.station is None:
        return ()
    lat, lon = incident.weather.station
    row, col = (int(i) for i in ground.grid.rowcol(*frame.to_xy(lon, lat)))
    if not ground.grid.holds(row, col) or not np.isfinite(ground.ground[row, col]):
        return (Finding.of("station-not-compared"),)
    said, there = incident.weather.air.measured_at_m, float(ground.ground[row, col])
    for factor, looks in _UNITS[:2]:
        if abs(there) > k.CROSS_LEAST_HEIGHT_M.value and abs(said / there / factor - 1) < k.RATIO_ALIKE.value:
            wrong = "feet, written as metres" if factor > 1 else "metres, written as feet"
            raise WeatherError(
                f"weather: the station is said to stand at {said:.0f} m and the ground there is at {there:.0f} m; its "
                f"elevation looks like {wrong}, or the layers' like {looks}: correct it",
                where="weather",
                got=said,
            )
    if abs(said - there) > k.STATION_OFF_M.value:
        return (Finding.of("station-off-ground", said_m=said, ground_m=there),)
    return ()


def far_places(places: Sequence[Place], radius_m: float) -> tuple[Finding, ...]:
    """Say which drops, and whether the base, lie further from every other drop than the search reaches."""
    found = []
    for place in places:
        others = [o for o in places if o.drop is not None and o is not place]
        if not others:
            continue
        x, y = np.concatenate([o.x_m for o in others]), np.concatenate([o.y_m for o in others])
        away = float(np.hypot(place.x_m[:, None] - x, place.y_m[:, None] - y).min())
        if away > radius_m:
            found.append(Finding.of("place-far", drop=place.drop, away_m=away, radius_m=radius_m))
    return tuple(found)
