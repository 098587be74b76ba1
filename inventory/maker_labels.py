"""Labels of makers: how the plain text on things of an item looks, entered by a person or a file.

The pattern is data of the item (ItemCode with label_pattern); `inventory/codes/plain.py` reads it,
a web address like any other text: `https://example.com/p/{serial:n8}`. Nothing is ever fetched.
"""

from __future__ import annotations

from inventory.codes import symbology
from inventory.codes.errors import CodeError
from inventory.codes.plain import Profile, compile_pattern
from inventory.codes.reading import read
from inventory.models import Item, ItemCode, Tracking

SYMBOLS = tuple(sorted(symbology.NAMES.values()))
LONGEST = 120
WANTED = {Tracking.SERIAL: "serial", Tracking.LOT: "lot"}


def checked(item: Item | None, pattern: str, symbol: str, example: str) -> dict[str, str]:
    """Return what the pattern reads of an example (empty: nothing to read it on).

    Raises CodeError bad_pattern, bad_symbol, bad_example: each says what was expected.
    """
    if len(pattern) > LONGEST:
        raise CodeError("bad_pattern", f"expected at most {LONGEST} characters, got {len(pattern)}")
    compiled = compile_pattern(pattern)
    wanted = WANTED.get(Tracking(item.tracking)) if item else None
    if item and not wanted:
        words = f"expected an item followed by serial or by batch, got {item.code}"
        raise CodeError("bad_pattern", words)
    if wanted and f"{{{wanted}:" not in pattern:
        words = f"expected {{{wanted}:...}} in the pattern of {item}, got {pattern!r}"
        raise CodeError("bad_pattern", words)
    if symbol and symbol not in SYMBOLS:
        words = f"expected a kind of symbol out of {', '.join(SYMBOLS)}, got {symbol!r}"
        raise CodeError("bad_symbol", words)
    if not example:
        return {}
    found = Profile("", compiled, symbol).read(example)
    if not found:
        words = f"expected a text that follows {pattern}, got {example[:60]!r}"
        raise CodeError("bad_example", words)
    if read(example, "symbol").readings:
        words = f"expected a text of no known scheme, got {example[:60]!r}, which is read already"
        raise CodeError("bad_example", words)
    return found


def taken(pattern: str) -> ItemCode | None:
    """Return what has the pattern's text already, a label or another code."""
    return ItemCode.objects.filter(key=pattern).select_related("item").first()
