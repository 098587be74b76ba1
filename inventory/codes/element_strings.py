"""GS1 element strings: `010952012345678821SN0001` -> (("01", "09520123456788"), ("21", "SN0001")).

Source: GS1 General Specifications 7.8 (separators, predefined lengths).

>>> parse("010952012345678821SN0001")
(('01', '09520123456788'), ('21', 'SN0001'))
"""

from inventory.codes import identifiers, value_checks
from inventory.codes.associations import Elements
from inventory.codes.characters import GS
from inventory.codes.errors import CodeError


def parse(text: str) -> Elements:
    """Return the elements of a text with GS as separator; pairing is not judged here.

    A separator after a predefined length and one at the end are tolerated, a doubled one is not.
    Raises CodeError with the kinds of the vectors (unknown_ai, too_long, check_digit...).
    """
    if not text:
        raise CodeError("empty_data", "expected elements, got nothing")
    elements = []
    position = 0
    while position < len(text):
        identifier = identifiers.at(text, position)
        if identifier is None:
            got = text[position : position + 4]
            raise CodeError("unknown_ai", f"expected a GS1 identifier, got {got!r}")
        value, position = value_at(text, position, identifier)
        value_checks.check(identifier, value)
        elements.append((identifier.code, value))
        if text[position : position + 1] == GS:
            position += 1
    return tuple(elements)


def value_at(text: str, start: int, identifier: identifiers.Identifier) -> tuple[str, int]:
    """Return the value behind an identifier at `start`, and where it ends; not yet checked."""
    start += len(identifier.code)
    end = text.find(GS, start)
    end = len(text) if end < 0 else end
    if identifier.fixed:
        end = min(end, start + identifier.most)
    return text[start:end], end


def is_fixed(code: str) -> bool:
    """Whether no separator is needed after this identifier's value."""
    return identifiers.table()[code].fixed


def write(elements: Elements) -> str:
    """Return the element string of pairs, GS where the standard demands a separator."""
    text = ""
    for i, (code, value) in enumerate(elements):
        last = i == len(elements) - 1
        text += code + value + ("" if last or is_fixed(code) else GS)
    return text
