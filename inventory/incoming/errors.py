"""What is wrong with a file that somebody brings in.

FileRefused: nothing of the file can be read. Fault: one cell or row, told with all the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


class FileRefused(Exception):
    """The whole file; the message says what was expected and what came."""


class Wrong(ValueError):
    """The value of one cell: "expected X, got Y"."""


class TwoWays(Wrong):
    """A number that can be read two ways: 1.250 is 1250 with thousands, else 1.25."""

    def __init__(self, given: str, end: str) -> None:
        """given: three digits behind its only mark. end: what the person may do about it."""
        mark = "," if "," in given else "."
        self.readings = (Decimal(given.replace(mark, "")), Decimal(given.replace(mark, ".")))
        part = f"{self.readings[1]:f}".rstrip("0").rstrip(".")
        finest = part if len(part.partition(".")[2]) < 3 else f"{part}0"  # which is no thousands
        self.ways = f"{self.readings[0]} or {finest.replace('.', mark)}"
        wanted = "expected a number that can be read one way"
        super().__init__(f"{wanted}, got {given[:40]!r}, which is {self.ways}: {end}")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in one row."""

    row: int  # as the spreadsheet or editor numbers it: 1 = headings
    column: str  # its heading as the file has it, "" for the whole row
    letter: str  # of the column, as a spreadsheet has it
    words: str  # expected X, got Y

    def __str__(self) -> str:
        where = f"row {self.row}"
        if self.column:
            where += f", column {self.letter} ({self.column[:40]})"
        return f"{where}: {self.words}"
