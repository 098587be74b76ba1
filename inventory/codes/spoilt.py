"""What spreadsheets do to serials, and how it shows: the one place that says so.

A text alone may show it (`spoilt`), or a text among the others of its kind (`lost_zeros`,
`cut_digits`). Common practice, no source; a spreadsheet keeps 15 digits of a number (IEEE 754).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

POWER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?E\+[0-9]+|[+-]?[0-9]+[.,][0-9]+E-?[0-9]+", re.I)
TAIL = re.compile(r"[0-9]+[.,](?:0+|[0-9]*(?:0{5,}|9{5,})[0-9]{0,2})")
GROUPED = re.compile(r"[0-9]{1,3}(?:,[0-9]{3}){2,}")
ERROR = re.compile(r"#(?:REF|N/A|VALUE|NAME\?|NUM|DIV/0|NULL|#+)!?.*", re.I)
KEPT = 15  # digits of a number
FEW = 5  # serials of an item from which on their lengths say something
MOST_OF = 0.9  # of them have one length
ASKED = 3  # zeros in all that are asked about


def spoilt(serial: str) -> str:
    """Return what a spreadsheet made of a serial, in words; "" where nothing shows."""
    if POWER.fullmatch(serial) or TAIL.fullmatch(serial) or GROUPED.fullmatch(serial):
        return "a number"
    return "an error of a formula" if ERROR.fullmatch(serial) else ""


def lost_zeros(serials: Sequence[str]) -> dict[str, int]:
    """Return the digits-only serials that are shorter than nearly all others -> their length."""
    digits = [serial for serial in serials if serial.isascii() and serial.isdigit()]
    lengths = Counter(map(len, digits))
    usual, count = lengths.most_common(1)[0] if lengths else (0, 0)
    if count < FEW or count < MOST_OF * len(digits):
        return {}
    return {serial: usual for serial in digits if len(serial) < usual}


def cut_digits(serials: Sequence[str]) -> set[str]:
    """Return digits-only serials beyond 15 digits if all of them end in zeros from there on.

    One that does not shows that the others' zeros are their own; three zeros in all are asked.
    """
    tails = {s: s[KEPT:] for s in serials if s.isascii() and s.isdigit() and len(s) > KEPT}
    cut = all(set(tail) == {"0"} for tail in tails.values())
    return set(tails) if cut and sum(map(len, tails.values())) >= ASKED else set()
