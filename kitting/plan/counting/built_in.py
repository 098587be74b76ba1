"""Nothing to bring: the unit has it, or nothing is wanted here, and the kit says why.

Source: the family's own sheet, given as `why`.
"""

from dataclasses import dataclass

from kitting.plan.given import Book, Given, Task, Threshold
from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class BuiltIn:
    """A need that takes no line."""

    why: str

    def items(self) -> tuple[str, ...]:
        """It gives nothing."""
        return ()

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """Nothing, and that is an answer."""
        return []

    def thresholds(self, book: Book) -> list[Threshold]:
        """It is the same everywhere."""
        return []


def parse(table: Table, book: Book) -> BuiltIn:
    """why = "a sentence"."""
    return BuiltIn(table.text("why"))
