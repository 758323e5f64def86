"""The page about sharing names every key of a record, and the standings and limits that there are."""

import re
from pathlib import Path
from typing import get_args

from diproute.document.fields import Part
from diproute.sharing.keys import read_trust
from diproute.sharing.places import ANY_WATER_M, FARTHEST_M, SAME_WATER_M
from diproute.sharing.record import FORMAT, Properties
from diproute.sharing.statement import MOST_SUBJECTS, STANDINGS

PAGE = (Path(__file__).parents[2] / "docs" / "sharing.md").read_text(encoding="utf-8")


def keys_of(part, seen):
    for name, field in part.model_fields.items():
        seen.add(name)
        for inner in parts_in(field.annotation):
            keys_of(inner, seen)
    return seen


def parts_in(kind):
    if isinstance(kind, type) and issubclass(kind, Part):
        return [kind]
    return [found for inner in get_args(kind) for found in parts_in(inner)]


def test_every_key_is_named():
    named = set(re.findall(r"`([a-z_0-9]+)`", PAGE))
    geojson = {"type", "coordinates"}
    assert keys_of(Properties, set()) - named <= geojson
    assert f"`{FORMAT}`" in PAGE


def test_the_standings_are_the_ones_that_there_are():
    table = PAGE.partition("| standing |")[2].partition("\n\n")[0]
    assert re.findall(r"^\| ([a-z ]+) \|", table, re.MULTILINE) == list(STANDINGS)


def test_the_numbers_are_those_of_the_code():
    for number in (
        f"within {FARTHEST_M / 1000:.0f} km",
        f"within {SAME_WATER_M / 1000:.0f} km",
        f"{ANY_WATER_M:.0f} m)",
    ):
        assert number in PAGE.replace("\n", " "), number
    assert f"up to {MOST_SUBJECTS:,} records".replace(",", " ") in PAGE


def test_the_printed_trust_list_is_one(tmp_path):
    (text,) = re.findall(r"^```toml\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    (tmp_path / "trust.toml").write_text(text, encoding="utf-8")
    assert list(read_trust(tmp_path / "trust.toml").agency_of.values()) == ["South District"]
