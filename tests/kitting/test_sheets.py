"""Sheets of old job lists as files: what comes in, what goes out, what is refused."""

import csv
import io
import json
import zipfile
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from openpyxl import Workbook, load_workbook

from kitting import sheets
from kitting.plan import drafting, first_hour
from kitting.plan.first_hour import Page, SheetError
from tests.plan.test_first_hour import DAY, HEADINGS, ROWS

TABLE = (HEADINGS, *ROWS)


def as_csv(mark: str) -> bytes:
    out = io.StringIO()
    csv.writer(out, delimiter=mark).writerows(TABLE)
    return out.getvalue().encode("utf-8-sig")


def as_xlsx() -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in TABLE:
        book.worksheets[0].append(row)
    book.save(out)
    return out.getvalue()


def read(data: bytes, name: str) -> list[tuple[object, ...]]:
    rows = first_hour.read(sheets.pages_of(data, name), name)
    return [(row.code, row.need, row.per, row.number, dict(row.by_modules)) for row in rows]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_text_sheet_says_what_the_other_says(mark: str) -> None:
    """Comma, semicolon or tab: the same rows as from the .xlsx."""
    assert read(as_xlsx(), "old.xlsx") == read(as_csv(mark), "OLD.CSV")


def test_the_questions_come_back_as_text_too_and_are_answered_there() -> None:
    """Below the items, with the column Question; answered, nothing is open."""
    pages = sheets.pages_of(as_csv(","), "old.csv")
    draft = drafting.draft(first_hour.read(pages, "old.csv"), name="t", title="T", edition=DAY)
    back = sheets.with_questions(pages, draft.questions, "back.csv").decode("utf-8-sig")
    table = list(csv.DictReader(io.StringIO(back)))
    asked = [row for row in table if row["Question"]]

    assert len(table) == len(ROWS) + len(draft.questions)
    assert [row["Question"] for row in asked] == [one.words for one in draft.questions]
    for row in asked:
        row |= {"Item code": "not wanted", "Name": "never taken"}
    out = io.StringIO()
    writer = csv.DictWriter(out, list(table[0]))
    writer.writeheader()
    writer.writerows(table)
    rows = first_hour.read(sheets.pages_of(out.getvalue().encode(), "back.csv"), "back.csv")
    assert drafting.draft(rows, name="t", title="T", edition=DAY).questions == ()


def test_the_empty_sheet_can_be_written_and_printed(tmp_path: Path) -> None:
    """By a command, as either kind, never over a file; on paper 29 lines to fill in by hand."""
    for name in ("empty.xlsx", "empty.csv"):
        file, out = str(tmp_path / name), io.StringIO()
        call_command("load_family", file, "--template", "--json", stdout=out)
        assert json.loads(out.getvalue()) == {"file": file}
        with pytest.raises(CommandError, match="one that is there already"):
            call_command("load_family", str(tmp_path / name), "--template")
    with pytest.raises(CommandError, match=r"ends in \.xlsx or \.csv"):
        call_command("load_family", str(tmp_path / "empty.ods"), "--template")
    page = load_workbook(tmp_path / "empty.xlsx")["Items"]
    text = (tmp_path / "empty.csv").read_text(encoding="utf-8-sig").strip()

    assert [cell.value for cell in page[1]] == sheets.HEADINGS == next(csv.reader([text]))
    assert (page.page_setup.orientation, page.print_title_rows) == ("landscape", "$1:$1")
    assert str(page.print_area).endswith("$30")


def test_what_is_no_sheet_is_refused_in_words() -> None:
    """Another file, broken, too large, too wide, packed too tightly: none is read in part."""
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * (sheets.UNPACKED + 1))
    assert len(bomb.getvalue()) < sheets.LARGEST
    wide, out = Workbook(), io.BytesIO()
    wide.worksheets[0].cell(1, sheets.WIDEST + 1, "x")
    wide.save(out)
    for data, name, told in (
        (b"%PDF", "old.pdf", r"ends in \.xlsx or \.csv"),
        (b"PK not really", "old.xlsx", "a file it cannot be read from"),
        (bytes(sheets.LARGEST + 1), "old.csv", "expected at most 2000000 bytes"),
        (bomb.getvalue(), "old.xlsx", "bytes unpacked"),
        (out.getvalue(), "old.xlsx", "60 columns, got 1 and 61"),
        ("Größe".encode("cp1252"), "old.csv", "CSV UTF-8"),
    ):
        with pytest.raises(SheetError, match=told):
            sheets.pages_of(data, name)


def test_what_somebody_typed_is_never_a_formula_of_ours() -> None:
    """A name that begins with = goes out as text, in a CSV after an apostrophe, and comes back."""
    page = Page("Items", (HEADINGS, ("=1+1", '=HYPERLINK("x")', "", "tools")))
    book = load_workbook(io.BytesIO(sheets.with_questions([page], ())))

    assert {cell.data_type for row in book["Items"].iter_rows() for cell in row if cell.value} == {
        "s"
    }
    text = sheets.with_questions([page], (), "a.csv")
    assert (
        "'=HYPERLINK(" in next(csv.DictReader(io.StringIO(text.decode("utf-8-sig"))))[HEADINGS[1]]
    )
    assert page.rows[1] == sheets.pages_of(text, "a.csv")[0].rows[1][: len(page.rows[1])]
