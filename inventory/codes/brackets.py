"""Elements as people read them: `(01)09520123456788(21)SN0001`.

A bracket that is data is written `\\(`. Source: GS1 General Specifications 4.4 (brackets are
print for people, never part of a code); the escape as in the published vectors.
"""

import re

from inventory.codes import identifiers, value_checks
from inventory.codes.associations import Elements
from inventory.codes.errors import CodeError

HEAD = re.compile(r"\(([0-9]{2,4})\)")


def parse(text: str, *, strip: bool = False) -> Elements:
    """Return the elements; with `strip` blanks beside brackets go (typed by hand only).

    Raises CodeError bad_ai_syntax, unknown_ai, and the kinds of value_checks.
    """
    elements = []
    position = 0
    while position < len(text):
        head = HEAD.match(text, position)
        if head is None:
            got = text[position : position + 8]
            raise CodeError("bad_ai_syntax", f"expected 2 to 4 digits in brackets, got {got!r}")
        value, position = _value(text, head.end())
        value = value.strip(" ") if strip else value
        elements.append((head[1], value))
        _check(head[1], value)
    return tuple(elements)


def _value(text: str, start: int) -> tuple[str, int]:
    value = ""
    while start < len(text) and text[start] != "(":
        if text.startswith("\\(", start):
            start += 1
        value += text[start]
        start += 1
    return value, start


def _check(code: str, value: str) -> None:
    identifier = identifiers.table().get(code)
    if identifier is None:
        raise CodeError("unknown_ai", f"expected a GS1 identifier, got ({code})")
    if len(value) > identifier.most:
        value_checks.check_length(identifier, value)
    value_checks.check(identifier, value)
