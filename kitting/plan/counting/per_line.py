"""So many per other line: per started stretch of it, each step on its own, at any depth.

Source: common practice, no published source. What it counts is settled first; a circle is refused.
"""

from dataclasses import dataclass

from kitting.plan.given import Book, Given, Task, Threshold, joined, times
from kitting.plan.given import quantity as said
from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class PerLine:
    """Items counted by the lines of others."""

    per: tuple[str, ...]
    """Items whose lines are counted."""
    every: int
    """Base units of a line: each started stretch counts once."""
    gives: tuple[tuple[str, int], ...]
    own_step: bool
    """The rule names a step; else each counted line's step is taken."""

    def items(self) -> tuple[str, ...]:
        """Every item it may give."""
        return tuple(item for item, _ in self.gives)

    def counted(self) -> tuple[str, ...]:
        """The items whose lines it counts."""
        return self.per

    def count(self, task: Task) -> list[Given]:
        """Started stretches of each counted line times k; none where there is no such line."""
        given = []
        for item in self.per:
            name, unit = task.book.items[item].name, task.book.items[item].unit
            for step, quantity in task.lines(item):
                number = -(-quantity // self.every)
                words = f"{said(quantity, unit)} {name}"
                if self.every > 1:
                    parts = f"{said(quantity, unit)} / {said(self.every, unit)}"
                    words = f"{parts} of {name}, rounded up = {number}"
                at = "" if self.own_step else step
                for code, each in self.gives:
                    product = times(number, each, task.book.items[code].name)
                    given.append(Given(code, number * each, joined(words, product), step=at))
        return given

    def thresholds(self, book: Book) -> list[Threshold]:
        """Its outcome changes in number only."""
        return []


def parse(table: Table, book: Book) -> PerLine:
    """per = ["cable"], gives = { tie = 1 }, optional every."""
    per = table.texts("per")
    for item in per:
        if item not in book.items:
            table.unknown("per", item, book.items)
    every = table.whole("every", 1, default=1)
    return PerLine(per, every, tuple(table.counts("gives").items()), table.has("step"))
