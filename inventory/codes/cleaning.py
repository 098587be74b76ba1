"""What a way of arriving puts around a text, and how separators are spelled.

Sources: axenox/onscan.js issues 15, 18, 40; namshi/keyscannerjs PR 1 (ends); Sleavely/Bark-JS
PR 14, jodal/biip issue 253 (spellings of the group separator).
"""

import re

from inventory.codes.characters import ALNUM, CSET82, GS

VIAS = ("keys", "paired", "symbol", "hand")
"""A hand scanner that types; one whose keys and separators were learnt; the data of a decoded
symbol; a person's typing."""

SCANNERS = ("keys", "paired")

LEADING = re.compile("^[\x00-\x1f]+")
TRAILING = re.compile("[\r\n\t]+$")
BETWEEN = re.compile("\r\n|\r|\t")
"""What ends a scan. A line feed alone inside a text is data, and data it may not be."""

TOKENS = ("{GS}", "<GS>", "\u241d")


def strip(text: str, via: str) -> str:
    """Return the text without what a scanner (keys) or a person (hand) adds at the ends."""
    if via in SCANNERS:
        return TRAILING.sub("", LEADING.sub("", text))
    if via == "hand":
        return text.strip(" \t\r\n\xa0")
    return text


def scans(text: str, via: str) -> list[str]:
    """Return the scans that came as one burst of keys: one or more."""
    parts = [part for part in BETWEEN.split(text) if part] if via in SCANNERS else []
    return parts or [text]


def with_separators(text: str, configured: str) -> tuple[str, tuple[str, ...]]:
    """Return the text with GS for every known spelling of it, and warnings.

    `configured` is what a paired device sends for GS: one character that is no letter or digit.
    """
    warnings = []
    if len(configured) == 1 and configured not in ALNUM and configured != GS:
        if configured in CSET82 and configured in text:
            warnings.append("separator_may_be_data")
        text = text.replace(configured, GS)
    for token in TOKENS:
        if token in text:
            text = text.replace(token, GS)
            warnings.append("text_token_replaced")
    return text, tuple(dict.fromkeys(warnings))
