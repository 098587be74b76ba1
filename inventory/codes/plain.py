"""Label profiles: how a supplier's plain serials look, as data per item.

A pattern is literal text with fields in braces, `{name:form}`. A form is one or more of `d`
(digit), `a` (capital), `n` (digit or capital), `x` (printable without blank), each with a count
or a range: `d8`, `a2d6`, `n4-20`. Fields: serial, lot, item, or `_` for what is dropped.

>>> compile_pattern("SN{serial:d8}").fields("SN00001234")
{'serial': '00001234'}
"""

import re
from dataclasses import dataclass

from inventory.codes.errors import CodeError
from inventory.codes.symbology import same

FIELDS = ("serial", "lot", "item", "_")
FIELD = re.compile(r"\{([a-z_]+):((?:[danx][0-9]+(?:-[0-9]+)?)+)\}")
PIECE = re.compile(r"([danx])([0-9]+)(?:-([0-9]+))?")
CLASSES = {"d": "[0-9]", "a": "[A-Z]", "n": "[0-9A-Z]", "x": "[!-~]"}
LONGEST = 200
"""Characters of a text that a profile judges."""
RANGES = 3
"""Ranges in one pattern: with more, matching a hostile text would take too long."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A compiled pattern."""

    source: str  # as written by a person
    expression: re.Pattern[str]

    def fields(self, text: str) -> dict[str, str]:
        """Return the fields of a text that follows the pattern, {} where it does not."""
        match = self.expression.fullmatch(text) if len(text) <= LONGEST else None
        found = match.groupdict() if match else {}
        return {name: value for name, value in found.items() if not name.startswith("_")}


@dataclass(frozen=True, slots=True)
class Profile:
    """What one kind of label of a supplier carries."""

    name: str  # shown to people
    pattern: Pattern
    symbology: str = ""  # such as "Code128", see symbology.NAMES; empty: any
    item: str = ""  # our item's code, for whoever maps the reading

    def read(self, text: str, symbology: str = "") -> dict[str, str]:
        """Return the fields of a text of this label, {} where it is none."""
        if self.symbology and symbology and not same(self.symbology, symbology):
            return {}
        return self.pattern.fields(text)


def compile_pattern(source: str) -> Pattern:
    """Return the pattern. Raises CodeError bad_pattern, which says what was expected."""
    expression, position = "", 0
    names: list[str] = []
    for field in FIELD.finditer(source):
        expression += _literal(source[position : field.start()])
        name = field[1] if field[1] != "_" else f"_{len(names)}"
        names.append(name)
        expression += f"(?P<{name}>{_form(field[2])})"
        position = field.end()
    expression += _literal(source[position:])
    if not names or len(set(names)) != len(names):
        raise _bad("at least one field, each name once", source)
    if any(name not in FIELDS and not name.startswith("_") for name in names):
        raise _bad(f"fields out of {', '.join(FIELDS)}", source)
    if source.count("-") and sum("-" in piece[0] for piece in PIECE.finditer(source)) > RANGES:
        raise _bad(f"at most {RANGES} ranges", source)
    return Pattern(source, re.compile(expression))


def _literal(text: str) -> str:
    if "{" in text or "}" in text or not text.isascii() or (text and not text.isprintable()):
        raise _bad("fields such as {serial:d8} and plain text", text)
    return re.escape(text)


def _form(form: str) -> str:
    expression = ""
    for kind, least, most in PIECE.findall(form):
        low, high = int(least), int(most or least)
        if not 1 <= low <= high <= LONGEST:
            raise _bad(f"counts from 1 to {LONGEST}", form)
        expression += f"{CLASSES[kind]}{{{low},{high}}}"
    return expression


def _bad(expected: str, got: str) -> CodeError:
    return CodeError("bad_pattern", f"label pattern: expected {expected}, got {got!r}")
