"""One small incident with its scene and plan, and a maker of others."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from small_incident import POND, WIRE, again, ring, write_incident

from diproute.planning.plan import plan_prepared
from diproute.planning.prepared import Prepared, prepare_ground
from diproute.reading.incident import read_incident
from diproute.records import Assessed

MakePlan = Callable[..., Assessed]


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lake, ringed pond and wire."""
    return write_incident(tmp_path_factory.mktemp("small"), trees=ring(POND, 40.0), wires=[WIRE])


@pytest.fixture(scope="session")
def small_scene(small: Path) -> Prepared:
    return prepare_ground(read_incident(small))


@pytest.fixture(scope="session")
def small_plan(small_scene: Prepared) -> Assessed:
    return plan_prepared(small_scene, small_scene.incident.weather)


@pytest.fixture(scope="session")
def scene_of(small: Path) -> Callable[..., Prepared]:
    """The small incident with other keys, over the same layers."""
    count = iter(range(1000))
    same = {"layers.obstacles": ["wires.geojson"]}

    def make(changes: dict[str, Any]) -> Prepared:
        return prepare_ground(read_incident(again(small, f"other{next(count)}.toml", changes, **same)))

    return make


@pytest.fixture(scope="session")
def plan_of(scene_of: Callable[..., Prepared]) -> MakePlan:
    """The plan of the small incident with other keys, over the same layers."""

    def make(changes: dict[str, Any]) -> Assessed:
        scene = scene_of(changes)
        return plan_prepared(scene, scene.incident.weather)

    return make


@pytest.fixture(scope="session")
def made_plan(tmp_path_factory: pytest.TempPathFactory) -> MakePlan:
    """The plan of another small incident, with layers of its own."""

    def make(changes: dict[str, Any] | None = None, **layers: Any) -> Assessed:
        scene = prepare_ground(read_incident(write_incident(tmp_path_factory.mktemp("other"), changes, **layers)))
        return plan_prepared(scene, scene.incident.weather)

    return make
