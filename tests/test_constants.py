"""No number without a source."""

import ast
from pathlib import Path

import pytest

from diproute import constants

TABLE = {name: value for name, value in vars(constants).items() if isinstance(value, constants.Constant)}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_every_constant_has_a_source(name: str):
    entry = TABLE[name]
    assert entry.unit
    assert entry.source.title
    assert entry.source.locator
    assert entry.source.trust in {"print", "restated", "memory", "computed", "practice", "assumption"}
    if entry.source.trust in {"print", "restated"}:
        assert entry.source.year is not None or "NWCG" in entry.source.title or "USMC" in entry.source.title


def test_the_module_holds_no_bare_number():
    tree = ast.parse(Path(constants.__file__).read_text())
    for node in tree.body:
        value = getattr(node, "value", None)
        if isinstance(node, ast.Assign | ast.AnnAssign) and isinstance(value, ast.Constant):
            assert not isinstance(value.value, int | float), ast.unparse(node)


def test_the_table_is_not_empty():
    assert len(TABLE) > 30
