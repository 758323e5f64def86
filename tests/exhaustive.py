"""Every point of a water body flown in full, against the few that the shortlist keeps."""

from dataclasses import dataclass

import numpy as np

from diproute.planning.assessment import fly_sites, judge
from diproute.planning.prepared import prepare_ground
from diproute.planning.screening import rough_times, sweep, water_per_hour
from diproute.planning.shortlist import Candidate, shortlist
from diproute.planning.travel_fields import solve_fields
from diproute.records import DipPoint, Incident
from diproute.sites.candidates import dip_points, spread


@dataclass(frozen=True)
class Compared:
    """What the kept points of a water body reach of its best."""

    points: int
    best: float  # [L/h]
    kept: float
    rough_to_real: float  # median over the points flown

    @property
    def loss(self) -> float:
        return max(0.0, 1.0 - self.kept / self.best)


class Everywhere:
    """An incident's ground with its shortlist."""

    def __init__(self, incident: Incident) -> None:
        self.prepared = prepare_ground(incident)
        self.weather = incident.weather
        self.fields = solve_fields(self.prepared, self.weather.wind)
        self.kept = shortlist(self.prepared, self.fields, self.weather).kept

    def flown(self, points: list[DipPoint]) -> np.ndarray:
        """Water an hour of points [L/h], NaN where refused."""
        sites = []
        for i in range(0, len(points), 60):
            some = [Candidate(point, 1.0, None) for point in points[i : i + 60]]
            sites += [
                judge(self.prepared, self.weather, f) for f in fly_sites(self.prepared, self.fields, self.weather, some)
            ]
        return np.array([s.sortie.litres_per_hour if s.sortie and not s.refused else np.nan for s in sites])

    def compare(self, name: str, step: int) -> Compared | None:
        """Fly each `step`-th of a water's points, and the ten that look best at first, against the kept ones."""
        best, kept, ratios, count = [], [], [], 0
        circles = [
            (float(x), float(y), self.prepared.incident.search.radius_m)
            for drop in self.prepared.drops
            for x, y in zip(drop.x_m, drop.y_m, strict=True)
        ]
        for water in self.prepared.opened.waters:
            if water.name != name:
                continue
            points = spread(water, self.prepared.ground, self.prepared.incident.limits.shore_clearance_m, circles)
            if points.refused is not None or not len(points.x_m):
                continue
            swept = sweep(self.prepared, [points])
            rough = water_per_hour(self.prepared, self.weather, swept, rough_times(self.fields, swept))
            which = sorted({*range(0, len(rough), step), *np.argsort(-np.nan_to_num(rough))[:10].tolist()})
            real = self.flown(list(dip_points(points, [(i, "every point") for i in which], self.prepared.ground.grid)))
            best.append(real)
            ratios.append(rough[which] / real)
            kept.append(self.flown([c.point for c in self.kept if c.point.water is water]))
            count += len(which)
        if not best or not np.isfinite(np.concatenate(best)).any():
            return None
        return Compared(
            count,
            float(np.nanmax(np.concatenate(best))),
            float(np.nanmax(np.concatenate(kept))),
            float(np.nanmedian(np.concatenate(ratios))),
        )
