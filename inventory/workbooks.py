"""Tables as an XLSX file in which no text is ever a formula."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Cell = str | int | float | None
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
LONGEST = 32_000  # characters of a cell; the format allows 32,767


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its first row names the columns."""

    name: str  # at most 31 characters
    rows: Iterable[Sequence[Cell]]
    widths: Sequence[int] = ()  # of the columns, in characters


def workbook(sheets: Sequence[Sheet]) -> bytes:
    """Return the file. Texts stay texts whatever they begin with; control characters go."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    for sheet in sheets:
        page = book.create_sheet(sheet.name[:31])
        page.freeze_panes = "A2"
        for place, width in enumerate(sheet.widths, 1):
            page.column_dimensions[get_column_letter(place)].width = width
        for number, row in enumerate(sheet.rows):
            cells = []
            for value in row:
                text = isinstance(value, str)
                shown = CONTROL.sub("", str(value))[:LONGEST] if text else value
                cell = WriteOnlyCell(page, shown)
                if text:
                    cell.data_type = "s"
                if number == 0:
                    cell.font = Font(bold=True)
                cells.append(cell)
            page.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
