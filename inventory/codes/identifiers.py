"""The table of GS1 application identifiers as values.

The table ages: an identifier that it lacks is refused as `unknown_ai`, never taken as text.
Source: tables/gs1_identifiers.csv, whose head names the standard and its edition.
"""

import csv
import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from inventory.codes.characters import CSET39, CSET64, CSET82, DIGITS

TABLE = Path(__file__).parent / "tables" / "gs1_identifiers.csv"
ALLOWED = {"n": DIGITS, "x": CSET82, "y": CSET39, "z": CSET64}
PART = re.compile(r"([nxyz])([0-9]+)(?:-([0-9]+))?(?::([a-z_0-9]+))?(\?)?")


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a value."""

    allowed: frozenset[str]  # characters
    least: int  # characters, at least 1
    most: int  # characters
    check: str  # name in value_checks.CHECKS, or empty
    optional: bool


@dataclass(frozen=True, slots=True)
class Identifier:
    """One application identifier."""

    code: str  # 2 to 4 digits
    fixed: bool  # of predefined length: no separator after it
    parts: tuple[Part, ...]
    needs: tuple[tuple[str, ...], ...]  # one of these groups must stand beside it; empty: none
    forbids: tuple[str, ...]  # patterns; n stands for any digit
    is_key: bool  # may lead a Digital Link
    qualifiers: tuple[tuple[str, ...], ...]  # allowed sequences behind a key, each in order
    attribute: bool  # may stand in the query of a Digital Link
    meaning: str

    @property
    def least(self) -> int:
        """Characters a value has at least."""
        return sum(part.least for part in self.parts if not part.optional)

    @property
    def most(self) -> int:
        """Characters a value has at most."""
        return sum(part.most for part in self.parts)

    @property
    def allowed(self) -> frozenset[str]:
        """Characters that any part takes."""
        return frozenset[str]().union(*(part.allowed for part in self.parts))


@functools.cache
def table() -> dict[str, Identifier]:
    """Return every identifier by its code."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader((line for line in lines if not line.startswith("#")), delimiter=";")
    return {code: _identifier(code, row) for row in rows for code in _codes(row["identifiers"])}


@functools.cache
def _lengths() -> dict[str, int]:
    return {code[:2]: len(code) for code in table()}


def at(text: str, position: int) -> Identifier | None:
    """Return the identifier that starts at the position, or None where the table has none.

    The first two digits decide how long an identifier is (2, 3 or 4 digits); 23 is 235 only.
    """
    length = _lengths().get(text[position : position + 2], 0)
    return table().get(text[position : position + length]) if length else None


def matches(pattern: str, code: str) -> bool:
    """Whether an identifier is meant by a pattern such as `310n` or `01`."""
    if len(pattern) != len(code):
        return False
    return all(p in ("n", c) for p, c in zip(pattern, code, strict=True))


def _codes(cell: str) -> Iterator[str]:
    first, _, last = cell.partition("-")
    for number in range(int(first), int(last or first) + 1):
        yield str(number).zfill(len(first))


def _identifier(code: str, row: dict[str, str]) -> Identifier:
    key = row["key"]
    return Identifier(
        code,
        row["fixed"] == "yes",
        tuple(_part(text) for text in row["parts"].split()),
        tuple(tuple(group.split("+")) for group in row["needs"].split("|") if group),
        tuple(pattern for pattern in row["forbids"].split("|") if pattern),
        bool(key),
        tuple(tuple(group.split()) for group in key.split("|") if group not in ("", "-")),
        row["attribute"] == "yes",
        row["meaning"],
    )


def _part(text: str) -> Part:
    match = PART.fullmatch(text)
    if match is None:
        raise ValueError(f"{TABLE.name}: expected a part such as n6:date0, got {text!r}")
    kind, least, most, check, optional = match.groups()
    return Part(ALLOWED[kind], int(least), int(most or least), check or "", bool(optional))
