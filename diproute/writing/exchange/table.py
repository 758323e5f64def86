"""CSV of the sites (RFC 4180, UTF-8 with its mark so that spreadsheets take it for what it is)."""

from __future__ import annotations

import csv
import io
from typing import Any, Final

from diproute.document.frames import to_geodataframe
from diproute.document.plan import Plan
from diproute.writing.exchange.about import about
from diproute.writing.exchange.rows import rows

_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def table(plan: Plan) -> bytes:
    """Give the sites as a table, a row a site; a cell is empty where the plan does not know.

    A text that a spreadsheet would take for a formula has an apostrophe before it.
    """
    frame = to_geodataframe(plan, "sites")
    always = {"position_datum": "WGS 84", "about": about(plan)}
    out = io.StringIO()
    writer = csv.DictWriter(out, [*(name for name in frame.columns if name != "geometry"), *always])
    writer.writeheader()
    for row in rows(frame):
        writer.writerow({name: _cell(value) for name, value in row.items()} | always)
    return out.getvalue().encode("utf-8-sig")


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return str(value).lower()
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
