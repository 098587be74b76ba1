"""By dimension: the item whose range holds the measure. Nothing fits -> said so; the nearest are
named and never taken.

Glands by the cable's diameter, with reducers and enlargers as the rules for "fit in hole" say;
ready-made leads by the length of the path; drill bits by the depth of the hole; ferrules and lugs
by the core.

Source: pick rule least <= measure <= most; clamp ranges belong to each purchased part (EN 62444
fixes none).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kitting.plan import linear
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold, joined, measured, times
from kitting.plan.items import FamilyItem
from kitting.plan.linear import Linear
from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class Fit:
    """What is measured and what may be chosen."""

    measure: str
    """The key of the items' `fits`."""
    value: Linear
    choose: tuple[str, ...]
    each: int
    """Pieces per need."""

    def items(self) -> tuple[str, ...]:
        """Every item that may be chosen."""
        return self.choose

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The best item that fits, for each need."""
        value = self.value.value(task.scope)
        hole = str(task.demand.measures.get("hole", ""))
        items = [task.book.items[code] for code in self.choose]
        fitting = [item for item in items if holds(item, self.measure, value)]
        seated = [item for item in fitting if seats(item, hole, task.book)]
        if not seated:
            raise CannotCount(_nothing(self.measure, value, items, fitting, hole))
        best = min(seated, key=lambda item: rank(item, self.measure, hole))
        low, high = best.fits[self.measure]
        at, most = measured(self.measure, value), measured(self.measure, high)
        least = measured(self.measure, low).split()[0]
        words = f"{self.measure} {at} lies in {least} to {most} of {best.name}"
        number = task.demand.number
        product = times(number, self.each, best.name)
        return [Given(best.code, number * self.each, joined(words, product))]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Both ends of every range."""
        ends = {
            end
            for code in self.choose
            if code in book.items
            for end in book.items[code].fits.get(self.measure, ())
        }
        return [Threshold(self.value, end) for end in sorted(ends)]


def holds(item: FamilyItem, measure: str, value: int) -> bool:
    """Whether the item's range holds the value, both ends inside."""
    return within(item.fits[measure], value)


def within(ends: Sequence[float], value: float) -> bool:
    """Whether a value lies between both ends, which count.

    >>> within((60, 130), 130), within((60, 130), 131)
    (True, False)
    """
    low, high = ends
    return low <= value <= high


def seats(item: FamilyItem, hole: str, book: Book) -> bool:
    """Whether the item can sit in the hole: nothing to seat, or some rule seats it."""
    return not item.thread or not hole or f"{item.thread} in {hole}" in book.seats


def rank(item: FamilyItem, measure: str, hole: str) -> tuple[bool, int, int, str]:
    """The thread of the hole first, then the lowest upper end, then the tightest."""
    low, high = item.fits[measure]
    return item.thread != hole and bool(hole), high, high - low, item.code


def nearest(items: list[FamilyItem], measure: str, value: int) -> tuple[str, str]:
    """(the item that ends next below the value, the one that begins next above), in words."""
    below = [item for item in items if item.fits[measure][1] < value]
    above = [item for item in items if item.fits[measure][0] > value]
    under = max(below, key=lambda item: (item.fits[measure][1], item.code), default=None)
    over = min(above, key=lambda item: (item.fits[measure][0], item.code), default=None)
    return (
        f"{under.name} up to {measured(measure, under.fits[measure][1])}" if under else "",
        f"{over.name} from {measured(measure, over.fits[measure][0])}" if over else "",
    )


def _nothing(
    measure: str, value: int, items: list[FamilyItem], fitting: list[FamilyItem], hole: str
) -> str:
    asked = f"{measure} {measured(measure, value)}"
    if fitting:
        names = ", ".join(item.name for item in fitting)
        return f"{names} would hold {asked}, but nothing seats it in the hole {hole}"
    near = " and ".join(filter(None, nearest(items, measure, value)))
    return f"nothing listed fits {asked}; nearest, not taken: {near}"


def parse(table: Table, book: Book) -> Fit:
    """measure, choose, optional value (a figure) and each."""
    measure = table.text("measure")
    carried = Linear(0, ((measure, 1),))
    if not table.has("value") and measure not in book.names:
        table.fault("measure", f"expected a known name or a value beside it, got {measure!r}")
    choose = table.texts("choose")
    for code in choose:
        if code in book.items and measure not in book.items[code].fits:
            table.fault("choose", f"expected items with fits.{measure}, got {code!r}")
    value = linear.parse(table, "value", book.names, carried)
    return Fit(measure, value, choose, table.whole("each", 1, 1000, 1))
