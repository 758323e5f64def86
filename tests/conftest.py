import os
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, is_hypothesis_test, settings

sys.path.insert(0, str(Path(__file__).parent))  # for the modules that several tests share, such as demo_flight

SAMPLE = Path(__file__).parent.parent / "sample_geo"

# "fixed" tries the same examples in every run; "many" draws others for every --hypothesis-seed (tests/many_seeds.py)
settings.register_profile("fixed", derandomize=True, database=None, deadline=None, print_blob=True)
settings.register_profile("many", derandomize=False, database=None, deadline=None, print_blob=True)
# "mutants" stops at the first failure: nobody reads what fails (tests/mutants.py)
settings.register_profile("mutants", settings.get_profile("fixed"), phases=[Phase.explicit, Phase.generate])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fixed"))


@pytest.hookimpl(tryfirst=True)  # before pytest chooses by -m
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if is_hypothesis_test(getattr(item, "obj", None)):
            item.add_marker("property")


@pytest.fixture(scope="session")
def sample_folder() -> Path:
    """The invented scenario, to read from; copy it before changing anything."""
    return SAMPLE


@pytest.fixture(scope="session")
def sample_plan(sample_folder: Path) -> Any:
    """The sample's plan, made once for all tests."""
    from diproute import make_plan, read_incident

    return make_plan(read_incident(sample_folder / "incident.toml"))
