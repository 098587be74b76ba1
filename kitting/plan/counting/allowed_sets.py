"""Leads of fixed length, of which only certain sets may be chained: the shortest set that reaches.
None reaches -> said so; the longest are named and never taken.

Source: the family's own sheet; that only listed sets may be chained is common practice, no
published source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kitting.plan import linear
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.items import Raise, couples
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

Set = tuple[int, tuple[str, ...]]
"""(mm of the whole set, its items)"""
NEAREST: Final = 3
"""Sets that are named where none reaches."""


@dataclass(frozen=True, slots=True)
class AllowedSets:
    """The sets, shortest first."""

    path: Linear
    """mm to be spanned"""
    sets: tuple[Set, ...]
    """By length, then by fewest pieces."""
    couples: tuple[Raise, ...]
    """What each piece after the first raises."""

    def items(self) -> tuple[str, ...]:
        """Every item of every set."""
        return tuple(dict.fromkeys(item for _, items in self.sets for item in items))

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The first set not shorter than the path, for each of the need's count."""
        path, number = self.path.value(task.scope), task.demand.number
        for length, items in self.reaching(path)[:1]:
            return [self._given(item, items, path, length, number) for item in set_of(items)]
        near = "; ".join(_told(length, items, task.book) for length, items in nearest(self.sets))
        raise CannotCount(f"no allowed set reaches {path} mm; nearest, not taken: {near}")

    def reaching(self, path: int) -> tuple[Set, ...]:
        """Every set that is not shorter than a path in mm; the first is the one that is taken."""
        return tuple(found for found in self.sets if found[0] >= path)

    def _given(
        self, item: str, items: tuple[str, ...], path: int, length: int, number: int
    ) -> Given:
        each = items.count(item)
        words = f"a way of {path} mm takes the set of {length} mm, {each} in it; {number} x {each}"
        joints = (len(items) - 1) * number if item == items[0] else 0
        raises = tuple(Raise(r.need, r.of, r.count * joints) for r in self.couples if joints)
        return Given(item, number * each, f"{words} = {number * each}", raises=raises)

    def thresholds(self, book: Book) -> list[Threshold]:
        """The length of every set."""
        return [Threshold(self.path, length) for length, _ in self.sets]


def nearest(sets: Sequence[Set]) -> list[Set]:
    """Of sets by length and then by pieces: the longest ones, each length by its fewest pieces.

    >>> nearest([(1, ("a",)), (2, ("b",)), (2, ("a", "a")), (3, ("c",)), (4, ("b", "b"))])
    [(4, ('b', 'b')), (3, ('c',)), (2, ('b',))]
    """
    shortest: dict[int, Set] = {}
    for length, items in sets:
        shortest.setdefault(length, (length, items))
    return list(reversed(shortest.values()))[:NEAREST]


def _told(length: int, items: tuple[str, ...], book: Book) -> str:
    each = (f"{items.count(item)} x {book.items[item].name}" for item in set_of(items))
    return f"{length} mm by {' + '.join(each)}"


def set_of(items: tuple[str, ...]) -> tuple[str, ...]:
    """Each item of a set once, in order."""
    return tuple(dict.fromkeys(items))


def parse(table: Table, book: Book) -> AllowedSets:
    """path (a figure), sets = [["a"], ["b", "b"]], lengths = { a = 1500 }, optional couples."""
    lengths = table.counts("lengths")
    listed = table.take("sets", "a list of lists of items")
    sets = []
    for row in listed if isinstance(listed, list) else []:
        if not isinstance(row, list) or not row or any(item not in lengths for item in row):
            table.fault("sets", f"expected items that have a length, got {row!r}")
            continue
        sets.append((sum(lengths[item] for item in row), tuple(row)))
    if not sets:
        table.fault("sets", "expected at least one set, got none")
    sets.sort(key=lambda found: (found[0], len(found[1])))
    path = linear.parse(table, "path", book.names)
    return AllowedSets(path, tuple(sets), couples(table))
