"""Texts that a spreadsheet would take for a formula: how they go out in CSV and come back exactly.

OWASP "CSV injection" names = + - @ tab CR LF; blanks and signs that are not seen may stand before,
wide forms count as their plain ones. An apostrophe in front makes any of them a text. A spreadsheet
file (.xlsx) says of each cell that it is a text and needs none.
"""

from __future__ import annotations

import unicodedata

STARTS = "=+-@|;"
UNSEEN = {"Cc", "Cf", "Zs", "Zl", "Zp"}  # controls, zero-width signs, blanks


def formula(text: str) -> bool:
    r"""Whether a spreadsheet might run a text, or a program between.

    >>> [formula(text) for text in ("=1+1", " \u200b\uff1d1", "\tx", "'=1", "007", "MOD-1")]
    [True, True, True, True, False, False]
    """
    start = text[: lead(text)]
    rest = text[len(start) :]
    return any(char < " " for char in start) or (
        rest != "" and unicodedata.normalize("NFKC", rest[0])[0] in STARTS
    )


def lead(text: str) -> int:
    """Return how many apostrophes, blanks and unseen signs a text begins with."""
    place = 0
    while place < len(text) and (
        text[place] in "'\"" or unicodedata.category(text[place]) in UNSEEN
    ):
        place += 1
    return place


def escaped(text: str) -> str:
    """Return a text as a cell of a CSV file that no spreadsheet runs."""
    return f"'{text}" if formula(text) else text


def unescaped(cell: str) -> str:
    """Return the text that `escaped` was given: exactly, since an apostrophe changes no answer."""
    return cell[1:] if cell.startswith("'") and formula(cell[1:]) else cell
