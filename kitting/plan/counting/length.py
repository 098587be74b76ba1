"""One piece per run: a run of 7 m is one piece of 7 m, never a sum.

Source: common practice, no published source.
"""

from dataclasses import dataclass
from typing import Final

from kitting.plan.given import Book, Given, Task, Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

CARRIED: Final = Linear(0, (("length", 1),))
"""The length a run carries, as a figure."""


@dataclass(frozen=True, slots=True)
class Length:
    """The item and what is added for its ends."""

    item: str
    allowance: int
    """mm added to each run."""

    def items(self) -> tuple[str, ...]:
        """The item."""
        return (self.item,)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """One piece for each of the need's count."""
        return [one_piece(self.item, task, self.allowance)]

    def thresholds(self, book: Book) -> list[Threshold]:
        """A piece must be longer than nothing."""
        return [Threshold(CARRIED, -self.allowance)]


def one_piece(item: str, task: Task, allowance: int, each: int = 1) -> Given:
    """The run's length and its allowance, in one piece; `each` pieces for each run."""
    run, number = task.scope.number("length"), task.demand.number * each
    piece = run + allowance
    words = f"{run} mm + {allowance} mm for the ends = {piece} mm" if allowance else f"{run} mm"
    words += ", in one piece"
    if number > 1:
        words += f"; {number} x {piece} = {number * piece}"
    return Given(item, number * piece, words, (piece,) * number)


def parse(table: Table, book: Book) -> Length:
    """item, allowance in mm."""
    item = table.text("item")
    if item in book.items and book.items[item].unit != "mm":
        table.fault("item", f"expected an item in mm, got {item!r} in {book.items[item].unit}")
    return Length(item, table.whole("allowance", default=0))
