"""The symbology identifier that a reader may put before the data: `]C1`, `]d2`, `]E0`...

Source: ISO/IEC 15424 by GS1 General Specifications 5.1.3 and figure 7.8 (the GS1 ones); the
letters of other symbologies from memory.
"""

from dataclasses import dataclass
from enum import Enum

from inventory.codes.errors import CodeError


class Carrier(Enum):
    """What kind of content a symbol may carry."""

    ELEMENTS = "GS1 element strings and nothing else"
    ARTICLE = "an EAN/UPC number of 13 digits"
    ARTICLE_8 = "an EAN number of 8 digits"
    ITF = "pairs of digits"
    PLAIN = "anything but GS1 element strings"
    UNKNOWN = "no identifier came: anything"


GS1 = {"]C1", "]e0", "]e1", "]e2", "]d2", "]d5", "]Q3", "]Q4", "]J1", "]J4"}
PLAIN_LETTERS = "ACFGLQUdfgzoJTOM"
"""Code 39, 128, Codabar, 93, PDF417, QR, MaxiCode, Data Matrix... with a digit or letter."""


NAMES = {
    "A": "Code39",
    "C": "Code128",
    "E": "EAN13",
    "I": "ITF",
    "L": "PDF417",
    "Q": "QR",
    "d": "DataMatrix",
    "z": "Aztec",
}
"""Kinds of symbol by the letter of the identifier; the words are those of decoded pictures."""


def name(identifier: str) -> str:
    """Return the kind of symbol that an identifier such as `]C0` tells, or an empty text."""
    return NAMES.get(identifier[1:2], "")


def same(one: str, other: str) -> bool:
    """Whether two names mean the same kind of symbol: `Code 128` is Code128."""
    return one.replace(" ", "").lower() == other.replace(" ", "").lower()


@dataclass(frozen=True, slots=True)
class Scan:
    """A text split from its symbology identifier."""

    identifier: str  # such as "]C1", or empty
    carrier: Carrier
    text: str  # the data


def parse(text: str) -> Scan:
    """Return the scan. Raises CodeError unknown_symbology_id."""
    if not text.startswith("]"):
        return Scan("", Carrier.UNKNOWN, text)
    identifier, data = text[:3], text[3:]
    if identifier in GS1:
        return Scan(identifier, Carrier.ELEMENTS, data)
    if identifier in ("]E0", "]E3"):
        return Scan(identifier, Carrier.ARTICLE, data)
    if identifier == "]E4":
        return Scan(identifier, Carrier.ARTICLE_8, data)
    if identifier[:2] == "]I" and identifier[2:].isdigit():
        return Scan(identifier, Carrier.ITF, data)
    if identifier[1:2] in PLAIN_LETTERS and identifier[2:].isalnum() and identifier.isascii():
        return Scan(identifier, Carrier.PLAIN, data)
    raise CodeError("unknown_symbology_id", f"expected a symbology identifier, got {identifier!r}")
