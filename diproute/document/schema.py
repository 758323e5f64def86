"""The JSON Schema of the plan file, made from the models: ``python -m diproute.document.schema`` writes it anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from diproute.document.plan import FORMAT, Plan

PLACE: Final = Path(__file__).with_name("plan.schema.json")


def schema() -> dict[str, Any]:
    """Give the schema (JSON Schema 2020-12). Keys that it does not name are allowed: a later release may add some."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        **{key: value for key, value in Plan.model_json_schema(mode="validation").items() if key != "title"},
    }


def schema_text() -> str:
    """Give the text of ``plan.schema.json``."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    PLACE.write_text(schema_text(), encoding="utf-8", newline="\n")
