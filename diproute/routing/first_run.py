"""The first run: the largest kernels are compiled in a process of their own while the layers are read.

What numba has compiled is kept, so this happens once on a machine. The child flies one leg over flat ground with the
same types that a plan has; the plan waits for it before its own first leg and then finds everything compiled. Where
the child cannot be started, or fails, the plan compiles as it goes: slower, and with the same answer.
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from diproute import progress
from diproute.kernels import is_kept
from diproute.records import F64, Corridors, Wind
from diproute.routing.corners_kernel import Land
from diproute.routing.flight import Anew, Flight, finish
from diproute.routing.gates import GateEnds, Gates, make_gates
from diproute.routing.in_winds import EndInWinds, InWinds, fly_in_winds
from diproute.routing.refine_kernel import Scene, begin, refine, spare_orbits
from diproute.routing.scene import air_of, craft_of, end_of
from diproute.routing.speed_model import Flying
from diproute.routing.starts import FIRST_M, settled, starts
from diproute.routing.winds_kernel import time_path
from diproute.threads import threads

LONGEST_S: Final = 300.0  # that a plan waits
_CODE: Final = "from diproute.routing.first_run import fly_once; fly_once()"
_child: subprocess.Popen[bytes] | None = None


def begin_compiling() -> None:
    """Start the child where something is to be compiled, there is a second core, and what it makes can be kept."""
    global _child  # one process compiles once
    if (
        _child is not None
        or threads() < 2
        or all(is_kept(kernel) for kernel in (begin, refine, spare_orbits, time_path))
    ):
        return
    where = os.pathsep.join([str(Path(__file__).parents[2]), *filter(None, [os.environ.get("PYTHONPATH")])])
    nowhere = subprocess.DEVNULL
    try:
        _child = subprocess.Popen(
            [sys.executable, "-c", _CODE], env={**os.environ, "PYTHONPATH": where}, stdin=nowhere, stdout=nowhere,
            stderr=nowhere,
        )  # fmt: skip
    except OSError:
        return


def await_compiled() -> None:
    """Wait for the child; one that takes too long is ended."""
    global _child
    if _child is None:
        return
    progress.at("compiling: on the first run only")
    try:
        _child.wait(LONGEST_S)
    except subprocess.TimeoutExpired:
        _child.kill()
        _child.wait()
    finally:
        _child = None


def fly_once() -> None:
    """Search and fly one leg of three kilometres over flat ground, which compiles the whole search.

    Raises
    ------
    RuntimeError
        It could not be flown.
    """
    flying, wind = Flying(40.0, 3.0, 3.0), Wind((0.0,), (0.0,), (0.0,))
    air = air_of(wind)
    flat, none = np.zeros((400, 400), np.float32), np.zeros((1, 1), np.float32)
    land = Land(flat, flat, 0.0, none, none, -2000.0, 2000.0, 10.0, np.zeros((1, 1), np.uint8), np.ones(1), 4)
    anew = Anew(flying, wind, craft_of(flying, air, 30.0), air, land)
    gates = _gates(-1500.0, flying, wind, departure=True), _gates(1500.0, flying, wind, departure=False)
    scene = Scene(end_of(gates[0], 0), end_of(gates[1], 0), anew.craft, anew.air, anew.land)
    found = starts(np.zeros((1, 2)), [(18, 0, 54, 0)], scene, (0, 0))
    better = [settled(one, np.array([80.0]), (FIRST_M, 0, 1)) for one in found]
    flight = finish(better[0], gates, anew, towards=True) if better else None
    if not isinstance(flight, Flight):
        raise RuntimeError("the leg over flat ground could not be flown")
    breeze = replace(anew, wind=Wind((0.0,), (90.0,), (3.0,)))
    ends = tuple(EndInWinds([one], 0) for one in gates)
    fly_in_winds(flight, InWinds.of([breeze]), (ends[0], ends[1]), np.ones(1, np.bool_))


def _gates(x_m: float, flying: Flying, wind: Wind, *, departure: bool) -> Gates:
    bearing_deg: F64 = np.linspace(0.0, 360.0, 72, endpoint=False)
    corridors = Corridors(
        np.array([x_m]), np.zeros(1), np.zeros(1), bearing_deg, bearing_deg[None] * (np.pi / 180.0),
        np.array([0.07, 0.1]), np.array([1000.0, 1000.0]), np.full((1, 72, 2), 5.0),
    )  # fmt: skip
    ends = GateEnds("dip", departure, 2.5, 60.0, 30.0)
    return make_gates(corridors, np.ones((1, 72), bool), flying, wind, ends)
