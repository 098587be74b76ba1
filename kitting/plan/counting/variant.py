"""Handed, coloured or sized variants of one thing: exactly one of the listed items is the one.

Source: common practice, no published source: covers come left and right, in the colour ordered and
in heights; two that both match are a fault of the list, not a choice.
"""

from dataclasses import dataclass
from typing import Final

from kitting.plan import linear
from kitting.plan.counting.fit import holds
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold, joined, measured, times
from kitting.plan.items import FamilyItem
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

MARKS: Final = ("hand", "colour")


@dataclass(frozen=True, slots=True)
class Variant:
    """What tells the variants apart."""

    choose: tuple[str, ...]
    by: tuple[tuple[str, str], ...]
    """(mark of the items, name whose answer it must equal)"""
    measure: str
    """The key of the items' `fits`; empty where none is asked."""
    value: Linear
    each: int
    """Pieces per need."""

    def items(self) -> tuple[str, ...]:
        """Every variant."""
        return self.choose

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The one variant that matches, for each need."""
        wanted = [(mark, str(task.scope.read(name))) for mark, name in self.by]
        said = [f"{mark} {value}" for mark, value in wanted]
        value = self.value.value(task.scope) if self.measure else 0
        if self.measure:
            said.append(f"{self.measure} {measured(self.measure, value)}")
        listed = [task.book.items[code] for code in self.choose]
        found = [item for item in listed if self._matches(item, wanted, value)]
        if len(found) != 1:
            raise CannotCount(_not_one(found, listed, " and ".join(said)))
        product = times(task.demand.number, self.each, found[0].name)
        words = joined(f"{' and '.join(said)}: {found[0].name}", product)
        return [Given(found[0].code, task.demand.number * self.each, words)]

    def _matches(self, item: FamilyItem, wanted: list[tuple[str, str]], value: int) -> bool:
        marked = all(getattr(item, mark) == answer for mark, answer in wanted)
        return marked and (not self.measure or holds(item, self.measure, value))

    def thresholds(self, book: Book) -> list[Threshold]:
        """Both ends of every range, where a measure is asked."""
        known = [book.items[code] for code in self.choose if code in book.items]
        ends = {end for item in known for end in item.fits.get(self.measure, ())}
        return [Threshold(self.value, end) for end in sorted(ends)]


def _not_one(found: list[FamilyItem], listed: list[FamilyItem], said: str) -> str:
    if found:
        return f"{' and '.join(item.name for item in found)} both have {said}"
    return f"none of {', '.join(item.name for item in listed)} has {said}"


def parse(table: Table, book: Book) -> Variant:
    """choose, by = { hand = "entry_side" } or a measure (or both), optional value and each."""
    choose, by = table.texts("choose"), _by(table, book)
    measure = table.text("measure", "")
    if not by and not measure:
        table.fault("by", "expected what tells the variants apart, got nothing")
    for code in choose:
        item = book.items.get(code)
        for mark, _ in by if item is not None else ():
            if not getattr(item, mark):
                table.fault("choose", f"expected items with a {mark}, got {code!r}")
        if item is not None and measure and measure not in item.fits:
            table.fault("choose", f"expected items with fits.{measure}, got {code!r}")
    value = Linear(0)
    if measure:
        if not table.has("value") and measure not in book.names:
            table.fault("measure", f"expected a known name or a value beside it, got {measure!r}")
        value = linear.parse(table, "value", book.names, Linear(0, ((measure, 1),)))
    return Variant(choose, by, measure, value, table.whole("each", 1, 1000, 1))


def _by(table: Table, book: Book) -> tuple[tuple[str, str], ...]:
    inner = table.inner("by")
    if inner is None:
        return ()
    found = []
    for mark in inner.data:
        if mark in MARKS:
            found.append((mark, inner.text(mark, among=sorted(book.names))))
        else:
            inner.fault(mark, f"expected one of {', '.join(MARKS)}, got {mark!r}")
    return tuple(found)
