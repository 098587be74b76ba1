"""No file that leaves the house runs as a formula, whatever people typed; numbers stay numbers.

OWASP, "CSV Injection". The files are found by asking every address that the office may open.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any

import openpyxl
import pytest
from django.apps import apps
from django.db import models
from django.http import HttpResponse
from django.urls import reverse

from inventory import handing_out
from inventory.models import guard
from inventory.workbooks import Sheet, text_lines, workbook
from tests.incoming.test_formulas import RUN
from tests.people import DAY, Cast
from tests.test_cast import ONCE, ROWS, address, body_of, browser

# A spreadsheet passes blanks and signs that are not seen.
STARTS = re.compile(r"[\s\u200b\ufeff\0-\x1f]*[=+\-@|;\uff1d]|[\t\r\n]")
TYPED = ("name", "address", "letter", "words", "note", "reason", "title", "label")
SPREADSHEET = handing_out.ENDINGS["xlsx"]
PAGES = [
    (row["route"], row["object"])
    for row in ROWS
    if row["method"] == "GET" and row["manager"] == "200" and row["object"] in ("own", "firm", "")
]


def spoil(texts: list[str]) -> int:
    """Type what might run into every text that may change; how many tables took it."""
    done = 0
    for model in [
        *apps.get_app_config("inventory").get_models(),
        *apps.get_app_config("kitting").get_models(),
    ]:
        if model._meta.db_table in {*guard.GUARDED, *guard._WATCHED}:
            continue
        plain = (models.CharField, models.TextField)
        fields = [f.name for f in model._meta.concrete_fields if f.name in TYPED]
        fields = [n for n in fields if isinstance(model._meta.get_field(n), plain)]
        for number, row in enumerate(model._default_manager.all() if fields else ()):
            for name in fields:
                setattr(row, name, f"{texts[number % len(texts)]} {number}"[:40])
            row.save(update_fields=fields)
            done += number == 0
    return done


def cells(kind: str, data: bytes) -> Iterator[tuple[str, object]]:
    """(where, cell) of what would run, of a CSV, a workbook, or all such in a ZIP."""
    if "csv" in kind:
        for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
            yield from (("csv", cell) for cell in row if STARTS.match(cell) and not number(cell))
    elif kind.startswith(SPREADSHEET) or kind == "xlsx":
        book = openpyxl.load_workbook(io.BytesIO(data))
        for sheet in book.worksheets:
            for one in (cell for row in sheet.iter_rows() for cell in row):
                if one.data_type in ("f", "e"):
                    yield sheet.title, one.value
    elif "zip" in kind:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            for name in packed.namelist():
                yield from cells(name.rpartition(".")[2].replace("zip", ""), packed.read(name))


def number(cell: str) -> bool:
    return re.fullmatch(r"-?\d+([.,]\d+)?", cell) is not None


def files(cast: Cast) -> Iterator[tuple[str, HttpResponse]]:
    client = browser(cast, "manager")
    for route, about in PAGES:
        asked = address(cast, route, "manager", about)
        yield route, client.get(asked)
    yield "stock_then", client.get(reverse("stock_then"), {"day": str(DAY), "as": "xlsx"})
    for kind in handing_out.kinds():
        for ending in handing_out.ENDINGS:
            yield f"{kind}.{ending}", client.get(reverse("table_out", args=[kind, ending]))


@ONCE
def test_no_file_runs_what_somebody_typed(db: None, cast: Cast) -> None:
    """Every table, workbook and ZIP that an address answers with."""
    assert spoil(RUN) > 8
    found: dict[str, int] = {}
    for where, response in files(cast):
        kind = response.headers["Content-Type"]
        if any(word in kind for word in ("csv", SPREADSHEET, "zip")):
            data = body_of(response)
            found[where] = len(data)
            assert list(cells(kind, data)) == [], where

    assert {"claim_file", "list_template", "stock_then", "items.csv", "jobs.xlsx"} <= found.keys()


@pytest.mark.parametrize("value", [-5, -0.5, 5, 1234.5])
def test_a_number_stays_a_number(value: float) -> None:
    """Also one that begins with a minus; the same signs typed as a text are a text."""
    rows: list[list[Any]] = [["what", "how many"], [str(value), value]]
    book = openpyxl.load_workbook(io.BytesIO(workbook([Sheet("one", rows)])))
    as_text, as_number = next(book["one"].iter_rows(min_row=2, max_row=2))
    line = list(text_lines(rows))[1]

    assert (as_text.data_type, as_text.value) == ("s", str(value))
    assert (as_number.data_type, as_number.value) == ("n", value)
    assert line.rstrip("\r\n").rpartition(",")[2] == str(value)
    assert line.startswith("\"'-" if value < 0 else '"')
