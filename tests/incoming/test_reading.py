"""Files as tables: encodings, marks between columns, spreadsheets, and what is refused."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Sequence

import openpyxl
import pytest

from inventory.incoming import books
from inventory.incoming.columns import Column, heads, plain, rows_of
from inventory.incoming.errors import FileRefused
from inventory.incoming.reading import Choices, read
from inventory.incoming.tables import Table

COLUMNS = (Column("item", "", ("Artikel",), needed=True), Column("größe", ""), Column("serial", ""))
TEXT = "Artikel;Größe;Serial\nMOD;12,5;007\n"


def xlsx(*rows: Sequence[object]) -> bytes:
    """A spreadsheet as another library writes it (openpyxl)."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def table(data: bytes, name: str = "a.csv", **choices: str) -> Table:
    return read(data, name, COLUMNS, Choices(**choices))


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8, by"),
        ("utf-16", "utf-16, by its first"),
        ("utf-16-le", "utf-16, by its zero"),
        ("utf-16-be", "utf-16, by its zero"),
        ("cp1252", "cp1252 (taken"),
        ("latin-1", "cp1252 (taken"),
    ],
)
def test_a_text_is_read_in_the_encodings_people_have(encoding: str, told: str) -> None:
    """The same cells whichever, and it is said which was taken."""
    found = table(TEXT.encode(encoding))

    assert found.headings.cells == ("Artikel", "Größe", "Serial")
    assert [row.cells for row in found.rows] == [("MOD", "12,5", "007")]
    assert told in found.told


def test_a_chosen_encoding_is_taken_or_refused() -> None:
    """mac-roman cannot be told from cp1252 by its bytes: the person says it."""
    assert table(TEXT.encode("mac-roman"), encoding="mac-roman").headings.cells[1] == "Größe"
    with pytest.raises(FileRefused, match="expected utf-8-sig, got something else at byte"):
        table(TEXT.encode("cp1252"), encoding="utf-8")


@pytest.mark.parametrize("mark", [";", ",", "\t", "|"])
def test_the_mark_between_columns_is_found_by_the_headings(mark: str) -> None:
    """Also where the cells hold another mark, and below a line sep=."""
    text = mark.join(("item", "serial")) + "\n" + mark.join(("MOD", '"a;b,c|d"')) + "\n"

    assert table(text.encode()).rows[0].cells == ("MOD", "a;b,c|d")
    assert table(f"sep={mark}\r\n{text}".encode()).rows[0].number == 3


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty file"),
        (b"what;ever\n1;2\n", "say the delimiter"),
        (b"item;serial\nMOD;a\x00b\n", "row 2, column B: expected one line of plain text"),
        (b'item;serial\nMOD;"a\nb;c\n', "row 2"),
        (b'item;serial\nMOD;"a\nb"\n', "row 2, column B: expected one line"),
        (b"item;serial\nMOD;" + b"x" * 3000, "at most 2000 characters, got 3000"),
        (b"item;serial\nMOD" + b";" * 99, "row 2: expected at most 60 columns, got 100"),
        (b"item\n" + b"x\n" * 60_001, "at most 60000 rows, got 60001"),
    ],
)
def test_a_hostile_text_is_refused_with_its_place(data: bytes, words: str) -> None:
    """Nothing is cut off or guessed."""
    with pytest.raises(FileRefused, match=words):
        table(data)


def test_a_spreadsheet_keeps_numbers_texts_and_days_apart() -> None:
    """Whole floats are whole; a text keeps its zeros; rows keep their numbers."""
    found = table(
        xlsx((), ("item", "serial"), ("MOD", "007"), (), (1001, 7.0), (dt.date(2026, 3, 1), 1.5)),
        "a.XLSX",
    )

    assert [(row.number, row.cells) for row in found.rows] == [
        (3, ("MOD", "007")),
        (5, (1001, 7)),
        (6, (dt.date(2026, 3, 1), 1.5)),
    ]


def test_a_spreadsheet_that_begins_lower_right_keeps_its_letters() -> None:
    """The first cell is C2: its column is C."""
    found = table(xlsx((), (None, None, "item"), (None, None, "MOD")), "a.xlsx")
    places, faults = heads(found, COLUMNS)

    assert (places, faults) == ({"item": 2}, [])
    assert next(rows_of(found, places))["item"] == "MOD"


def test_a_small_file_that_grows_is_refused() -> None:
    """A cell in the last row and column; and parts that unpack to more than is allowed."""
    book = openpyxl.Workbook()
    book.active["A1"], book.active["XFD1048576"] = "item", "x"
    far = io.BytesIO()
    book.save(far)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("xl/worksheets/sheet1.xml", b"\0" * (books.UNPACKED + 1))

    for data, words in (
        (far.getvalue(), "memory or time"),
        (packed.getvalue(), "MB unpacked, got more"),
        (b"PK not a sheet", "cannot be read from"),
    ):
        assert len(data) < 200_000
        with pytest.raises(FileRefused, match=words):
            table(data, "a.xlsx")


def test_headings_are_found_in_any_order_and_told_with_their_letter() -> None:
    """Unknown, doubled, missing and empty ones, all at once."""
    found = table(b"serial;colour;Serial;\nS;red;S;x\n")
    _, faults = heads(found, COLUMNS)

    assert plain(" Größe ") == "grosse"
    assert [str(fault) for fault in faults] == [
        "row 1, column B (colour): expected one of item, größe, serial, got 'colour'",
        "row 1, column C (Serial): expected serial once, got it in column A too",
        "row 1, column D (D): expected a heading above what stands there, got none",
        "row 1: expected a column item, got none",
    ]
