"""What labels are printed on, read from layouts.csv: one row a layout."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from inventory.labels.errors import LabelRefused

FILE: Final = Path(__file__).with_name("layouts.csv")
FIRST: Final = "a4-3x8"
"""The layout where nobody chose one."""
TEXTS: Final = ("name", "words", "paper")
WHOLE: Final = ("columns", "rows")


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet with its labels, or a roll with one. All lengths in mm."""

    name: str
    words: str  # as people choose it
    paper: str  # PWG 5101.1, e.g. iso_a4_210x297mm; "" where the printer knows its roll
    page_width: float
    page_height: float
    columns: int
    rows: int
    left: float  # of the first label, from the page's left edge
    top: float  # of the first label, from the page's upper edge
    across: float  # from the left edge of a label to that of the next
    down: float
    width: float  # of one label
    height: float
    margin: float  # without ink on each edge of a label
    title: float  # body height of the letters
    print: float

    @property
    def per_page(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Left and upper edge of a label on its page, mm; places run from 0, row by row."""
        row, column = divmod(place, self.columns)
        return self.left + column * self.across, self.top + row * self.down


@cache
def layouts() -> dict[str, Layout]:
    """Every layout by its name, in the order of the file."""
    lines = FILE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader((line for line in lines if not line.startswith("#")), delimiter=";")
    return {row["name"]: _layout(row) for row in rows}


def usual(size: str) -> str:
    """The name of the first sheet of a size of office paper: A4 or Letter."""
    return next(name for name, one in layouts().items() if one.words.startswith(f"{size} "))


def named(name: str) -> Layout:
    """The layout of this name. Raises LabelRefused."""
    found = layouts().get(name)
    if found is None:
        raise LabelRefused(f"layout: expected one of {', '.join(layouts())}, got {name!r}")
    return found


def _layout(row: dict[str, str]) -> Layout:
    values: dict[str, Any] = {**row}
    values |= {key: int(row[key]) for key in WHOLE}
    values |= {key: float(text) for key, text in row.items() if key not in TEXTS + WHOLE}
    return Layout(**values)
