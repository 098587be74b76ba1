"""A bus has two ends and each carries one terminator: two per bus less those inside a unit.

Source: ISO 11898-2 (a terminating resistor at both ends of the line and none elsewhere); TIA-485
likewise. Whether a unit has an end inside, and whether it is switched, says the unit's own sheet.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.reading import Table

ENDS: Final = 2


@dataclass(frozen=True, slots=True)
class Inside:
    """How many ends are inside units, per bus: 0, 1 or 2."""

    by: str
    """Name whose answer decides, as the revision of the head; empty where it is always `always`."""
    always: int
    figures: Mapping[str, int]
    """Answer -> ends."""

    def number(self, task: Task) -> int:
        """The ends inside, for one need. Raises CannotCount, UnknownInput."""
        if not self.by:
            return self.always
        answer = str(task.scope.read(self.by))
        if answer not in self.figures:
            known = ", ".join(self.figures)
            raise CannotCount(f"ends built in are known for {self.by} {known}, not for {answer}")
        return self.figures[answer]


@dataclass(frozen=True, slots=True)
class BusEnds:
    """The plug and how many ends need none."""

    plug: str
    built_in: Inside
    switchable: int
    """Of the ends inside: those a person must switch on."""
    inside: str
    """What they are inside, as "the head"."""

    def items(self) -> tuple[str, ...]:
        """The plug."""
        return (self.plug,)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """Two per bus less the built-in ones."""
        built_in = self.built_in.number(task)
        open_ends = plugs(built_in)
        by = (
            f" ({self.built_in.by} {task.scope.read(self.built_in.by)})" if self.built_in.by else ""
        )
        words = f"{ENDS} ends - {built_in} built in{by} = {open_ends}"
        buses = task.demand.number // ENDS
        if buses > 1:
            words = f"{buses} buses x ({ENDS} ends - {built_in} built in{by})"
            words += f" = {buses * open_ends}"
        return [Given(self.plug, buses * open_ends, words)] if open_ends else []

    def tells(self, task: Task) -> list[str]:
        """To switch on the ends inside that have a switch."""
        number = min(self.switchable, self.built_in.number(task))
        if not number:
            return []
        ends = "the bus end" if number == 1 else "both bus ends"
        return [f"Switch on {ends} inside {self.inside}; every other one stays off."]

    def thresholds(self, book: Book) -> list[Threshold]:
        """It changes with an answer only."""
        return []


def plugs(built_in: int) -> int:
    """Terminators to bring for one bus.

    >>> plugs(0), plugs(1), plugs(2)
    (2, 1, 0)
    """
    return max(0, ENDS - built_in)


def parse(table: Table, book: Book) -> BusEnds:
    """plug = "term", built_in = 0, 1, 2 or { by = "head_rev", A = 0 }; switchable, inside."""
    plug, built_in = table.text("plug"), _built_in(table, book)
    most = max([built_in.always, *built_in.figures.values()])
    switchable = table.whole("switchable", 0, most, 0)
    return BusEnds(plug, built_in, switchable, table.text("inside") if switchable else "")


def _built_in(table: Table, book: Book) -> Inside:
    if not isinstance(table.data.get("built_in"), dict):
        return Inside("", table.whole("built_in", 0, ENDS), {})
    inner = table.inner("built_in")
    assert inner is not None
    by = inner.text("by", among=sorted(book.names))
    figures = {answer: inner.whole(answer, 0, ENDS) for answer in inner.data if answer != "by"}
    if not figures:
        table.fault("built_in", "expected a figure for each answer, got none")
    return Inside(by, 0, figures)
