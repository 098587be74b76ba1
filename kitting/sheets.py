"""Sheets of old job lists as files: .xlsx or .csv in, the template and the questions out."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from inventory.incoming.formulas import unescaped
from inventory.workbooks import text_table
from kitting.plan.asking import Question
from kitting.plan.errors import Fault
from kitting.plan.first_hour import Page, SheetError
from kitting.plan.needs import NEEDS, RAISED
from kitting.plan.sheet_cells import (
    CODE,
    FOLLOWED,
    FOLLOWING,
    FOR,
    LONGEST_SHEET,
    NAME,
    PER_JOB,
    PERS,
    QUESTION,
    STEP,
    STEPS,
    WORDS,
    Cell,
)

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

LARGEST = 2_000_000  # bytes of a sheet as it comes
UNPACKED = 40_000_000  # bytes of it unpacked: a small file may hold a huge one
WIDEST = 60  # columns
ITEMS, ANSWERS, HELP = "Items", "Answers", "Help"
PLAIN = [word for word in WORDS if word != QUESTION and not word.startswith("per ")]
COUNTED = ["1 module", *(f"{n} modules" for n in range(2, 7))]
HEADINGS = [*PLAIN, *COUNTED, *PERS, PER_JOB]
HOW = (
    "One row for each item and each thing it is for. What is left open is asked back.",
    f"{FOLLOWED}: {', '.join(FOLLOWING)}. Empty is piece; of a metre the numbers are metres.",
    "How many: one number under a 'per' column, or one under every column of modules (0 for none).",
    "A joint is each place where one unit meets the next, foot and head included.",
    "For leads from unit to unit the foot does not count.",
    "An entry is one cable through the wall of a unit.",
    "In the box of: the code of the item whose box brings it, as MODULE x 4 for four in each box.",
    "Not wanted at all: write 'not wanted' as the item code, and why as its name.",
    "Columns of modules that you have no lists for stay empty.",
)


def pages_of(data: bytes, name: str) -> tuple[Page, ...]:
    """The pages of a file, by its name's ending. Raises SheetError."""
    if len(data) > LARGEST:
        raise _unreadable(name, f"expected at most {LARGEST} bytes, got {len(data)}")
    if name.lower().endswith(".csv"):
        return (Page(ITEMS, _csv(data, name)),)
    if name.lower().endswith(".xlsx"):
        return _xlsx(data, name)
    raise _unreadable(name, "expected a sheet that ends in .xlsx or .csv")


def _unreadable(name: str, message: str) -> SheetError:
    return SheetError([Fault(name[:80], "", message)])


def _csv(data: bytes, name: str) -> tuple[tuple[Cell, ...], ...]:
    try:
        text = data.decode("utf-8-sig")
        first = text.partition("\n")[0]
        mark = max(",;\t", key=first.count)
        rows = tuple(
            tuple(map(unescaped, row))
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark)
        )
    except (UnicodeDecodeError, csv.Error) as error:
        raise _unreadable(
            name, f"expected text (as 'CSV UTF-8') with one row a line, got {error}"
        ) from error
    return rows


def _xlsx(data: bytes, name: str) -> tuple[Page, ...]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(part.file_size for part in packed.infolist())
        if size > UNPACKED:
            raise _unreadable(name, f"expected at most {UNPACKED} bytes unpacked, got {size}")
        # Whole, not read_only: that mode trusts the size a file claims and loses rows.
        book = load_workbook(io.BytesIO(data), data_only=True)
    except SheetError:
        raise
    except Exception as error:  # the library raises what its many readers raise
        told = type(error).__name__
        raise _unreadable(
            name, f"expected a sheet (.xlsx), got a file it cannot be read from: {told}"
        ) from error
    return tuple(
        Page(page.title, _rows(page, name)) for page in book.worksheets if page.title != HELP
    )


def _rows(page: Worksheet, name: str) -> tuple[tuple[Cell, ...], ...]:
    if page.max_row > LONGEST_SHEET or page.max_column > WIDEST:
        wanted = f"at most {LONGEST_SHEET} rows and {WIDEST} columns"
        got = f"{page.max_row} and {page.max_column}"
        raise _unreadable(name, f"{page.title}: expected {wanted}, got {got}")
    return tuple(tuple(map(_cell, row)) for row in page.iter_rows(values_only=True))


def _cell(value: object) -> Cell:
    """Numbers and texts stay; a date or yes/no is read as text and told where it does not fit."""
    if value is None or isinstance(value, (str, float)):
        return value
    return value if isinstance(value, int) and not isinstance(value, bool) else str(value)


def template(name: str = ".xlsx") -> bytes:
    """An empty sheet to fill in, by its name's ending; .xlsx has the lists to choose from."""
    return _file([Page(ITEMS, (tuple(HEADINGS),))], name)


def with_questions(
    pages: Sequence[Page], questions: Iterable[Question], name: str = ".xlsx"
) -> bytes:
    """The sheet as it came, with a page of what is still open: one row for each question.

    name: decides by its ending; a .csv has one page only, the questions come below the items.
    """
    kept = [page for page in pages if page.name != ANSWERS]
    answered = [row for page in pages if page.name == ANSWERS for row in page.rows[1:]]
    headings = next((page.rows[0] for page in pages if page.name == ANSWERS), None)
    asked = list(headings or (QUESTION, *HEADINGS))
    rows = [row for row in answered if any(row[1:])]
    for one in questions:
        known = {QUESTION: one.words, FOR: NEEDS[one.need].plain}
        rows.append(tuple(known.get(str(word), "") for word in asked))
    return _file([*kept, Page(ANSWERS, (tuple(asked), *rows))], name)


def _file(pages: Sequence[Page], name: str) -> bytes:
    return _text(pages) if name.lower().endswith(".csv") else _book(pages)


def _text(pages: Sequence[Page]) -> bytes:
    """All pages as one: under every heading that any of them has, rows without a word left out."""
    headings = list(dict.fromkeys(str(cell or "") for page in pages for cell in page.rows[0]))
    table: list[Sequence[Cell]] = [headings]
    for page in pages:
        for row in page.rows[1:]:
            cells = dict(zip(map(str, page.rows[0]), row, strict=False))
            if any(cell not in (None, "") for cell in row):
                table.append([cells.get(heading, "") for heading in headings])
    return text_table(table)


def _book(pages: Iterable[Page]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for page in pages:
        _write(book, page)
    _help(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _write(book: Workbook, page: Page) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    sheet = book.create_sheet(page.name[:31])
    for row in page.rows:
        sheet.append(["" if cell is None else cell for cell in row])
    wide = {NAME: 34, FOR: 44, QUESTION: 70, CODE: 16, STEP: 14}
    lists = {
        FOR: ("A", len(_plain_needs())),
        STEP: ("B", len(STEPS)),
        FOLLOWED: ("C", len(FOLLOWING)),
    }
    for place, word in enumerate(page.rows[0] if page.rows else (), 1):
        letter = get_column_letter(place)
        sheet.column_dimensions[letter].width = wide.get(str(word), 12)
        cell = sheet.cell(1, place)
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        if word in lists:
            column, count = lists[str(word)]
            # Other words are asked back when the sheet is read; the list only saves typing.
            choice = DataValidation("list", formula1=f"{HELP}!${column}$20:${column}${19 + count}")
            choice.showErrorMessage = False
            choice.add(f"{letter}2:{letter}500")
            sheet.add_data_validation(choice)
    for cells in sheet.iter_rows():
        for cell in cells:
            if isinstance(cell.value, str) and cell.value.startswith("="):
                cell.data_type = "s"  # what somebody typed is no formula of ours
    sheet.freeze_panes = "A2"
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows, sheet.print_options.gridLines = "1:1", True
    if sheet.max_row == 1:
        # Printed empty it is filled in by hand: a page full of lines, not one line.
        sheet.print_area = f"A1:{get_column_letter(sheet.max_column)}30"


def _help(book: Workbook) -> None:
    sheet = book.create_sheet(HELP)
    for number, words in enumerate(HOW, 1):
        sheet.cell(number, 1, words)
    for place, (title, values) in enumerate(
        ((FOR, _plain_needs()), (STEP, list(STEPS)), (FOLLOWED, list(FOLLOWING))), 1
    ):
        sheet.cell(19, place, title)
        for number, word in enumerate(values, 20):
            sheet.cell(number, place, word)
    sheet.column_dimensions["A"].width = 60


def _plain_needs() -> list[str]:
    return [need.plain for need in NEEDS.values() if need.kind != RAISED]
