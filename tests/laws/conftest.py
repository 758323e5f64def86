"""A maker of small plans, and of helicopters and buckets that differ from the demo's in a few keys."""

import tomllib
from collections.abc import Callable, Iterator, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from small_incident import write_incident, write_toml

from diproute.planning.plan import assess
from diproute.planning.prepared import prepare_ground
from diproute.reading.incident import read_incident
from diproute.records import Assessed

MakePlan = Callable[..., Assessed]


@pytest.fixture(scope="session")
def made_plan(tmp_path_factory: pytest.TempPathFactory) -> MakePlan:
    """Plan a small incident; `helicopter` and `bucket` hold the keys that differ from the demo's."""

    def make(
        changes: Mapping[str, Any] | None = None,
        helicopter: Mapping[str, Any] | None = None,
        bucket: Mapping[str, Any] | None = None,
        texts: Mapping[str, str] | None = None,
        **layers: Any,
    ) -> Assessed:
        folder = tmp_path_factory.mktemp("law")
        keys: dict[str, Any] = {"search.keep": 3, **(changes or {})}
        for table, name, other in (("helicopter", "demo-light", helicopter), ("bucket", "demo-760", bucket)):
            if other:
                write_toml(folder / f"{table}.toml", {**demo(table, name), **other})
                keys |= {f"{table}.name": None, f"{table}.file": f"{table}.toml"}
        for name, text in (texts or {}).items():
            (folder / name).write_text(text, encoding="utf-8")
        prepared = prepare_ground(read_incident(write_incident(folder, keys, **layers)))
        return assess(prepared, prepared.incident.weather)

    return make


def demo(table: str, name: str) -> dict[str, Any]:
    """Keys of a built-in helicopter or bucket, flat."""
    path = Path(str(files("diproute.reading") / "fleet_data" / f"{table}s" / f"{name}.toml"))
    return dict(flat(tomllib.loads(path.read_text(encoding="utf-8"))))


def flat(table: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from flat(value, f"{above}{key}.")
        else:
            yield f"{above}{key}", value
