"""The JSON Schema of a shared record, made from its models: ``python -m diproute.sharing.schema`` writes it anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from diproute.sharing.record import FORMAT, SiteRecord

PLACE: Final = Path(__file__).with_name("record.schema.json")


def schema() -> dict[str, Any]:
    """Give the schema (JSON Schema 2020-12). Keys that it does not name are allowed below ``properties``."""
    made = SiteRecord.model_json_schema(mode="validation")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made, "title": FORMAT}


def schema_text() -> str:
    """Give the text of ``record.schema.json``."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    PLACE.write_text(schema_text(), encoding="utf-8", newline="\n")
