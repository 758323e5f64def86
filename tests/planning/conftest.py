"""One small incident with its ground and plan, a maker of others, and the sample's."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from small_incident import POND, WIRE, again, ring, write_incident

from diproute.planning.assessment import Flown, fly_kept, judge
from diproute.planning.plan import assess
from diproute.planning.prepared import Prepared, prepare_ground
from diproute.planning.ranking import ordered
from diproute.planning.sensitivity import work_cases
from diproute.planning.shortlist import shortlist
from diproute.planning.travel_fields import TravelFields, solve_fields
from diproute.reading.incident import read_incident
from diproute.records import Assessed

MakePlan = Callable[..., Assessed]


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lake, ringed pond and wire."""
    return write_incident(tmp_path_factory.mktemp("small"), trees=ring(POND, 40.0), wires=[WIRE])


@pytest.fixture(scope="session")
def small_prepared(small: Path) -> Prepared:
    return prepare_ground(read_incident(small))


@pytest.fixture(scope="session")
def small_plan(small_prepared: Prepared) -> Assessed:
    return assess(small_prepared, small_prepared.incident.weather)


@pytest.fixture(scope="session")
def prepared_of(small: Path) -> Callable[..., Prepared]:
    """The small incident with other keys, over the same layers."""
    count = iter(range(1000))
    same = {"layers.obstacles": ["wires.geojson"]}

    def make(changes: dict[str, Any]) -> Prepared:
        return prepare_ground(read_incident(again(small, f"other{next(count)}.toml", changes, **same)))

    return make


@pytest.fixture(scope="session")
def plan_of(prepared_of: Callable[..., Prepared]) -> MakePlan:
    """The plan of the small incident with other keys, over the same layers."""

    def make(changes: dict[str, Any]) -> Assessed:
        prepared = prepared_of(changes)
        return assess(prepared, prepared.incident.weather)

    return make


@pytest.fixture(scope="session")
def made_plan(tmp_path_factory: pytest.TempPathFactory) -> MakePlan:
    """The plan of another small incident, with layers of its own."""

    def make(changes: dict[str, Any] | None = None, **layers: Any) -> Assessed:
        prepared = prepare_ground(read_incident(write_incident(tmp_path_factory.mktemp("other"), changes, **layers)))
        return assess(prepared, prepared.incident.weather)

    return make


@pytest.fixture(scope="session")
def sample_prepared(sample_folder: Path) -> Prepared:
    return prepare_ground(read_incident(sample_folder / "incident.toml"))


@pytest.fixture(scope="session")
def sample_assessed(sample_prepared: Prepared) -> Assessed:
    """The records of the sample's plan."""
    return assess(sample_prepared, sample_prepared.incident.weather)


@pytest.fixture(scope="session")
def sample_fields(sample_prepared: Prepared) -> TravelFields:
    """The travel-time fields of the sample in the weather of its plan."""
    return solve_fields(sample_prepared, sample_prepared.incident.weather)


@pytest.fixture(scope="session")
def sample_flown(sample_fields: TravelFields) -> list[Flown]:
    """The sample's sites as flown, in the order of its plan."""
    flown = fly_kept(sample_fields, shortlist(sample_fields).kept)
    judged = [judge(sample_fields, one) for one in flown]
    _, order = ordered(judged, work_cases(sample_fields, judged, flown))
    return [flown[i] for i in order]
