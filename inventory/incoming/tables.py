"""A file as rows of cells, whatever it was: CSV text or a spreadsheet."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from inventory.incoming.errors import FileRefused
from inventory.incoming.formulas import lead

Cell = str | int | float | bool | dt.date | dt.datetime | None
"""A text, a number that the spreadsheet keeps as one, a date; None: nothing. CSV has texts only."""

MOST_BYTES = 20_000_000  # of a file as it comes
MOST_ROWS = 60_000  # below the headings
WIDEST = 60  # columns
LONGEST = 2_000  # characters of a cell


@dataclass(frozen=True, slots=True)
class Row:
    """One row that holds something."""

    number: int  # as the spreadsheet or editor numbers it
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A file that could be read."""

    headings: Row
    rows: tuple[Row, ...]
    told: str  # how it was read: encoding and mark between columns, or which sheet


def letter(place: int) -> str:
    """Return a column's letters as a spreadsheet has them.

    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def tabled(rows: list[Row], told: str) -> Table:
    """Return rows as a table: the first that holds something has the headings.

    Raises FileRefused for none, for too many, for too wide or too long.
    """
    held = [row for row in rows if any(cell not in (None, "") for cell in row.cells)]
    if not held:
        raise FileRefused("expected a row of headings and rows below it, got an empty file")
    if len(held) > MOST_ROWS + 1:
        raise FileRefused(f"expected at most {MOST_ROWS} rows, got {len(held) - 1}: split the file")
    for row in held:
        if len(row.cells) > WIDEST:
            wide = len(row.cells)
            raise FileRefused(f"row {row.number}: expected at most {WIDEST} columns, got {wide}")
        for place, cell in enumerate(row.cells):
            if isinstance(cell, str):
                _plain(cell, row.number, place)
    return Table(held[0], tuple(held[1:]), told)


def _plain(text: str, number: int, place: int) -> None:
    where = f"row {number}, column {letter(place)}"
    if len(text) > LONGEST:
        message = f"expected at most {LONGEST} characters, got {len(text)}"
        raise FileRefused(f"{where}: {message}")
    # A stray quotation mark swallows lines: that is told, not taken for a value.
    seen = text[lead(text) :]
    found = next((char for char in seen if char < " " or "\x7f" <= char < "\xa0"), None)
    if found is not None and found != "\t":
        raise FileRefused(f"{where}: expected one line of plain text, got {found!r} in it")
