"""Whether somebody waits for what has just come: the upper house knows, this house asks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from inventory.models import Item

Asks = Callable[[Item, int, date], str]
_ASKED: list[Asks] = []


def register(asks: Asks) -> None:
    """Let `asks` say who waits, given item, base units that came and day; "" for nobody."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def words(item: Item, quantity: int, day: date) -> str:
    """Return a sentence to add to what the scanner reads, or nothing."""
    for asks in _ASKED:
        said = asks(item, quantity, day)
        if said:
            return f" {said}"
    return ""
