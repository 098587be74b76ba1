"""Tables as XLSX or CSV in which no text is ever a formula: the one place that writes them.

In XLSX each text says that it is one. A CSV cannot: there a text that a spreadsheet might run gets
an apostrophe in front, by the rule of incoming/formulas.py, which reading undoes exactly.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.incoming.formulas import escaped

if TYPE_CHECKING:
    from openpyxl import Workbook

Cell = str | int | float | None
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
LONGEST = 32_000  # characters of a cell; the format allows 32,767
CODED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
"""What a reader of XLSX would take for a character's number (ECMA-376-1 22.9.2.19, ST_Xstring)."""
BOM = b"\xef\xbb\xbf"  # by which a spreadsheet knows UTF-8


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its first row names the columns."""

    name: str  # at most 31 characters
    rows: Iterable[Sequence[Cell]]
    widths: Sequence[int] = ()  # of the columns, in characters


def workbook(sheets: Sequence[Sheet]) -> bytes:
    """Return the file. Texts stay texts whatever they begin with; controls become blanks.

    Rows are written as they come; each different text and the packed file are held in memory.
    """
    from openpyxl import Workbook
    from openpyxl.writer.excel import ExcelWriter

    book, out = Workbook(write_only=True), io.BytesIO()
    try:
        _write(book, sheets)
        # A file of its own, closed by us: one that breaks off would complain once collected.
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
            ExcelWriter(book, packed).save()
        return out.getvalue()
    except OSError:  # its rows lie in a file meanwhile
        for page in book:
            with suppress(OSError, ValueError, StopIteration):
                page.close()
        raise


def _write(book: Workbook, sheets: Sequence[Sheet]) -> None:
    from openpyxl.utils import get_column_letter

    for sheet in sheets:
        page = book.create_sheet(sheet.name[:31])
        page.freeze_panes = "A2"
        for place, width in enumerate(sheet.widths, 1):
            page.column_dimensions[get_column_letter(place)].width = width
        for number, row in enumerate(sheet.rows):
            page.append([_cell(page, value, head=number == 0) for value in row])


def _cell(page: object, value: Cell, *, head: bool) -> object:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    if not isinstance(value, str):
        return value
    cell = WriteOnlyCell(page, CODED.sub("_x005F_", _plain(value)))
    cell.data_type = "s"
    cell.number_format = "@"  # it stays a text when somebody edits it
    if head:
        cell.font = Font(bold=True)
    return cell


def text_table(rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a small table as CSV."""
    return BOM + "".join(text_lines(rows)).encode()


def text_lines(
    rows: Iterable[Sequence[Cell]], mark: str = ",", decimal: str = "."
) -> Iterator[str]:
    """Yield the lines of a CSV by RFC 4180: texts in quotation marks, numbers as they are.

    The marks go around every text: one that holds another country's mark between columns must not
    become two cells there.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=mark, quoting=csv.QUOTE_NONNUMERIC)
    for row in rows:
        writer.writerow([_told(value, decimal) for value in row])
        yield out.getvalue()
        out.seek(0)
        out.truncate()


def _told(value: Cell, decimal: str) -> Cell:
    if isinstance(value, str):
        return escaped(_plain(value))
    if isinstance(value, float) and decimal != ".":
        return repr(value).replace(".", decimal)
    return value


def _plain(text: str) -> str:
    return CONTROL.sub(" ", text)[:LONGEST]
