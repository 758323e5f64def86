"""Rows of the plan's tables as plain values, for formats made of text."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import geopandas as gpd


def rows(frame: gpd.GeoDataFrame) -> Iterator[dict[str, Any]]:
    """Give a table's rows without their geometry: numbers, texts, truths; unknown is None, times ISO 8601 in UTC."""
    columns = [(name, frame[name].astype(object)) for name in frame.columns if name != "geometry"]
    missing = {name: column.isna().to_numpy() for name, column in columns}
    values = {name: column.to_numpy() for name, column in columns}
    for i in range(len(frame)):
        yield {name: None if missing[name][i] else _plain(values[name][i]) for name in values}


def _plain(value: Any) -> Any:
    return f"{value:%Y-%m-%dT%H:%M:%SZ}" if isinstance(value, datetime) else value
