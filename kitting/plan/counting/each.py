"""k pieces for each need, or for each started stretch of a figure.

Source: common practice, no published source.
"""

from dataclasses import dataclass

from kitting.plan import linear
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold, joined, times
from kitting.plan.linear import Linear
from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class Each:
    """Items with their number per need."""

    gives: tuple[tuple[str, int], ...]
    per: Linear | None
    """Counted instead of the need; None = the need's own count."""
    every: int
    """Of `per`: each started stretch counts once."""

    def items(self) -> tuple[str, ...]:
        """Every item it may give."""
        return tuple(item for item, _ in self.gives)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The need's count, or the started stretches of the figure, times k."""
        number, words = task.demand.number, ""
        if self.per is not None:
            figure = self.per.value(task.scope)
            if figure < 0:
                raise CannotCount(f"expected a count of 0 or more, got {figure}")
            number = -(-figure // self.every)
            words = f"{self.per.words(task.scope)} = {figure}" if self.per.fixed else str(figure)
            if self.every > 1:
                words = f"{words} / {self.every}, rounded up = {number}"
        items = task.book.items
        return [
            Given(item, number * each, joined(words, times(number, each, items[item].name)))
            for item, each in self.gives
            if number > 0
        ]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Nothing is given up to 0, and below it nothing can be counted."""
        return [Threshold(self.per, 0)] if self.per is not None else []


def parse(table: Table, book: Book) -> Each:
    """gives = { bolt = 4 }, optional per (a figure) and every."""
    per = linear.parse(table, "per", book.names) if table.has("per") else None
    every = table.whole("every", 1, default=1)
    if every > 1 and per is None:
        table.fault("per", "expected a figure to divide by every, got nothing")
    return Each(tuple(table.counts("gives").items()), per, every)
