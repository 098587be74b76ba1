"""What runs in the child: one spreadsheet on standard input, its rows as JSON on standard output.

Started by inventory.incoming.books as `python -m inventory.incoming.opening MEMORY CPU ROWS WIDE`.
"""

import datetime as dt
import json
import math
import resource
import sys
from io import BytesIO
from typing import Any

import python_calamine


def main(memory: str, cpu: str, most_rows: str, widest: str) -> None:
    """Read the first sheet that holds something; say what is wrong with one that is too large."""
    resource.setrlimit(resource.RLIMIT_AS, (int(memory), int(memory)))
    resource.setrlimit(resource.RLIMIT_CPU, (int(cpu), int(cpu)))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        answer = opened(sys.stdin.buffer.read(), int(most_rows), int(widest))
    except BaseException as error:  # noqa: BLE001  the reader raises what its own readers raise
        told = type(error).__name__
        answer = {"wrong": f"expected a spreadsheet (.xlsx), got one that cannot be read: {told}"}
    json.dump(answer, sys.stdout)


def opened(data: bytes, most_rows: int, widest: int) -> dict[str, Any]:
    """Return the rows that hold something, each with its number; dates as {"day": ISO}."""
    book = python_calamine.CalamineWorkbook.from_filelike(BytesIO(data))
    sheets = [book.get_sheet_by_index(place) for place in range(len(book.sheet_names))]
    held = [sheet for sheet in sheets if sheet.height]
    if not held:
        return {"sheet": "", "others": 0, "rows": []}
    sheet = held[0]
    start = sheet.start or (0, 0)
    if start[1] + sheet.width > widest:
        got = start[1] + sheet.width
        return {"wrong": f"expected at most {widest} columns, got {got}"}
    rows = []
    for number, cells in enumerate(sheet.iter_rows(), 1):
        kept = [None] * start[1] + [_plain(cell) for cell in cells]  # columns left of the first
        while kept and kept[-1] is None:
            kept.pop()
        if kept:
            rows.append((number, kept))
        if len(rows) > most_rows:
            return {"wrong": f"expected at most {most_rows - 1} rows, got more: split the file"}
    return {"sheet": sheet.name, "others": len(held) - 1, "rows": rows}


def _plain(cell: Any) -> Any:
    if cell == "" or cell is None:
        return None
    if isinstance(cell, dt.datetime | dt.date):
        return {"day": (cell.date() if isinstance(cell, dt.datetime) else cell).isoformat()}
    if isinstance(cell, float):
        if not math.isfinite(cell):
            return str(cell)
        return int(cell) if cell.is_integer() and abs(cell) < 10**15 else cell
    return cell if isinstance(cell, str | int | bool) else str(cell)


if __name__ == "__main__":
    main(*sys.argv[1:])
