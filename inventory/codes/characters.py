"""The character sets of the standards, and the control characters inside codes.

Sources: GS1 General Specifications figures 7.11 (sets 82, 39, 64); ISO/IEC 15434 (GS, RS, EOT).
"""

GS = "\x1d"
"""Group separator: how the function character FNC1 arrives between two elements."""
RS = "\x1e"
EOT = "\x04"

DIGITS = frozenset("0123456789")
CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
ALNUM = "0123456789" + CAPITALS + CAPITALS.lower()

CSET82 = frozenset("!\"%&'()*+,-./" + "0123456789:;<=>?" + CAPITALS + "_" + CAPITALS.lower())
CSET39 = frozenset("#-/" + "0123456789" + CAPITALS)
CSET64 = frozenset("-_=" + ALNUM)


def is_digits(text: str) -> bool:
    """Whether the text is one or more ASCII digits (str.isdigit takes other scripts too)."""
    return bool(text) and text.isascii() and text.isdigit()


def first_outside(text: str, allowed: frozenset[str]) -> str:
    """Return the first character that is not allowed, or an empty text."""
    return next((char for char in text if char not in allowed), "")
