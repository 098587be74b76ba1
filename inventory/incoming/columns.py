"""Columns by their headings, in any order and under any of their names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.incoming.errors import Fault
from inventory.incoming.tables import Cell, Row, Table, letter


@dataclass(frozen=True, slots=True)
class Column:
    """One column that a kind of file may have."""

    name: str  # how we call it: lower case, words between blanks
    about: str  # what is in it, for the documents and the page
    also: tuple[str, ...] = ()  # other headings for it
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Cells:
    """One row by the names of its columns; what a file does not have is None."""

    number: int
    values: dict[str, Cell]
    places: dict[str, int]  # name -> column, 0 = A
    headings: tuple[Cell, ...]

    def __getitem__(self, name: str) -> Cell:
        return self.values.get(name)

    def fault(self, name: str, words: str) -> Fault:
        """Say what is wrong in a column, or in the row where the file has no such column."""
        place = self.places.get(name)
        if place is None:
            return Fault(self.number, "", "", f"{name}: {words}" if name else words)
        return Fault(self.number, str(self.headings[place]), letter(place), words)


def plain(heading: object) -> str:
    """Return a heading in the form in which headings are compared.

    >>> plain("Serial-No. "), plain("Größe")
    ('serial no', 'grosse')
    """
    text = unicodedata.normalize("NFKD", str(heading or "").casefold())
    return " ".join(re.findall(r"[a-z0-9]+", text.encode("ascii", "ignore").decode()))


def names_of(columns: Sequence[Column]) -> dict[str, str]:
    """Return plain heading -> our name."""
    return {plain(word): one.name for one in columns for word in (one.name, *one.also)}


def heads(table: Table, columns: Sequence[Column]) -> tuple[dict[str, int], list[Fault]]:
    """Return name -> place, and what is wrong with the headings."""
    known, found, faults = names_of(columns), dict[str, int](), list[Fault]()
    number = table.headings.number
    for place, cell in enumerate(table.headings.cells):
        if cell in (None, ""):
            if any(len(r.cells) > place and r.cells[place] not in (None, "") for r in table.rows):
                words = "expected a heading above what stands there, got none"
                faults.append(Fault(number, letter(place), letter(place), words))
            continue
        name = known.get(plain(cell))
        if name is None:
            wanted = ", ".join(one.name for one in columns)
            words = f"expected one of {wanted}, got {str(cell)[:40]!r}"
            faults.append(Fault(number, str(cell), letter(place), words))
        elif name in found:
            words = f"expected {name} once, got it in column {letter(found[name])} too"
            faults.append(Fault(number, str(cell), letter(place), words))
        else:
            found[name] = place
    for one in columns:
        if one.needed and one.name not in found:
            faults.append(Fault(number, "", "", f"expected a column {one.name}, got none"))
    return found, faults


def rows_of(table: Table, places: dict[str, int]) -> Iterator[Cells]:
    """Yield each row by the names of its columns."""
    for row in table.rows:
        values = {name: _at(row, place) for name, place in places.items()}
        yield Cells(row.number, values, places, table.headings.cells)


def _at(row: Row, place: int) -> Cell:
    cell = row.cells[place] if place < len(row.cells) else None
    return None if cell == "" else cell
