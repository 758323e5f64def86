"""The child of the first run compiles what a plan calls, and is started only where it helps."""

import subprocess
import sys

import numpy as np
import pytest
from leg_scene import Scene
from route_scene import make_ground

from diproute.records import Leg
from diproute.routing import first_run
from diproute.routing.refine_kernel import begin, refine, spare_orbits
from diproute.routing.winds_kernel import time_path
from diproute.threads import set_threads

KERNELS = (begin, refine, spare_orbits)


def test_the_leg_over_flat_ground_calls_the_kernels_with_the_types_of_a_plan():
    (leg,) = Scene(make_ground(np.zeros((300, 300)), 10.0)).fly((900.0, 900.0))
    assert isinstance(leg, Leg)
    flown = [set(kernel.signatures) for kernel in KERNELS]
    assert all(flown)
    first_run.fly_once()
    assert [set(kernel.signatures) for kernel in KERNELS] == flown
    assert len(time_path.signatures) == 1


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    calls: list[object] = []

    def popen(command, **_options):
        calls.append(command)
        return real([sys.executable, "-c", ""])

    real = subprocess.Popen
    monkeypatch.setattr(first_run.subprocess, "Popen", popen)
    return calls


def test_a_child_is_started_once_where_something_is_to_be_compiled(
    started: list[object], monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(first_run, "is_kept", lambda _: False)
    set_threads(2)
    try:
        first_run.begin_compiling()
        first_run.begin_compiling()
        assert len(started) == 1
        first_run.await_compiled()
        first_run.await_compiled()
        set_threads(1)
        first_run.begin_compiling()
    finally:
        set_threads(None)
    assert len(started) == 1


def test_no_child_where_everything_is_kept(started: list[object], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(first_run, "is_kept", lambda _: True)
    set_threads(2)
    try:
        first_run.begin_compiling()
    finally:
        set_threads(None)
    assert not started
    first_run.await_compiled()
