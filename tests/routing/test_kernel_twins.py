"""Routes against other people's shortest paths, and against a plain search of our own rules."""

import heapq
import itertools

import numpy as np
import pytest
from numba import njit
from route_scene import CALM, PLAIN, make_ground, rough
from scipy.ndimage import gaussian_filter
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from diproute.records import Wind
from diproute.routing.airspace import Airspace, Level, prepare
from diproute.routing.leg import fly_legs
from diproute.routing.speed_model import Flying
from diproute.routing.travel_time import Ask, Sources, solve

FLYING = Flying(airspeed_m_s=40.0, climb_m_s=3.0, descent_m_s=2.5)
CELL = 20.0


def blobs(rng, size, share, smooth=4.0):
    field = gaussian_filter(rng.standard_normal((size, size)), smooth)
    return field > np.quantile(field, 1 - share)


def random_airspace(rng, size, priced=True) -> tuple[Airspace, np.ndarray]:
    """Flat ground with closed blobs and areas that cost extra, and the cost by cell (inf: closed)."""
    airspace = prepare(make_ground(np.zeros((size, size)), CELL), (), PLAIN)
    floor, cost = airspace.fine.floor.copy(), np.zeros((size, size), np.uint8)
    if priced:
        cost[blobs(rng, size, 0.3, rng.uniform(2, 8))] = 1
        cost[blobs(rng, size, 0.15, rng.uniform(2, 8))] = 2
    shut = blobs(rng, size, 0.25, rng.uniform(1.5, 6))
    floor[shut] = np.nan
    level = Level(airspace.grid, 1, floor, cost)
    costs = (1.0, 1.5, 2.5)
    return Airspace(airspace.ground, PLAIN, (), floor, level, level, costs, airspace.near_top), np.where(
        np.isnan(floor), np.inf, np.array(costs)[cost]
    )


def middle(airspace, row, col):
    return airspace.grid.xy(row, col)


def ends(rng, cost):
    """Two open cells in the same piece, far apart."""
    from scipy.ndimage import label

    pieces, _ = label(np.isfinite(cost))
    counts = np.bincount(pieces.ravel())
    counts[0] = 0
    cells = np.argwhere(pieces == counts.argmax())
    far = cells[rng.integers(len(cells))]
    pick = cells[np.hypot(*(cells - far).T) > 0.5 * len(cost)]
    return far, pick[rng.integers(len(pick))]


def steps(cost, ring):
    """All steps of a ring with the length-weighted cost of each, corners not cut: (from, to, metres at cost)."""
    rows, cols = cost.shape
    index = np.arange(cost.size).reshape(cost.shape)
    out = []
    for dr, dc in ring:
        rs = slice(max(0, -dr), rows - max(0, dr)), slice(max(0, dr), rows - max(0, -dr))
        cs = slice(max(0, -dc), cols - max(0, dc)), slice(max(0, dc), cols - max(0, -dc))
        weight = 0.5 * (cost[rs[0], cs[0]] + cost[rs[1], cs[1]]) * np.hypot(dr, dc) * CELL
        if dr and dc:
            weight[np.isinf(cost[rs[0], cs[1]]) | np.isinf(cost[rs[1], cs[0]])] = np.inf  # closed corner
        good = np.isfinite(weight)
        out.append((index[rs[0], cs[0]][good], index[rs[1], cs[1]][good], weight[good]))
    return tuple(np.concatenate(part) for part in zip(*out, strict=True))


EIGHT = [(r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if r or c]


@pytest.mark.parametrize("seed", range(100))
def test_no_dearer_than_scikit_image_or_scipy_on_a_random_field(seed):
    from skimage.graph import MCP_Geometric

    rng = np.random.default_rng(seed)
    airspace, cost = random_airspace(rng, 120)
    source, site = ends(rng, cost)
    field = solve(airspace, FLYING, CALM, Sources.of(*middle(airspace, *source), 45.0), towards=True)
    ours = field.way(Ask(*middle(airspace, *site), 45.0, 0.0)).plain_s * FLYING.airspeed_m_s

    a, b, weight = steps(cost, EIGHT)
    graph = coo_array((weight, (a, b)), shape=(cost.size, cost.size)).tocsr()
    scipys = dijkstra(graph, indices=np.ravel_multi_index(source, cost.shape))[np.ravel_multi_index(site, cost.shape)]
    # scikit-image cuts corners, so it is given a field without any: closed corners are filled
    filled = fill_corners(cost)
    total, _ = MCP_Geometric(np.where(np.isinf(filled), -1, filled)).find_costs([tuple(source)])
    assert ours <= scipys * (1 + 1e-9)
    if np.isfinite(total[tuple(site)]) and (filled == cost).all():
        assert ours <= total[tuple(site)] * CELL * (1 + 1e-9)


def fill_corners(cost):
    """Close one cell at each diagonal gap until a diagonal step never passes between closed cells."""
    out = cost.copy()
    while True:
        shut = np.isinf(out)
        a, b, c, d = shut[:-1, :-1], shut[:-1, 1:], shut[1:, :-1], shut[1:, 1:]
        one, two = a & d & ~b & ~c, b & c & ~a & ~d
        if not (one.any() or two.any()):
            return out
        out[:-1, 1:][one] = np.inf
        out[:-1, :-1][two] = np.inf


# ------------------------------------------------------------------------- the same rules, searched cell by cell
def knight_ways():
    """The 32 steps of up to three cells, with the cells each one crosses: (row, col, share of the step)."""
    ways = {(r, c) for r in range(-3, 4) for c in range(-3, 4) if np.gcd(r, c) == 1}
    ways = sorted(w for w in ways if max(map(abs, w)) <= 3 and w != (0, 0))
    parts = np.zeros((len(ways), 8, 3))
    counts = np.zeros(len(ways), np.int64)
    for k, (r, c) in enumerate(ways):
        cuts = {0.0, 1.0}
        for span in (r, c):
            cuts |= {(j + 0.5) / abs(span) for j in range(abs(span))}
        cuts = sorted(cuts)
        cells = []
        for a, b in itertools.pairwise(cuts):
            if b - a > 1e-12:
                m = 0.5 * (a + b)
                cells.append((round(m * r), round(m * c), b - a))
        if abs(r) == abs(c):  # a diagonal touches both corners
            cells += [(0, c, 0.0), (r, 0, 0.0)]
        counts[k] = len(cells)
        parts[k, : len(cells)] = cells
    return np.array(ways), parts, counts


WAYS, PARTS, COUNTS = knight_ways()


@njit
def earliest(cost, opening, closing, pace, ways, parts, counts, start):
    """Plain Dijkstra with waiting: earliest arrival at every cell; inf where it comes after the cell has closed."""
    rows, cols = cost.shape
    best = np.full((rows, cols), np.inf)
    t0 = opening[start[0], start[1]]
    if t0 > closing[start[0], start[1]]:
        return best
    best[start[0], start[1]] = t0
    heap = [(t0, start[0] * cols + start[1])]
    while heap:
        t, at = heapq.heappop(heap)
        r, c = at // cols, at % cols
        if t > best[r, c]:
            continue
        for k in range(len(ways)):
            nr, nc = r + ways[k, 0], c + ways[k, 1]
            if not (0 <= nr < rows and 0 <= nc < cols):
                continue
            now = t
            for p in range(counts[k]):
                pr, pc = r + int(parts[k, p, 0]), c + int(parts[k, p, 1])
                if cost[pr, pc] == np.inf:
                    now = np.inf
                elif parts[k, p, 2] > 0.0:  # as high as the cell asks on entering it and until it is left
                    now = max(now, opening[pr, pc]) + parts[k, p, 2] * pace[k] * cost[pr, pc]
                    if now > closing[pr, pc]:
                        now = np.inf
            if now < best[nr, nc]:
                best[nr, nc] = now
                heapq.heappush(heap, (now, nr * cols + nc))
    return best


def searched(cost, floor, flying, wind, site, drop, site_m, drop_m):
    """Least time of a leg from the site to the drop, by halving the time within which the search must arrive."""
    angle = np.radians(wind.from_deg[0])
    east, north = -np.sin(angle) * wind.speed_m_s[0], -np.cos(angle) * wind.speed_m_s[0]
    length = np.hypot(*WAYS.T) * CELL
    ux, uy = WAYS[:, 1] * CELL / length, -WAYS[:, 0] * CELL / length
    along, across = east * ux + north * uy, east * uy - north * ux
    pace = length / (along + np.sqrt(flying.airspeed_m_s**2 - across**2))
    floor = floor.astype(float)
    up = np.maximum(floor - site_m, 0) / flying.climb_m_s
    down = np.maximum(floor - drop_m, 0) / flying.descent_m_s

    def arrives(limit):
        return earliest(cost, up, limit - down, pace, WAYS, PARTS, COUNTS, tuple(site))[tuple(drop)] <= limit

    low, high = 0.0, 1.0
    while not arrives(high):
        low, high = high, high * 2
        if high > 1e6:
            return np.inf
    while high - low > 2e-4 * high:
        mid = 0.5 * (low + high)
        low, high = (low, mid) if arrives(mid) else (mid, high)
    return high


def compare(seed, relief_m, priced, closed):
    rng = np.random.default_rng(seed)
    size = 100
    airspace, cost = random_airspace(rng, size, priced)
    floor = airspace.fine.floor
    if not closed:
        floor = np.where(np.isnan(floor), np.float32(45.0), floor)
        floor[[0, -1], :] = floor[:, [0, -1]] = np.nan
        cost = np.where(np.isnan(floor), np.inf, np.array(airspace.costs)[airspace.fine.cost])
    floor = floor + rough(rng, size, size, rng.uniform(8, 20), relief_m)
    level = Level(airspace.grid, 1, floor, airspace.fine.cost)
    airspace = Airspace(airspace.ground, PLAIN, (), floor, level, level, airspace.costs, airspace.near_top)
    wind = Wind((0.0,), (float(rng.uniform(0, 360)),), (float(rng.uniform(0, 14)),))
    flying = Flying(40.0, float(rng.uniform(2, 6)), float(rng.uniform(2, 6)))
    drop, site = ends(rng, cost)
    drop_m, site_m = float(floor[tuple(drop)]), float(floor[tuple(site)])
    field = solve(airspace, flying, wind, Sources.of(*middle(airspace, *drop), drop_m), towards=True)
    ask = Ask(*middle(airspace, *site), site_m, 0.0)
    (leg,) = fly_legs(field, [ask], "Head", "loaded")
    twin = searched(cost, floor, flying, wind, site, drop, site_m, drop_m)
    return field, ask, leg, twin


@pytest.mark.parametrize(("relief_m", "closed"), [(0.0, True), (60.0, True), (60.0, False), (300.0, False)])
@pytest.mark.parametrize("seed", range(12))
def test_no_slower_than_a_plain_search_with_wind_and_climb(seed, relief_m, closed):
    *_, leg, twin = compare(seed, relief_m, priced=False, closed=closed)
    assert leg.seconds <= twin * 1.005


@pytest.mark.parametrize("seed", range(100, 115))
def test_no_slower_than_a_plain_search_where_areas_cost_extra(seed):
    field, ask, _, twin = compare(seed, relief_m=0.0, priced=True, closed=seed % 2 == 0)
    assert field.way(ask).seconds <= twin * 1.01
