"""A bus has two ends and each carries one terminator: two per bus less those inside a unit.

Source: ISO 11898-2 (a terminating resistor at both ends of the line and none elsewhere); TIA-485
likewise.
"""

from dataclasses import dataclass
from typing import Final

from kitting.plan.given import Book, Given, Task, Threshold
from kitting.plan.reading import Table

ENDS: Final = 2


@dataclass(frozen=True, slots=True)
class BusEnds:
    """The plug and how many ends need none."""

    plug: str
    built_in: int
    """Ends inside units, per bus: 0, 1 or 2."""

    def items(self) -> tuple[str, ...]:
        """The plug."""
        return (self.plug,)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """Two per bus less the built-in ones."""
        open_ends = plugs(self.built_in)
        words = f"{ENDS} ends - {self.built_in} built in = {open_ends}"
        buses = task.demand.number // ENDS
        if buses > 1:
            words = f"{buses} buses x ({ENDS} ends - {self.built_in} built in)"
            words += f" = {buses * open_ends}"
        return [Given(self.plug, buses * open_ends, words)] if open_ends else []

    def thresholds(self, book: Book) -> list[Threshold]:
        """It is the same everywhere."""
        return []


def plugs(built_in: int) -> int:
    """Terminators to bring for one bus.

    >>> plugs(0), plugs(1), plugs(2)
    (2, 1, 0)
    """
    return max(0, ENDS - built_in)


def parse(table: Table, book: Book) -> BusEnds:
    """plug = "term", built_in = 0, 1 or 2."""
    return BusEnds(table.text("plug"), table.whole("built_in", 0, ENDS))
