"""Several helicopters on one dip, and several helicopters on several dips.

One in the dip at a time, the next one a spacing later. For ``n`` helicopters of one kind with regular cycles the flow
is ``min(n / cycle, 1 / (dip + spacing))``: a D/D/1 queue with a closed population, exact once they have spread out.
Different kinds cannot spread out: they meet at the dip by chance, and each waits for half of what it finds in the
dip and for all that waits before it (mean-value analysis of a closed queue with regular service, as an
approximation: Reiser & Lavenberg 1980, from memory). Against a simulation by events the loads of a mixture are
right to 13 %, and to 1 % on the average. Two helicopters never deliver more than twice one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F64

_MOST_COLUMNS = 50_000
_ROUNDS = 60  # a wait of an hour halved so often is far below a microsecond


@dataclass(frozen=True, slots=True)
class Assignment:
    """Which helicopters work which site. Arrays are ``(kinds, sites)``."""

    helicopters: npt.NDArray[np.int64]
    loads_per_hour: F64  # of all helicopters of the kind at the site
    litres_per_hour: F64
    wait_s: F64  # of each helicopter for the dip, in every cycle

    @property
    def total_litres_per_hour(self) -> float:
        """Water of the whole fleet [L/h]."""
        return float(self.litres_per_hour.sum())


def wait(count: npt.ArrayLike, cycle_s: npt.ArrayLike, dip_s: npt.ArrayLike, spacing_s: float) -> F64:
    """Wait for the dip in every cycle.

    Parameters
    ----------
    count
        Helicopters of each kind at the dip, ``(…, kinds)``.
    cycle_s
        Cycle of each kind with the dip to itself [s], ``(…, kinds)``.
    dip_s
        Time in the dip, part of the cycle [s] (`diproute.sortie.cycle.dip_seconds`), ``(…, kinds)``.
    spacing_s
        From one leaving the dip to the next one entering it [s].

    Returns
    -------
    numpy.ndarray
        Mean wait of each kind [s], ``(…, kinds)``. Kinds of which there are none may have NaN times; a NaN of a
        kind that is there makes all waits NaN.

    Raises
    ------
    RangeError
        A count or a time below nothing, a cycle of no time, or a dip longer than its cycle.
    """
    number, cycle, dip = np.broadcast_arrays(
        np.asarray(count, dtype=np.float64), np.asarray(cycle_s, dtype=np.float64), np.asarray(dip_s, dtype=np.float64)
    )
    if np.any(number < 0) or np.any(cycle <= 0) or np.any(dip < 0) or np.any(dip > cycle) or not spacing_s >= 0:
        raise RangeError(
            "counts, dips and spacing of 0 or more are wanted, and cycles no shorter than their dip; one is not so",
            where="wait",
        )
    there = number > 0
    taken, cycle = np.where(there, dip + spacing_s, 0.0), np.where(there, cycle, 1.0)
    least = _until_not_overbooked(number * taken, cycle)[..., np.newaxis]
    waits = np.broadcast_to(least, cycle.shape)
    mixed = (there.sum(axis=-1) > 1)[..., np.newaxis]
    for _ in range(_ROUNDS if mixed.any() else 0):
        met = taken * (0.5 * taken + waits) / (cycle + waits)  # by somebody who comes at any moment
        others = (number * met).sum(axis=-1, keepdims=True) - met
        waits = np.where(mixed, 0.5 * (waits + np.maximum(others, least)), waits)
    return np.where(there, waits, np.where(np.isnan(least), np.nan, 0.0))


def _until_not_overbooked(taken: F64, cycle: F64) -> F64:
    """Find the least wait, the same for all, at which the dip is not asked for more than all of the time [s]."""
    low, high = np.zeros(taken.shape[:-1]), taken.sum(axis=-1)
    overbooked = (taken / cycle).sum(axis=-1) > 1.0
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        too_short = (taken / (cycle + middle[..., np.newaxis])).sum(axis=-1) > 1.0
        low, high = np.where(too_short, middle, low), np.where(too_short, high, middle)
    return np.where(overbooked, high, np.where(np.isnan((taken / cycle).sum(axis=-1)), np.nan, 0.0))


def assign(
    count: Sequence[int],
    litres: npt.ArrayLike,
    alone_per_hour: npt.ArrayLike,
    cycle_s: npt.ArrayLike,
    dip_s: npt.ArrayLike,
    spacing_s: float,
) -> Assignment:
    """Send the helicopters where together they deliver the most.

    Parameters
    ----------
    count
        Helicopters of each kind, ``(kinds,)``.
    litres
        Water of one load, ``(kinds, sites)`` [L]; NaN: the kind cannot work the site.
    alone_per_hour
        Loads an hour of one helicopter with the dip to itself, ferry and refuelling counted, ``(kinds, sites)``.
    cycle_s, dip_s
        As in `wait`, ``(kinds, sites)``.
    spacing_s
        From one leaving the dip to the next one entering it [s].

    Returns
    -------
    Assignment
        The best of all ways to share the fleet out (a set packing, solved by `scipy.optimize.milp`). A helicopter
        that would add nothing stays out. While a fleet waits, fuel is burnt, so loads fall by ``cycle / (cycle +
        wait)``; that all of them are at work at the same time is assumed, which is on the safe side.

    Raises
    ------
    RangeError
        As `wait`; or a fleet so large that the ways to share it out cannot be listed.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    litres_, alone, cycle, dip = (np.asarray(a, dtype=np.float64) for a in (litres, alone_per_hour, cycle_s, dip_s))
    kinds, sites = litres_.shape
    ways = math.prod(n + 1 for n in count) - 1
    if ways * sites > _MOST_COLUMNS:
        raise RangeError(
            f"{ways} ways to share out {sum(count)} helicopters at each of {sites} sites came; "
            "keep fewer sites or put like helicopters into one kind",
            where="assign",
        )
    crews = np.array(list(product(*(range(n + 1) for n in count)))[1:], dtype=np.float64)  # (crews, kinds)
    waits = wait(crews[:, np.newaxis, :], cycle.T, dip.T, spacing_s)  # (crews, sites, kinds)
    slowed = cycle.T / (cycle.T + waits)
    loads = np.where(crews[:, np.newaxis, :] > 0, crews[:, np.newaxis, :] * alone.T * slowed, 0.0)
    water = np.where(crews[:, np.newaxis, :] > 0, loads * litres_.T, 0.0)  # (crews, sites, kinds)
    value = water.sum(axis=-1)
    crew, site = np.nonzero(np.isfinite(value) & (value > 0))
    sent = Assignment(np.zeros((kinds, sites), dtype=np.int64), *np.zeros((3, kinds, sites)))
    if len(crew) == 0:
        return sent
    columns = np.arange(len(crew))
    used = csr_array(crews[crew].T)  # each kind no more often than there are
    once = csr_array((np.ones(len(crew)), (site, columns)), shape=(sites, len(crew)))  # one crew a site
    answer = milp(
        -value[crew, site],
        integrality=np.ones(len(crew)),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(used, ub=np.array(count, dtype=float)), LinearConstraint(once, ub=1)],
        options={"mip_rel_gap": 0.0},
    )
    if not answer.success:
        raise RangeError(f"the fleet could not be shared out: {answer.message}", where="assign")
    for column in np.flatnonzero(answer.x > 0.5):
        c, s = crew[column], site[column]
        sent.helicopters[:, s] = crews[c].astype(np.int64)
        sent.loads_per_hour[:, s], sent.litres_per_hour[:, s], sent.wait_s[:, s] = loads[c, s], water[c, s], waits[c, s]
    return sent
