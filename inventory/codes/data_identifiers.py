"""Data identifiers of ANSI MH10.8.2: `1PABC-1` is the supplier's item number ABC-1.

Source: tables/data_identifiers.csv. Syntax: up to three digits and one capital letter.

>>> parse("10D2617")
('10D', '2617')
"""

import csv
import functools
import re
from collections.abc import Sequence
from pathlib import Path

from inventory.codes import dates
from inventory.codes.characters import is_digits
from inventory.codes.errors import CodeError

TABLE = Path(__file__).parent / "tables" / "data_identifiers.csv"
HEAD = re.compile(r"[0-9]{0,3}[A-Z]")
LOWER = re.compile(r"[0-9]{0,3}[a-z]")

# How each date form is laid out: ISO order from the pieces of the text.
SHORT = {"YYMMDD": (0, 2, 4), "DDMMYY": (4, 2, 0)}
LONG = {"YYYYMMDD": (0, 4, 6), "DDMMYYYY": (4, 2, 0)}


@functools.cache
def table() -> dict[str, dict[str, str]]:
    """Return the rows by identifier."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader((line for line in lines if not line.startswith("#")), delimiter=";")
    return {row["identifier"]: row for row in rows}


def parse(text: str) -> tuple[str, str]:
    """Return (identifier, value). Raises CodeError lower_case_di, bad_di_syntax, empty_value."""
    if LOWER.match(text):
        raise CodeError("lower_case_di", f"expected a capital letter, got {text[:4]!r}")
    head = HEAD.match(text)
    if head is None:
        message = f"expected up to 3 digits and a capital letter, got {text[:5]!r}"
        raise CodeError("bad_di_syntax", message)
    if not text[head.end() :]:
        raise CodeError("empty_value", f"expected a value behind {head[0]}, got nothing")
    return head[0], text[head.end() :]


def fields(pairs: Sequence[tuple[str, str]], this_year: int) -> dict[str, str | int]:
    """Return the values in our words. Raises CodeError non_numeric_quantity, bad_week, ..."""
    found: dict[str, str | int] = {}
    for code, value in pairs:
        row = table().get(code)
        if row and row["field"]:
            found.update(_field(row["field"], row["form"], f"{code}{value}", value, this_year))
    return found


def _field(name: str, form: str, whole: str, value: str, this_year: int) -> dict[str, str | int]:
    if form == "text":
        return {name: value}
    if form == "number":
        if not is_digits(value):
            raise CodeError("non_numeric_quantity", f"expected digits only, got {whole[:40]!r}")
        return {name: int(value)}
    if form == "quantity_unit":
        return _quantity_and_unit(name, value)
    if not is_digits(value) or len(value) != len(form):
        raise CodeError("bad_date", f"expected {form}, got {whole[:40]!r}")
    return {name: _date(form, value, this_year)}


def _quantity_and_unit(name: str, value: str) -> dict[str, str | int]:
    number, unit = value[:-2], value[-2:]
    if not is_digits(number):
        raise CodeError("non_numeric_quantity", f"expected digits and a unit, got {value[:40]!r}")
    return {name: int(number), "uom": unit}


def _date(form: str, value: str, this_year: int) -> str:
    if form in SHORT:
        return dates.six_digits("".join(value[i : i + 2] for i in SHORT[form]), this_year)
    if form in LONG:
        year, month, day = LONG[form]
        return dates.eight_digits(
            value[year : year + 4] + value[month : month + 2] + value[day : day + 2]
        )
    if form == "YYWW":
        return dates.week(dates.full_year(int(value[:2]), this_year), int(value[2:]))
    return dates.week(int(value[:4]), int(value[4:]))
