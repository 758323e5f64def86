"""Why no leg can be flown: the first failing place of its departure or its approach."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from diproute.records import Finding
from diproute.routing.blocked import Blocked, why_blocked
from diproute.routing.flight import Failed
from diproute.routing.gates import Gates
from diproute.routing.heights_kernel import CLOSED, LOW, OFF, ROOF
from diproute.routing.refine_kernel import NO_CIRCLE, NO_ROOM
from diproute.routing.travel_time import Field


def no_direction(field: Field, near: Gates, i: int) -> Blocked:
    """Say why no direction of a point leads anywhere: nothing is open, there is no way, or none that climbs enough."""
    x, y, far = float(near.x_m[i]), float(near.y_m[i]), field.far
    if not (far.speed_m_s > 0).any():
        return _blocked(far, 0, Finding.of("fails-open"), None)
    if (near.speed_m_s[i] > 0).any():
        way = field.way(x, y, float(near.z_m[i]), 0)
        if way is None:
            model = field.over_fine_cells()[0]
            row, col = model.level.grid.rowcol(far.x_m, far.y_m)
            sources = np.column_stack([col, row])
            return why_blocked(field.airspace, model, sources, x, y)
        reason = Finding.of("fails-height", short_m=None)
    else:
        reason = Finding.of("fails-open")
    return _blocked(near, i, reason, None)


def unflyable(near: Gates, far: Gates, i: int, failures: Sequence[Failed], *, towards: bool) -> Blocked:
    """Name the first failing place: of the reason that stopped the most directions."""
    if not failures:
        return _blocked(near, i, Finding.of("fails-height", short_m=None), None)
    common = Counter((failed.why, failed.early) for failed in failures).most_common(1)[0][0]
    worst = next(failed for failed in failures if (failed.why, failed.early) == common)
    codes = {
        OFF: "fails-closed",
        CLOSED: "fails-closed",
        ROOF: "fails-roof",
        NO_ROOM: "fails-room",
        NO_CIRCLE: "fails-circle",
    }
    if worst.why == LOW:
        reason = Finding.of("fails-height", short_m=worst.short_m or None)
    else:
        reason = Finding.of(codes[worst.why])
    gates = near if worst.early == towards else far
    return _blocked(gates, i if gates is near else 0, reason, worst)


def _blocked(gates: Gates, i: int, reason: Finding, failed: Failed | None) -> Blocked:
    import shapely

    code = "no-flyable-departure" if gates.departure else "no-flyable-arrival"
    along_m = None if failed is None else failed.along_m
    place = (float(gates.x_m[i]), float(gates.y_m[i])) if failed is None else (failed.x_m, failed.y_m)
    return Blocked(Finding.of(code, place=gates.place, along_m=along_m, why=reason), (), shapely.Point(place))
