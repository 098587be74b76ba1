"""What is wrong with a file that somebody brings in.

FileRefused: nothing of the file can be read. Fault: one cell or row, told with all the others.
"""

from __future__ import annotations

from dataclasses import dataclass


class FileRefused(Exception):
    """The whole file; the message says what was expected and what came."""


class Wrong(ValueError):
    """The value of one cell: "expected X, got Y"."""


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
