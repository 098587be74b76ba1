"""Our own labels: ten capitals and digits, such as `LBU0000077`.

Form: `LB`, one letter for the kind of thing, six characters of number, one check character. All
from 33 characters: digits and capitals without I, O and Q, so that nothing looks like 0 or 1.

The check is a pure system in the manner of ISO/IEC 7064 with modulus 33 and radix 2: the sum of
values times 2^position (from the right, check character at 0) is a multiple of 33. 2^i and
2^(i+1) - 2^i share no divisor with 33, so every single wrong character and every swap of two
neighbours is caught. The test proves it by trying them all.

A label never starts with 99: python-barcode drops a leading 99 of a Code 128 text
(Source: WhyNotHugo/python-barcode issue 251).

>>> make("unit", 7)
'LBU0000077'
>>> parse("lbu0000077")
Own(kind='unit', number=7, text='LBU0000077')
"""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.codes.errors import CodeError

ALPHABET = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
PREFIX = "LB"
LENGTH = 10
BODY = 6

KINDS = {
    "unit": "U",
    "carton": "C",
    "place": "B",  # a bin, bay, dock: anywhere that stays
    "parcel": "P",
    "bag": "G",
    "kit": "K",
    "van": "V",
    "person": "N",  # a badge
    "lot": "L",
    "item": "T",
    "return": "R",
    "command": "X",  # a line of the wall sheet
}
LETTERS = {letter: kind for kind, letter in KINDS.items()}

MOST = len(ALPHABET) ** BODY - 1
"""Largest number of a kind: 1,291,467,968."""


@dataclass(frozen=True, slots=True)
class Own:
    """One of our labels."""

    kind: str  # one of KINDS
    number: int  # 0 to MOST, counted within its kind
    text: str  # as printed: LENGTH characters of ALPHABET


def make(kind: str, number: int) -> str:
    """Return the text of a label, e.g. `LBU0000077`. Raises CodeError (own_kind, own_number)."""
    if kind not in KINDS:
        raise CodeError("own_kind", f"expected a kind out of {', '.join(KINDS)}, got {kind!r}")
    if not 0 <= number <= MOST:
        raise CodeError("own_number", f"expected a number from 0 to {MOST}, got {number}")
    body = ""
    for _ in range(BODY):
        number, digit = divmod(number, len(ALPHABET))
        body = ALPHABET[digit] + body
    stem = PREFIX + KINDS[kind] + body
    return stem + check_character(stem)


def make_next(kind: str, taken: Iterable[str]) -> str:
    """Return the label after the first of these texts that is a label; give the highest first.

    A supplier's code may begin as ours do and sort above them.

    >>> make_next("unit", ["LBUPPER", make("unit", 8), make("unit", 7)]) == make("unit", 9)
    True
    """
    last = next((parse(text).number for text in taken if is_valid(text)), 0)
    return make(kind, last + 1)


def check_character(stem: str) -> str:
    """Return the check character of a text without one."""
    weighted = sum(ALPHABET.index(char) << (i + 1) for i, char in enumerate(reversed(stem)))
    return ALPHABET[-weighted % len(ALPHABET)]


def looks_own(text: str) -> bool:
    """Whether the text has our prefix, a kind and about our length; folded, not checked."""
    folded = text.upper()
    starts = folded.startswith(PREFIX) and folded[len(PREFIX) : len(PREFIX) + 1] in LETTERS
    return starts and folded.isalnum() and abs(len(folded) - LENGTH) <= 1


def parse(text: str) -> Own:
    """Return the label that a text is; lower case is folded. Raises CodeError, one kind."""
    folded = text.upper()
    if len(folded) != LENGTH or folded[:2] != PREFIX or folded[2:3] not in LETTERS:
        raise _refusal(f"expected {LENGTH} characters that start with {PREFIX}", text)
    if strange := set(folded) - set(ALPHABET):
        raise _refusal("expected digits and capitals without I, O, Q", "".join(sorted(strange)))
    if folded[-1] != check_character(folded[:-1]):
        raise _refusal("expected a label whose last character checks the others", text)
    number = 0
    for char in folded[3:-1]:
        number = number * len(ALPHABET) + ALPHABET.index(char)
    return Own(LETTERS[folded[2]], number, folded)


def is_valid(text: str) -> bool:
    """Whether `parse` takes the text."""
    try:
        parse(text)
    except CodeError:
        return False
    return True


def _refusal(expected: str, got: str) -> CodeError:
    return CodeError("check_or_length_fails", f"{expected}, got {got!r}")
