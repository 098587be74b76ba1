"""Tables handed out: the kinds of file that can be brought in, with the same columns.

Whoever knows rows of a kind registers them. A table that was handed out and is brought in again
changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from inventory.bringing.kinds import KINDS
from inventory.incoming.texts import MARKS
from inventory.incoming.texts import NAMED as MARK_OF
from inventory.incoming.values import MARKS as DECIMALS
from inventory.one_moment import one_moment
from inventory.whole_file import whole_file
from inventory.workbooks import BOM, Cell, Sheet, text_lines, workbook

Row = Mapping[str, Cell]
"""Name of a column -> its cell; what is not named stays empty."""
ENDINGS = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
AT_ONCE = 2000  # rows fetched at a time
WIDTH = 18  # of a column, in characters


class NoTable(ValueError):
    """A table cannot be handed out so; the sentence says what was expected."""


@dataclass(slots=True)
class LeftOut:
    """What no column can say: counted while rows are made, told when all are."""

    counts: dict[str, int]

    def add(self, words: str, number: int = 1) -> None:
        """Count one more of what `words` names."""
        if number:
            self.counts[words] = self.counts.get(words, 0) + number

    def __str__(self) -> str:
        return "; ".join(f"{number} {words}" for words, number in self.counts.items())


Rows = Callable[[LeftOut], Iterator[Row]]
_ROWS: dict[str, Rows] = {}


def register(kind: str, rows: Rows) -> None:
    """Let the rows of a kind be handed out."""
    _ROWS[kind] = rows


def kinds() -> list[str]:
    """Return the kinds that can be handed out, in the order of those that can be brought in."""
    return [name for name in KINDS if name in _ROWS]


@dataclass(frozen=True, slots=True)
class HandedOut:
    """What was written."""

    rows: int
    left_out: str  # in words; "": nothing


def hand_out(kind: str, path: Path, mark: str = "", decimal: str = "") -> HandedOut:
    """Write a table to a file by its ending, as everything is at one moment; scans go on meanwhile.

    mark: semicolon, comma, tab or bar; decimal: comma or point; both of a CSV only.
    Raises NoTable, OSError; then there is no file, or the one of before.
    """
    ending = path.suffix.lower().lstrip(".")
    if ending not in ENDINGS:
        raise NoTable(f"expected a name that ends in .csv or .xlsx, got {path.name!r}")
    if ending == "xlsx" and (mark or decimal):
        raise NoTable("expected a mark between columns or a decimal mark for .csv only, got .xlsx")
    between, point = MARK_OF[mark or "comma"], DECIMALS[decimal or "point"]
    if between == point:
        raise NoTable(f"expected a mark between columns that no number has, got {MARKS[between]}")
    with whole_file(path) as part:
        return _written(kind, part, ending, between, point)


def _written(kind: str, part: Path, ending: str, mark: str, point: str) -> HandedOut:
    left, count = LeftOut({}), -1

    def counted(rows: Iterable[list[Cell]]) -> Iterator[list[Cell]]:
        nonlocal count
        for row in rows:
            count += 1
            yield row

    with one_moment(), part.open("wb") as file:
        rows = counted(lines(kind, left))
        if ending == "xlsx":
            widths = [WIDTH] * len(KINDS[kind].headings())
            file.write(workbook([Sheet(KINDS[kind].title, rows, widths)]))
        else:
            file.write(BOM)
            file.writelines(line.encode() for line in text_lines(rows, mark, point))
    return HandedOut(count, str(left))


def lines(kind: str, left: LeftOut) -> Iterator[list[Cell]]:
    """Yield the headings, then each row in their order."""
    names = [column.name for column in KINDS[kind].headings()]
    yield [*names]
    for row in _ROWS[kind](left):
        if odd := row.keys() - set(names):
            raise ValueError(f"{kind}: expected columns of the kind, got {sorted(odd)}")
        yield [row.get(name) for name in names]
