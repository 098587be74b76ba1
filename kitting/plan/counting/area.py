"""Sheet material: width x height x (1 + waste) in mm2, rounded up once.

Source: geometry.
"""

from dataclasses import dataclass

from kitting.plan import linear
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class Area:
    """One rectangle per need."""

    item: str
    width: Linear
    """mm"""
    height: Linear
    """mm"""
    waste: int
    """Per cent added."""

    def items(self) -> tuple[str, ...]:
        """The sheet material."""
        return (self.item,)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The need's count times the rectangle, waste added, rounded up."""
        width, height = self.width.value(task.scope), self.height.value(task.scope)
        if width <= 0 or height <= 0:
            raise CannotCount(f"expected sides of 1 mm or more, got {width} mm x {height} mm")
        area = square_mm(task.demand.number, width, height, self.waste)
        words = f"{width} mm x ({self.height.words(task.scope)}) mm"
        if task.demand.number > 1:
            words = f"{task.demand.number} x {words}"
        if self.waste:
            words += f" x {100 + self.waste} / 100"
        return [Given(self.item, area, f"{words} = {area} mm2")]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Each side must be more than 0."""
        return [Threshold(self.width, 0), Threshold(self.height, 0)]


def square_mm(count: int, width: int, height: int, waste: int) -> int:
    """mm2 of `count` rectangles with waste in per cent, rounded up.

    >>> square_mm(2, 900, 1000, 10)
    1980000
    """
    return -(-count * width * height * (100 + waste) // 100)


def parse(table: Table, book: Book) -> Area:
    """item, width, height (figures in mm), waste in per cent."""
    return Area(
        table.text("item"),
        linear.parse(table, "width", book.names),
        linear.parse(table, "height", book.names),
        table.whole("waste", 0, 100, 0),
    )
