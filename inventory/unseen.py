"""What stands somewhere and whose serial nobody has read: the upper house knows of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from inventory.models import Place


@dataclass(frozen=True, slots=True)
class Unseen:
    """A thing that stands somewhere and whose serial nobody has read."""

    item_id: int
    place: Place
    words: str  # "stack 1, place 2"
    batch: str = ""  # normal form, as a file says; "" if nobody knows it
    made_on: date | None = None  # as a file says

    def __str__(self) -> str:
        return f"What nobody has seen at {self.words} of {self.place}"


Source = Callable[[], Iterable[Unseen]]
_SOURCES: list[Source] = []


def register(source: Source) -> None:
    """Let the upper house tell what stands somewhere unseen."""
    if source not in _SOURCES:
        _SOURCES.append(source)


def everywhere() -> Iterator[Unseen]:
    """Return all that stands unseen."""
    return (one for source in _SOURCES for one in source())
