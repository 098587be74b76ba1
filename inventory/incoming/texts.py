"""CSV: which encoding and which mark between columns a text has; told, and refused when unsure."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Collection

from inventory.incoming.columns import plain
from inventory.incoming.errors import FileRefused
from inventory.incoming.formulas import unescaped
from inventory.incoming.tables import Row, Table, tabled

ENCODINGS = {
    "utf-8": "utf-8-sig",
    "utf-16": "utf-16",
    "cp1252": "cp1252",
    "latin-1": "latin-1",
    "cp1250": "cp1250",
    "cp1251": "cp1251",
    "cp850": "cp850",
    "mac-roman": "mac-roman",
}
MARKS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "bar"}
NAMED = {**{name: mark for mark, name in MARKS.items()}, **{mark: mark for mark in MARKS}}


def read(data: bytes, known: Collection[str], encoding: str = "", delimiter: str = "") -> Table:
    """Return a CSV file as a table. Raises FileRefused.

    known: headings in their plain form, by which the mark is found.
    """
    text, taken = _decoded(data, encoding)
    if not text.strip():
        raise FileRefused("expected a row of headings and rows below it, got an empty file")
    text, first = _without_sep(text)
    mark, how = _mark(text, known, first or delimiter)
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    began = 2 if first else 1
    try:
        for cells in reader:
            rows.append(Row(began, tuple(unescaped(cell.strip(" \xa0")) for cell in cells)))
            began = reader.line_num + (2 if first else 1)
    except csv.Error as error:
        raise FileRefused(f"row {began}: expected cells as CSV has them, got {error}") from None
    return tabled(rows, f"{taken}, {how} between columns")


def _decoded(data: bytes, encoding: str) -> tuple[str, str]:
    if encoding:
        if encoding not in ENCODINGS:
            wanted = ", ".join(ENCODINGS)
            raise FileRefused(f"encoding: expected one of {wanted}, got {encoding[:20]!r}")
        return _strict(data, ENCODINGS[encoding]), f"text as {encoding}, as chosen"
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            return _strict(data, name), f"text as {name.removesuffix('-sig')}, by its first bytes"
    low, high = data[0:400:2].count(0), data[1:400:2].count(0)
    if max(low, high) * 4 > len(data[:400:2]):
        name = "utf-16-le" if high > low else "utf-16-be"
        return _strict(data, name), "text as utf-16, by its zero bytes"
    try:
        return data.decode(), "text as utf-8"
    except UnicodeDecodeError:
        pass
    try:
        # What Windows programs of Western Europe write; the preview shows if accents are right.
        return data.decode("cp1252"), "text as cp1252 (taken, as it is not utf-8: look at accents)"
    except UnicodeDecodeError:
        raise FileRefused("expected text as utf-8, utf-16 or cp1252: say its encoding") from None


def _strict(data: bytes, name: str) -> str:
    try:
        return data.decode(name)
    except UnicodeDecodeError as error:
        place = f"byte {error.start + 1}"
        raise FileRefused(f"encoding: expected {name}, got something else at {place}") from None


def _without_sep(text: str) -> tuple[str, str]:
    """A first line "sep=;" names the mark and is no row."""
    line, _, rest = text.partition("\n")
    line = line.strip("\r")
    if len(line) == len("sep=;") and line.lower().startswith("sep="):
        return rest, line[4]
    return text, ""


def _mark(text: str, known: Collection[str], given: str) -> tuple[str, str]:
    if given:
        if given not in NAMED:
            wanted = ", ".join(f"{name}" for name in MARKS.values())
            raise FileRefused(f"delimiter: expected {wanted}, got {given[:10]!r}")
        return NAMED[given], f"a {MARKS[NAMED[given]]}"
    first = next((line for line in text.splitlines() if line.strip()), "")
    score = {}
    for mark in MARKS:
        try:
            cells = next(csv.reader([first], delimiter=mark), [])
        except csv.Error:
            cells = []
        score[mark] = sum(plain(cell) in known for cell in cells)
    best = max(score.values())
    found = [mark for mark in MARKS if score[mark] == best]
    if best and len(found) == 1:
        return found[0], f"a {MARKS[found[0]]}"
    if best and not any(mark in first for mark in MARKS):
        return ";", "nothing"  # one column
    wanted = "columns between semicolon, comma, tab or bar"
    got = f"headings {first[:60]!r} that name none we know" if not best else "several that fit"
    raise FileRefused(f"row 1: expected {wanted}, got {got}: say the delimiter")
