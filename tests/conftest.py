import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # for the modules that several tests share, such as demo_flight

SAMPLE = Path(__file__).parent.parent / "sample_geo"


@pytest.fixture(scope="session")
def sample_folder() -> Path:
    """The invented scenario, to read from; copy it before changing anything."""
    return SAMPLE


@pytest.fixture(scope="session")
def sample_plan(sample_folder: Path) -> Any:
    """The sample's plan, made once for all tests."""
    from diproute import make_plan, read_incident

    return make_plan(read_incident(sample_folder / "incident.toml"))
