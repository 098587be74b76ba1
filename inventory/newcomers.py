"""What is met for the first time, or named only now, is looked at before the answer is given.

Registered, because acts know the intake and the intake calls this.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from inventory.models import Lot, Unit
from inventory.unseen import Unseen

if TYPE_CHECKING:
    from inventory.moving import Writing

New = Unit | Lot | Unseen
Asks = Callable[["Writing", Sequence[New]], tuple[bool, str]]
_ASKED: list[Asks] = []


def register(asks: Asks) -> None:
    """Let `asks` look at new things: returns whether one was set aside, and a sentence or ""."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def met(writes: Writing, things: Sequence[New]) -> tuple[bool, str]:
    """Return whether one of these was set aside as it came, and what to say of them."""
    found = [asks(writes, things) for asks in _ASKED]
    return any(stopped for stopped, _ in found), " ".join(words for _, words in found if words)
