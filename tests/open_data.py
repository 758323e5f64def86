"""Files of real open data that ordinary packages ship, found without importing the packages.

The packages are listed in ``tests/data-packages.txt``; the test command installs them with ``--no-deps``.
"""

import importlib.util
from pathlib import Path


def package_file(package: str, path: str) -> Path:
    """Path of a file that an installed package ships; a missing one fails the test, it never skips it."""
    spec = importlib.util.find_spec(package)
    assert spec is not None, f"{package} is not installed: pip install --no-deps -r tests/data-packages.txt"
    assert spec.submodule_search_locations, f"{package} has no folder"
    found = Path(spec.submodule_search_locations[0]) / path
    assert found.is_file(), f"{package} ships no {path}"
    return found
