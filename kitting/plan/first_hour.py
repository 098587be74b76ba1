"""A family's first list from one sheet that a warehouse lead fills from old job lists.

A page of the sheet is a table with one row of headings; a row below is one item for one purpose.
Every page has the same columns, so that answers are rows like any other. A cell that cannot be
read is a fault with its sheet, row and column; all are told at once.

Source: common practice, no published source; the layout is our own.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.plan.asking import NOT_WANTED
from kitting.plan.errors import Fault, PlanError
from kitting.plan.needs import NEEDS
from kitting.plan.reading import near, near_words, plain, shown
from kitting.plan.sheet_cells import (
    BOX,
    CODE,
    FOLLOWED,
    FOLLOWING,
    FOR,
    LONGEST_SHEET,
    MODULES,
    MOST,
    MUST,
    NAME,
    PER_JOB,
    PERS,
    QUESTION,
    SIZES,
    STEP,
    STEPS,
    WORDS,
    Cell,
    as_typed,
    cell_at,
    decimal,
    letters,
    norm,
    purposes,
    words_of,
)
from kitting.plan.steps import ORDER


@dataclass(frozen=True, slots=True)
class Page:
    """One page of a sheet as it came."""

    name: str
    rows: tuple[tuple[Cell, ...], ...]
    """The first that is not empty holds the headings."""


@dataclass(frozen=True, slots=True)
class Row:
    """One item for one purpose, or one purpose that wants nothing."""

    where: str
    """File, page and row, as "lists.xlsx: Items row 7"."""
    code: str
    """Empty where nothing is wanted."""
    name: str
    """Of the item; where nothing is wanted, why."""
    tracking: str
    need: str
    step: str
    """Key; empty: the need's usual step."""
    box: tuple[str, int] | None
    """Code of the item in whose box it comes, and pieces in one such box."""
    sizes: Mapping[str, int]
    """Column of SIZES -> grams or mm, where given."""
    per: str
    """One of PERS or PER_JOB; empty where counted by modules."""
    number: int
    """Pieces (for what is cut from a reel: mm) for each of `per`."""
    by_modules: Mapping[int, int]
    """Modules of a stack -> pieces (mm), where counted so."""


class SheetError(PlanError):
    """A sheet that cannot be read; `faults` holds every cell."""


def read(pages: Sequence[Page], file: str) -> list[Row]:
    """The rows of every page. Raises SheetError with every fault."""
    faults: list[Fault] = []
    rows: list[Row] = []
    for page in pages:
        rows += _Reading(page, file, faults).rows()
    if not rows and not faults:
        faults.append(Fault(file, "", "expected at least one item, got an empty sheet"))
    _check(rows, faults)
    if faults:
        raise SheetError(faults)
    return rows


class _Reading:
    """Reads one page cell by cell and keeps every fault."""

    def __init__(self, page: Page, file: str, faults: list[Fault]) -> None:
        self.page, self.faults = page, faults
        self.where = f"{file}: {page.name}"
        self.columns: dict[str, int] = {}
        self.modules: dict[int, int] = {}
        """Modules of a stack -> column."""

    def fault(self, key: str, message: str) -> None:
        self.faults.append(Fault(self.where, key, message))

    def rows(self) -> Iterator[Row]:
        """Each row that says something."""
        numbered = [
            (n, cells) for n, cells in enumerate(self.page.rows, 1) if any(map(words_of, cells))
        ]
        if not numbered:
            return
        if len(numbered) > LONGEST_SHEET:
            self.fault("", f"expected at most {LONGEST_SHEET} rows, got {len(numbered)}")
            return
        file = self.where
        number, headings = numbered[0]
        self.where = f"{file} row {number}"
        if not self._headings(headings):
            return
        # A column that nobody filled in says nothing: old jobs of that height may not exist.
        self.modules = {
            n: place
            for n, place in self.modules.items()
            if any(words_of(cell_at(cells, place)) for _, cells in numbered[1:])
        }
        for number, cells in numbered[1:]:
            self.where = f"{file} row {number}"
            row = self._row(cells)
            if row is not None:
                yield row

    def _headings(self, cells: Sequence[Cell]) -> bool:
        known = {norm(word): word for word in WORDS}
        before = len(self.faults)
        for place, cell in enumerate(cells):
            heading = norm(words_of(cell))
            modules = MODULES.fullmatch(heading)
            if not heading:
                continue
            if modules and int(modules[1]) > 0 and int(modules[1]) not in self.modules:
                self.modules[int(modules[1])] = place
            elif heading in known and known[heading] not in self.columns:
                self.columns[known[heading]] = place
            else:
                wanted = "a heading of the template, once"
                self.fault(
                    letters(place),
                    f"expected {wanted}, got {shown(words_of(cell))}{near(heading, known)}",
                )
        for word in MUST:
            if word not in self.columns:
                self.fault(word, "expected this heading, got a page without it")
        return len(self.faults) == before

    def _cell(self, cells: Sequence[Cell], word: str) -> Cell:
        place = self.columns.get(word, -1)
        return cells[place] if 0 <= place < len(cells) else None

    def _row(self, cells: Sequence[Cell]) -> Row | None:
        code, name = self._said(cells, CODE), self._said(cells, NAME)
        asked = words_of(self._cell(cells, QUESTION))
        if asked and not code and not name:
            return None  # a question that nobody has answered yet
        nothing = norm(code) == NOT_WANTED
        before = len(self.faults)
        if not code:
            self.fault(CODE, f"expected a code or {NOT_WANTED!r}, got nothing")
        elif not nothing and not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._/-]{0,39}", code):
            self.fault(CODE, f"expected letters, digits and . _ / -, got {shown(code)}")
        if not name:
            self.fault(
                NAME,
                "expected why it is not wanted, got nothing"
                if nothing
                else "expected a name, got nothing",
            )
        need, step = self._need(cells), self._step(cells)
        if need in ("tools", "gear") and not step and not nothing:
            self.fault(STEP, f"expected the step they are for: {', '.join(STEPS)}, got nothing")
        tracking = "count" if nothing else self._tracking(cells, need)
        per, number, by_modules = ("", 0, {}) if nothing else self._counted(cells, tracking)
        sizes = {
            word: self._whole(cells, word) for word in SIZES if words_of(self._cell(cells, word))
        }
        box = None if nothing else self._box(cells)
        if len(self.faults) > before:
            return None
        return Row(
            self.where,
            "" if nothing else code,
            name,
            tracking,
            need,
            step,
            box,
            sizes,
            per,
            number,
            by_modules,
        )

    def _said(self, cells: Sequence[Cell], word: str) -> str:
        text = words_of(self._cell(cells, word))
        if text and not (plain(text) and len(text) <= 120):
            self.fault(word, f"expected a short text on one line, got {shown(text)}")
            return ""
        return text

    def _need(self, cells: Sequence[Cell]) -> str:
        text = words_of(self._cell(cells, FOR))
        known = purposes()
        found = known.get(norm(text))
        if found is None:
            close = dict.fromkeys(
                NEEDS[known[words]].plain for words in near_words(norm(text), known)
            )
            meant = f"; did you mean {' or '.join(map(repr, close))}?" if close else ""
            wanted = "what it is for, in the words of the template's list"
            self.fault(FOR, f"expected {wanted}, got {shown(text or None)}{meant}")
        return found or ""

    def _step(self, cells: Sequence[Cell]) -> str:
        text = norm(words_of(self._cell(cells, STEP)))
        known = {**STEPS, **{key: key for key in ORDER}}
        if text and text not in known:
            self.fault(
                STEP, f"expected one of {', '.join(STEPS)}, got {shown(text)}{near(text, known)}"
            )
        return known.get(text, "")

    def _tracking(self, cells: Sequence[Cell], need: str) -> str:
        text = norm(words_of(self._cell(cells, FOLLOWED)))
        if text and text not in FOLLOWING:
            self.fault(
                FOLLOWED,
                f"expected one of {', '.join(FOLLOWING)}, got {shown(text)}{near(text, FOLLOWING)}",
            )
        # Each module and head has a serial whether the old lists say so or not: its chain is kept.
        usual = "serial" if need in ("place module", "place head") else "piece"
        return FOLLOWING.get(text or usual, "count")

    def _counted(self, cells: Sequence[Cell], tracking: str) -> tuple[str, int, dict[int, int]]:
        """How many, and for each of what. Exactly one way of counting in a row."""
        filled = [word for word in (*PERS, PER_JOB) if words_of(self._cell(cells, word))]
        by = {n: place for n, place in self.modules.items() if words_of(cell_at(cells, place))}
        if len(filled) + bool(by) != 1:
            got = ", ".join([*filled, *(["the columns of modules"] if by else [])]) or "nothing"
            wanted = "a number under one of the 'per' columns, or under every column of modules"
            self.fault("how many", f"expected {wanted}, got {got}")
            return "", 0, {}
        if filled:
            return filled[0], self._number(self._cell(cells, filled[0]), filled[0], tracking, 1), {}
        counts = {
            n: self._number(cell_at(cells, place), f"{n} modules", tracking, 0)
            for n, place in sorted(self.modules.items())
        }
        if not any(counts.values()) and len(counts) == len(by):
            self.fault(
                "how many",
                f"expected more than 0 in one column at least, got 0 in all: write {NOT_WANTED!r}",
            )
        return "", 0, counts

    def _number(self, cell: Cell, column: str, tracking: str, least: int) -> int:
        """Pieces; for what is cut from a reel metres with up to three decimals, returned in mm."""
        reel = tracking == "length"
        value = decimal(cell)
        base = None if value is None else round(value * 1000) if reel else value
        if base is None or base != int(base) or not least <= base <= MOST * (1000 if reel else 1):
            wanted = f"metres up to {MOST}" if reel else f"a whole number from {least} to {MOST}"
            self.fault(column, f"expected {wanted}, got {as_typed(cell)}")
            return 0
        return int(base)

    def _whole(self, cells: Sequence[Cell], word: str) -> int:
        value = decimal(self._cell(cells, word))
        if value is None or value != int(value) or not 1 <= value <= 1_000_000:
            got = as_typed(self._cell(cells, word))
            self.fault(word, f"expected a whole number from 1 to 1000000, got {got}")
            return 0
        return int(value)

    def _box(self, cells: Sequence[Cell]) -> tuple[str, int] | None:
        text = words_of(self._cell(cells, BOX))
        if not text:
            return None
        found = re.fullmatch(r"(\S+?)(?:\s+[xX*]\s*(\d{1,4}))?", text)
        if found is None or found[2] == "0":
            self.fault(
                BOX, f"expected a code, or as 'CODE x 4' how many one box holds, got {shown(text)}"
            )
            return None
        # Too few said is only picked once more; too many would be missing on the wall.
        return found[1], int(found[2] or 1)


def _check(rows: Sequence[Row], faults: list[Fault]) -> None:
    """What only shows when all rows are read."""
    first: dict[str, Row] = {}
    seen: dict[tuple[str, str, str], Row] = {}
    refused = {row.need: row for row in rows if not row.code}
    for row in rows:
        known = first.setdefault(row.code, row)
        if row.code and (known.name, known.tracking) != (row.name, row.tracking):
            faults.append(
                Fault(
                    row.where,
                    NAME,
                    f"expected {row.code} as in {known.where}, got another name or following",
                )
            )
        twin = seen.setdefault((row.code, row.need, row.step), row)
        if twin is not row:
            faults.append(
                Fault(
                    row.where,
                    FOR,
                    f"expected each item once for one purpose, got the same as {twin.where}",
                )
            )
        if row.code and row.need in refused and row.need not in ("tools", "gear"):
            faults.append(
                Fault(
                    row.where,
                    FOR,
                    f"expected no item, as {refused[row.need].where} says {NOT_WANTED}",
                )
            )
    for row in rows:
        if row.box is not None and row.box[0] not in first:
            faults.append(
                Fault(
                    row.where,
                    BOX,
                    f"expected the code of an item of this sheet, got {row.box[0]!r}",
                )
            )
        if row.box is not None and row.box[0] == row.code:
            faults.append(Fault(row.where, BOX, "expected another item than itself"))
