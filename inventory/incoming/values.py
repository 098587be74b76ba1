"""What one cell says: texts, numbers, days. Each raises Wrong with what was expected and got."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.incoming.columns import plain
from inventory.incoming.errors import TwoWays, Wrong
from inventory.incoming.tables import Cell

MARKS = {"comma": ",", "point": "."}
NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,' \u00a0\u202f][0-9]+)*")
THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:([.,' \u00a0\u202f])[0-9]{3})(?:\1[0-9]{3})*")
MONTH_FIRST = re.compile(r"[0-9]{1,2}/[0-9]{1,2}/[0-9]{2,4}")
GERMAN = re.compile(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})")


def shown(cell: Cell) -> str:
    """Return a cell as an error names it."""
    return "nothing" if cell in (None, "") else repr(str(cell)[:40])


def text(cell: Cell, most: int, *, needed: bool = False) -> str:
    """Return a text; a whole number is one too (an item code 1001)."""
    if cell in (None, ""):
        if needed:
            raise Wrong("expected a text, got nothing")
        return ""
    if isinstance(cell, bool | float | dt.date):
        raise Wrong(f"expected a text, got {shown(cell)}: format the column as text")
    found = " ".join(str(cell).split())
    if len(found) > most:
        raise Wrong(f"expected at most {most} characters, got {len(found)}")
    return found


def as_printed(cell: Cell, what: str) -> str:
    """Return a serial or batch. A number is refused: what a spreadsheet cut off cannot be seen."""
    if isinstance(cell, bool | int | float | dt.date):
        kind = "a date" if isinstance(cell, dt.date) else "a number"
        raise Wrong(
            f"expected the {what} as text, got {kind} {shown(cell)}: zeros in front or last digits"
            " may be lost; format the column as text and enter it again"
        )
    return str(cell or "")


@dataclass(slots=True)
class Numbers:
    """Numbers of one file: one decimal mark for all of it, chosen or shown by the file itself."""

    decimal: str = ""  # comma, point, or "" where nobody chose
    seen: str = ""  # the decimal mark that the file showed first

    def read(self, cell: Cell) -> Decimal:
        """Return a number; "1.250" is refused where nobody chose the decimal mark."""
        if isinstance(cell, bool | dt.date) or cell in (None, ""):
            raise Wrong(f"expected a number, got {shown(cell)}")
        if isinstance(cell, int | float):
            return Decimal(repr(cell))
        given = str(cell).strip()
        if NUMBER.fullmatch(given) is None:
            raise Wrong(f"expected a number, got {shown(cell)}")
        mark = MARKS.get(self.decimal) or self._shown_mark(given)
        for group in {".", ",", "'", " ", "\u00a0", "\u202f"} - {mark}:
            if group in given:
                whole = given.lstrip("+-").partition(mark)[0] if mark else given.lstrip("+-")
                if THOUSANDS.fullmatch(whole) is None or group in given.partition(mark or "\0")[2]:
                    raise Wrong(f"expected thousands in groups of three, got {shown(cell)}")
                given = given.replace(group, "")
        if mark and given.count(mark) > 1:
            raise Wrong(f"expected one decimal {mark!r}, got {shown(cell)}")
        return Decimal(given.replace(mark, ".") if mark else given)

    def _shown_mark(self, given: str) -> str:
        """The decimal mark of a number as it stands, "" where it has none. Raises Wrong."""
        marks = [char for char in given if char in ".,"]
        if not marks:
            return ""
        single = len(marks) == 1
        if single and re.fullmatch(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}", given):
            raise TwoWays(given, "choose decimal comma or decimal point")
        mark = marks[-1] if single or len(set(marks)) > 1 else ""
        if mark and self.seen and mark != self.seen:
            raise Wrong(f"expected a decimal {self.seen!r} as before, got {given[:40]!r}")
        self.seen = mark or self.seen
        return mark

    def whole(self, cell: Cell, low: int, high: int, *, times: int = 1) -> int:
        """Return a whole number of base units; times: base units in one of what the cell counts."""
        found = self.read(cell) * times
        if found != found.to_integral_value() or not low <= found <= high:
            unit = "a whole number" if times == 1 else "a number"
            least, most = Decimal(low) / times, Decimal(high) / times
            raise Wrong(f"expected {unit} from {least:f} to {most:f}, got {shown(cell)}")
        return int(found)


def day(cell: Cell) -> dt.date | None:
    """Return a day as 2026-11-25 or 25.11.2026; None for nothing."""
    if cell in (None, ""):
        return None
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    given = str(cell).strip()
    found = GERMAN.fullmatch(given)
    try:
        if found:
            return dt.date(int(found[3]), int(found[2]), int(found[1]))
        return dt.date.fromisoformat(given)
    except ValueError:
        wanted = "a day as 2026-11-25 or 25.11.2026"
        raise Wrong(f"expected {wanted}, got {shown(cell)}") from None


def choice(cell: Cell, words: Mapping[str, str], *, first: str = "") -> str:
    """Return what a word stands for. words: any word, in plain form -> what it stands for."""
    if cell in (None, "") and first:
        return first
    found = words.get(plain(cell))
    if found is None:
        wanted = ", ".join(dict.fromkeys(words))
        raise Wrong(f"expected one of {wanted}, got {shown(cell)}")
    return found
