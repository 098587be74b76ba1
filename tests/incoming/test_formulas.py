"""Texts that a spreadsheet would run: out as plain text, back exactly, honest ones readable."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.incoming.columns import Column
from inventory.incoming.formulas import escaped, formula, unescaped
from inventory.incoming.reading import Choices, read

# OWASP, "CSV Injection": = + - @ tab CR LF, and the forms that its readers added.
RUN = [
    "=1+1",
    "+",
    "-1+2",
    "@",
    "\t=",
    "\r=",
    "\n=",
    " =",
    "\uff1d",
    "\u200b=",
    "\ufeff=",
    "|calc",
    '=HYPERLINK("http://x.invalid")',
    "'=",
    ";=",
    "-5",
    "+49 170 1234567",
]


@pytest.mark.parametrize("text", RUN)
def test_what_would_run_goes_out_as_text_and_comes_back_exactly(text: str) -> None:
    """An apostrophe stands in front; a file written and read gives the same cell."""
    out = io.StringIO()
    rows = [["name", "serial"], [escaped(text), "0007"]]
    csv.writer(out, delimiter=";", lineterminator="\r\n", quoting=csv.QUOTE_ALL).writerows(rows)
    columns = (Column("name", ""), Column("serial", ""))

    table = read(out.getvalue().encode(), "a.csv", columns, Choices())

    assert escaped(text) == "'" + text
    assert [row.cells for row in table.rows] == [(text, "0007")]


@given(st.text(alphabet="'=+-@|;\t\r\n \u200b\ufeff\uff1dA1", max_size=6))
def test_every_text_comes_back(text: str) -> None:
    """Also those with apostrophes of their own; nothing that goes out would run."""
    assert unescaped(escaped(text)) == text
    assert escaped(text).startswith("'") or not formula(text)


def test_serials_go_out_as_they_are() -> None:
    """Nothing is put before what no spreadsheet runs."""
    for text in ("007", "SN-1", "", "A=1", "#7", "(5)"):
        assert text == escaped(text)
