"""The terminal: text as it is, never read as markup; tables that keep what matters when the terminal is narrow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

NAME_LEAST = 16  # columns that a name has before it goes on below itself
UNLIMITED = 100_000  # columns where nobody looks at a terminal: nothing is wrapped


def terminal() -> Console:
    """Give the console that prints to stdout."""
    console = Console(highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        console.width = UNLIMITED
    return console


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its heading, its side, and how soon it goes when the terminal is too narrow."""

    heading: str
    side: str = "right"
    goes: int = 0  # 0: it stays; of the others the highest goes first


def print_table(console: Console, columns: Sequence[Column], rows: Iterable[Sequence[str]]) -> None:
    """Print a table; columns that do not fit are left out by their order, and that is said.

    Parameters
    ----------
    console
        Where to.
    columns
        Headings, sides and order of going.
    rows
        A word for each column.
    """
    kept = list(columns)
    filled = [dict(zip((column.heading for column in columns), row, strict=True)) for row in rows]
    widest = max(NAME_LEAST, console.width // 3) if any(column.goes for column in columns) else None
    free = console.options.update(max_width=UNLIMITED)
    while True:
        table = _table(kept, filled, widest)
        last = max(kept, key=lambda column: column.goes)
        if last.goes == 0 or Measurement.get(console, free, table).maximum <= console.width:
            break
        kept.remove(last)
    console.print(table)
    gone = [column.heading for column in columns if column not in kept]
    if gone:
        console.print(Text(f"left out for want of room: {', '.join(gone)}", style="dim"))


def _table(columns: Sequence[Column], rows: Sequence[dict[str, str]], widest: int | None) -> Table:
    """Make the table; a long name goes on below itself."""
    table = Table(box=None, pad_edge=False, header_style="bold", show_edge=False)
    for column in columns:
        if column.side == "right":
            table.add_column(Text(column.heading), justify="right", no_wrap=True)
        else:
            table.add_column(Text(column.heading), max_width=widest, overflow="fold")
    for row in rows:
        table.add_row(*(Text(row[column.heading]) for column in columns))
    return table
