"""The heights of a leg's samples, compiled: what climbing and descending on the way gives, and what orbits must add.

``high`` is the most that can be had by each sample climbing since the departure's corridor, ``back`` the most from
which the arrival can still be made. What a floor asks beyond them costs time: slower flight on the straights first,
whole orbits at a place whose circle is clear for the rest.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit
from diproute.routing.corners_kernel import ARC, IN, OUT, STRAIGHT

PI = np.pi
# places in the answer of `heights` and `cost`
UP, DOWN, AT_UP, AT_DOWN, ORBITS_UP, ORBITS_DOWN, BAD, FIRST, LAST, FLYABLE, COUNT, BAD_AT, BAD_WHY, PRICE = range(14)
ANSWERS = 14
# why a sample cannot be flown
OFF, CLOSED, LOW, ROOF = 1, 2, 3, 4
# how waiting is counted: by the second, beyond slower flight as if lifted or lowered instead; in whole orbits; not at
# all (charged)
AS_IT_IS, WHOLE, NONE = 0, 1, 2
NO_ORBIT_S, NO_ORBIT = 20.0, 3.0  # charged where no orbit may be flown, and by second late
FREE = -1e9
ORBIT_EVERY_M = 80.0
DEEP_M = -1000.0  # below any floor


@njit(cache=True, nogil=True, inline="always")
def _bad(out: Any, i: int, why: int) -> None:
    if out[BAD] == 0:
        out[BAD_AT], out[BAD_WHY] = i, why
    out[BAD] += 1


@njit(cache=True, nogil=True)
def heights(work: Any, k: int, corners: int, line: Any, craft: Any, land: Any, most: Any, out: Any) -> Any:
    """Fill in `high`, `back` and `need`, and what must be waited for; False once it is more than there is time for.

    Parameters
    ----------
    work
        `Work`; its first ``k`` samples are laid.
    k, corners
        Number of samples and of corners.
    line
        Height at the top of the lift, gradient, surveyed length and vertical speed of the departure; the same of the
        arrival; seconds by which a coarse sampling must stay clear of an orbit, so that a closer one asks for none.
    craft, land
        `Craft` and `Land`.
    most
        How waiting is counted; seconds, and seconds late beyond slower flight, from which on it is too much.
    out
        The answer, in place. Closed cells between the samples are not looked for (`closed_between`).
    """
    whole, seconds, over = most
    z0, g0, surveyed0, vertical0, z1, g1, surveyed1, vertical1, slack = line
    px, py, took, kind, corner = work.px, work.py, work.took, work.kind, work.corner
    high, back, need = work.high, work.back, work.need
    rows, cols = land.floor.shape
    ceiled, roofed, priced = land.ceilings.size > 1, land.roofs.size > 1, land.cost.size > 1
    cells, blocks = 1.0 / land.cell, 1.0 / land.factor
    out[BAD] = out[PRICE] = 0.0
    out[BAD_AT] = out[BAD_WHY] = -1.0
    d = 0.0
    high[0] = z0
    i0 = 0
    slower = 0.0
    for i in range(1, k):
        if kind[i] == OUT:
            d += np.sqrt((px[i] - px[i - 1]) ** 2 + (py[i] - py[i - 1]) ** 2)
            high[i] = z0 + g0 * d
            i0 = i
        else:
            high[i] = high[i - 1] + took[i] * craft.up * (craft.in_arcs if kind[i] == ARC else 1.0)
            if kind[i] == STRAIGHT:
                slower += took[i] * craft.slower
    i1 = k - 1
    d = 0.0
    back[k - 1] = z1
    for i in range(k - 2, -1, -1):
        if kind[i + 1] == IN:
            d += np.sqrt((px[i] - px[i + 1]) ** 2 + (py[i] - py[i + 1]) ** 2)
            back[i] = z1 + g1 * d
            i1 = i
        else:
            back[i] = back[i + 1] + took[i + 1] * craft.down * (craft.in_arcs if kind[i + 1] == ARC else 1.0)
    i1 = max(i1, i0)
    d = 0.0
    asks = False
    slow = 0.0
    sooner = (back[i1] - high[i1]) / craft.up
    if max(sooner, (high[i0] - back[i0]) / craft.down) > min(seconds, slower + over):
        return False
    sooner = 0.0
    for i in range(k):
        if kind[i] == STRAIGHT:
            slow += took[i] * craft.slower
        if i > 0 and i <= i0:
            d += np.sqrt((px[i] - px[i - 1]) ** 2 + (py[i] - py[i - 1]) ** 2)
        r, c = int((land.top - py[i]) * cells), int((px[i] - land.left) * cells)
        if py[i] > land.top or px[i] < land.left or c >= cols or r >= rows:
            need[i] = FREE
            _bad(out, i, OFF)
            continue
        if priced and i > 0:
            code = land.cost[int((r + 0.5) * blocks), int((c + 0.5) * blocks)]
            if code > 0:
                out[PRICE] += took[i] * (land.price[code] - 1.0)
        f = land.floor[r, c]
        if np.isnan(f):
            need[i] = FREE
            _bad(out, i, CLOSED)
            continue
        if i < i0 or i > i1 or i in (i0, i1) or (kind[i] == ARC and (corner[i] <= 1 or corner[i] >= corners - 2)):
            f = land.turns[r, c] - land.relief
        if i < i0:
            if d > surveyed0 and high[i] < f:
                _bad(out, i, LOW)
            f = FREE
        elif i > i1:
            f = FREE
        if ceiled and land.ceilings[r, c] > f:
            f = land.ceilings[r, c]
            if (i < i0 and high[i] < f) or (i > i1 and back[i] < f):
                _bad(out, i, CLOSED)
        if roofed and ((i <= i0 and high[i] > land.roofs[r, c]) or (i >= i1 and back[i] > land.roofs[r, c])):
            _bad(out, i, ROOF)
        need[i] = f
        if i0 <= i <= i1 and (f > high[i] - slack * craft.up or f > back[i] - slack * craft.down):
            asks = True
            early, late = (f - high[i]) / craft.up, (f - back[i]) / craft.down
            sooner = max(sooner, early)
            if sooner + max(0.0, late) > seconds or max(early - slow, late - slower + slow) > over:
                return False
    d = 0.0
    for i in range(k - 1, i1, -1):
        if i < k - 1:
            d += np.sqrt((px[i] - px[i + 1]) ** 2 + (py[i] - py[i + 1]) ** 2)
        if d > surveyed1:
            r, c = int((land.top - py[i]) / land.cell), int((px[i] - land.left) / land.cell)
            if r < 0 or c < 0 or r >= rows or c >= cols or not land.turns[r, c] - land.relief <= back[i]:
                _bad(out, i, LOW)
    need[i0] = max(need[i0], high[i0])
    need[i1] = max(need[i1], back[i1])
    asks = asks or high[i0] > back[i0] or back[i1] > high[i1]
    out[UP] = out[DOWN] = out[ORBITS_UP] = out[ORBITS_DOWN] = 0.0
    out[AT_UP], out[AT_DOWN], out[FIRST], out[LAST], out[COUNT] = i0, i1, i0, i1, k
    if asks:
        _waits(work, (i0, i1, slack, vertical0, vertical1), craft, whole, out)
    if roofed:
        _under_roofs(work, (i0, i1), craft, land, out)
    return True


@njit(cache=True, nogil=True)
def late_for(left: float, craft: Any, whole: int) -> Any:
    """Seconds late, beyond slower flight, that cost more than there is left."""
    if whole == WHOLE:
        return craft.period * craft.in_arcs * np.floor(left / craft.period) + 1e-6
    return max(0.0, (left - NO_ORBIT_S) / NO_ORBIT) + 1e-6 if whole == NONE else np.inf


@njit(cache=True, nogil=True, inline="always")
def _closed_between(x0: float, y0: float, x1: float, y1: float, land: Any, cells: float) -> Any:
    """Whether a closed cell lies between two samples on the grid, looked for every half cell."""
    count = int(2.0 * cells * max(abs(x1 - x0), abs(y1 - y0)))
    for j in range(1, count):
        share = j / count
        r, c = int((land.top - (y0 + (y1 - y0) * share)) * cells), int((x0 + (x1 - x0) * share - land.left) * cells)
        if np.isnan(land.floor[r, c]):
            return True
    return False


@njit(cache=True, nogil=True)
def closed_between(work: Any, k: int, land: Any, out: Any) -> None:
    """Count the pieces between samples that a closed cell lies in, as what cannot be flown."""
    px, py = work.px, work.py
    cells = 1.0 / land.cell
    rows, cols = land.floor.shape
    at, why = out[BAD_AT], out[BAD_WHY]
    for i in range(1, k):
        if _off(px[i - 1], py[i - 1], land, cells, rows, cols) or _off(px[i], py[i], land, cells, rows, cols):
            continue
        if _closed_between(px[i - 1], py[i - 1], px[i], py[i], land, cells):
            out[BAD] += 1
            if at < 0 or i < at:
                at, why = i, CLOSED
    out[BAD_AT], out[BAD_WHY] = at, why


@njit(cache=True, nogil=True, inline="always")
def _off(x: float, y: float, land: Any, cells: float, rows: int, cols: int) -> Any:
    return y > land.top or x < land.left or int((land.top - y) * cells) >= rows or int((x - land.left) * cells) >= cols


@njit(cache=True, nogil=True)
def _waits(work: Any, between: Any, craft: Any, whole: int, out: Any) -> None:
    """Fill in what must be waited for the heights between two samples, and how many orbits that takes."""
    i0, i1, slack, vertical0, vertical1 = between
    took, kind, high, back, need = work.took, work.kind, work.high, work.back, work.need
    # the leg takes the largest sum of what must be waited for climbing by a place and for descending after it
    best = bu = bd = 0.0
    cu, cd = i0, i1
    run, at = 0.0, i1
    for i in range(i1, i0 - 1, -1):
        later = (need[i] - back[i]) / craft.down
        if later > run:
            run, at = later, i
        work.wait[i], work.wait_at[i] = run, at
    a, ca = 0.0, i0
    for i in range(i0, i1 + 1):
        sooner = (need[i] - high[i]) / craft.up
        if sooner > a:
            a, ca = sooner, i
        if a + work.wait[i] > best:
            best, bu, bd, cu, cd = a + work.wait[i], a, work.wait[i], ca, int(work.wait_at[i])
    # orbits: what slower flight up to each place cannot give; the worst place counts, not the last one
    over_up = over_down = -1e9
    slow = 0.0
    for i in range(i0, cu + 1):
        if i > i0 and kind[i] == STRAIGHT:
            slow += took[i] * craft.slower
        late = (need[i] - high[i]) / craft.up
        if late > 0.0 or (i > i0 and late > -slack):
            over_up = max(over_up, late + slack - slow)
    slow = 0.0
    for i in range(i1, cd - 1, -1):
        if i < i1 and kind[i + 1] == STRAIGHT:
            slow += took[i + 1] * craft.slower
        late = (need[i] - back[i]) / craft.down
        if late > 0.0 or (i < i1 and late > -slack):
            over_down = max(over_down, late + slack - slow)
    if over_up > 1e-6:
        won = craft.period * craft.in_arcs
        out[ORBITS_UP] = np.ceil(over_up / won - 1e-9)
        if whole == WHOLE:
            bu = out[ORBITS_UP] * craft.period + max(0.0, bu - out[ORBITS_UP] * won)
        elif whole == NONE:
            bu += NO_ORBIT_S + NO_ORBIT * over_up
        else:
            bu += over_up * max(0.0, craft.up / vertical0 - 1.0)
    if over_down > 1e-6:
        won = craft.period * craft.in_arcs
        out[ORBITS_DOWN] = np.ceil(over_down / won - 1e-9)
        if whole == WHOLE:
            bd = out[ORBITS_DOWN] * craft.period + max(0.0, bd - out[ORBITS_DOWN] * won)
        elif whole == NONE:
            bd += NO_ORBIT_S + NO_ORBIT * over_down
        else:
            bd += over_down * max(0.0, craft.down / vertical1 - 1.0)
    out[UP], out[DOWN], out[AT_UP], out[AT_DOWN] = bu, bd, cu, cd


@njit(cache=True, nogil=True)
def _under_roofs(work: Any, between: Any, craft: Any, land: Any, out: Any) -> None:
    """Count the samples at which the lowest profile between two samples does not pass under a roof."""
    i0, i1 = between
    px, py, took, kind, need = work.px, work.py, work.took, work.kind, work.need
    rows, cols = land.floor.shape
    low = -1e9
    for i in range(i1, i0 - 1, -1):
        low = max(low, need[i])
        work.wait[i] = low
        if i > i0:
            low -= craft.up * took[i] * (craft.in_arcs if kind[i] == ARC else 1.0)
    low = -1e9
    for i in range(i0, i1 + 1):
        low = max(low, work.wait[i])
        r, c = int((land.top - py[i]) / land.cell), int((px[i] - land.left) / land.cell)
        if r >= 0 and c >= 0 and r < rows and c < cols and low > land.roofs[r, c]:
            _bad(out, i, ROOF)
        if i < i1:
            low -= craft.down * took[i + 1] * (craft.in_arcs if kind[i + 1] == ARC else 1.0)


@njit(cache=True, nogil=True)
def circle_short(craft: Any, land: Any, x: float, y: float, low: float, most: float, least: float) -> Any:
    """How much too low a circle is at its worst [m], 0: clear, 1e9: closed; looked at no further than `least`.

    ``low`` is the height of the first turn, ``most`` that of the last one (for roofs).
    """
    short = 0.0
    cells = 1.0 / land.cell
    for j in range(craft.circle_x.size):
        c = int((x + craft.circle_x[j] - land.left) * cells)
        r = int((land.top - y - craft.circle_y[j]) * cells)
        if c < 0 or r < 0 or c >= land.floor.shape[1] or r >= land.floor.shape[0] or np.isnan(land.floor[r, c]):
            return 1e9
        f = land.turns[r, c] - land.relief
        if land.ceilings.size > 1:
            f = max(f, land.ceilings[r, c])
        if land.roofs.size > 1 and most > land.roofs[r, c]:
            return 1e9
        short = max(short, f - low)
        if short >= least:
            return short
    return short


@njit(cache=True, nogil=True)
def orbit_place(work: Any, turning: Any, craft: Any, land: Any, out: Any) -> Any:
    """Find the first place with a whole clear circle before a floor that only the orbits clear.

    Parameters
    ----------
    work
        After `heights`.
    turning
        0 for a climb after the departure, 1 for a descent before the arrival (looked for backwards); seconds that slow
        flight must give; height that the orbits win [m].
    craft, land, out
        As for `heights`.

    Returns
    -------
    tuple
        Sample (-1: none), side, centre x and y, height there; at -1 the side is what is missing at the least [m].
    """
    backwards, spare, gain = turning
    i0, i1 = int(out[FIRST]), int(out[LAST])
    h = work.back if backwards == 1 else work.high
    rate = craft.down if backwards == 1 else craft.up
    i = i1 if backwards == 1 else i0
    last, d, slow, least = -1e9, 0.0, 0.0, 300.0
    px, py = work.px, work.py
    last_i = i0 if backwards == 1 else i1  # there is no way beyond it on which the orbits' height would count
    while i != last_i:
        here = h[i] + rate * min(spare, slow)
        if here < work.need[i] - 0.05 and i != i0 and i != i1:
            return -1, min(least, 300.0) + 0.2 * (work.need[i] - here), 0.0, 0.0, 0.0
        if d - last >= ORBIT_EVERY_M:
            last = d
            j = i + 1 if i < int(out[COUNT]) - 1 else i
            heading = np.arctan2(px[j] - px[j - 1], py[j] - py[j - 1])
            for side in (-1.0, 1.0):
                x, y = px[i] + side * craft.radius * np.cos(heading), py[i] - side * craft.radius * np.sin(heading)
                s = circle_short(craft, land, x, y, here, here + gain, least)
                if s <= 0.0:
                    return i, side, x, y, here
                least = min(least, s)
        n = i - 1 if backwards == 1 else i + 1
        d += np.sqrt((px[n] - px[i]) ** 2 + (py[n] - py[i]) ** 2)
        m = i if backwards == 1 else n
        if work.kind[m] == STRAIGHT:
            slow += work.took[m] * craft.slower
        i = n
    return -1, least, 0.0, 0.0, 0.0


@njit(cache=True, nogil=True)
def spend(work: Any, craft: Any, out: Any, backwards: int, spare: float) -> Any:
    """Fly straights slower, as early as it helps, until so many seconds are spent; what is left of them."""
    i0, i1 = int(out[FIRST]), int(out[LAST])
    for j in range(i1 - i0):
        i = i1 - j if backwards == 1 else i0 + 1 + j
        if spare <= 0.0:
            break
        if work.kind[i] == STRAIGHT:
            more = min(spare, work.took[i] * craft.slower)
            work.took[i] += more
            spare -= more
    return spare


@njit(cache=True, nogil=True)
def circle_floor(craft: Any, land: Any, x: float, y: float) -> Any:
    """Lowest height that clears a whole circle [m AMSL]."""
    return DEEP_M + circle_short(craft, land, x, y, DEEP_M, -np.inf, np.inf)


@njit(cache=True, nogil=True)
def lowest(work: Any, craft: Any, out: Any, climbing: Any, descending: Any, bottom: Any) -> None:
    """Fill in the lowest profile over what is needed that the rates allow, the corridors' own lines at both ends.

    ``climbing`` and ``descending`` hold the seconds of whole turns on the piece before each sample.
    """
    i0, i1, k = int(out[FIRST]), int(out[LAST]), int(out[COUNT])
    for i in range(k):
        bottom[i] = work.need[i]
    for i in range(i1 - 1, i0 - 1, -1):
        share = craft.in_arcs if work.kind[i + 1] == ARC else 1.0
        won = craft.up * (work.took[i + 1] * share + climbing[i + 1] * craft.in_arcs)
        bottom[i] = max(bottom[i], bottom[i + 1] - won)
    for i in range(i0 + 1, i1 + 1):
        share = craft.in_arcs if work.kind[i] == ARC else 1.0
        lost = craft.down * (work.took[i] * share + descending[i] * craft.in_arcs)
        bottom[i] = max(bottom[i], bottom[i - 1] - lost)
