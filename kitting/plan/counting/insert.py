"""Several cables through one hole: the smallest insert whose holes take each of them, pins in the
rest.

Source: pick rule least <= diameter <= most for each hole; a hole left open leaks, so each gets a
pin (common practice, no published source; EN 62444 fixes no ranges).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kitting.plan.counting.fit import seats
from kitting.plan.given import THROUGH, Book, CannotCount, Given, Task, Threshold, joined, measured
from kitting.plan.items import FamilyItem
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

Cables = Sequence[tuple[str, int]]
"""(run, tenths of mm) of each cable."""
DIAMETER = Linear(0, (("diameter", 1),))


@dataclass(frozen=True, slots=True)
class Insert:
    """The inserts that may be chosen, and what closes a hole that stays free."""

    choose: tuple[str, ...]
    pin: str

    def items(self) -> tuple[str, ...]:
        """Every insert and the pin."""
        return (*self.choose, self.pin)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """One insert for each of the need's count, and a pin for each hole that stays free."""
        cables = _cables(task)
        hole = str(task.demand.measures.get("hole", ""))
        listed = [task.book.items[code] for code in self.choose]
        taking = [item for item in listed if placed(item.holes, cables) is not None]
        seated = [item for item in taking if seats(item, hole, task.book)]
        if not seated:
            raise CannotCount(_nothing(cables, taking, listed, hole))
        best = min(seated, key=lambda item: _rank(item, hole))
        number = task.demand.number
        words = _words(best, cables)
        given = [Given(best.code, number, words)]
        free = len(best.holes) - len(cables)
        if free:
            pins = f"{len(best.holes)} holes - {len(cables)} cables = {free} to pin"
            more = f"{number} x {free} = {number * free}" if number > 1 else ""
            given.append(Given(self.pin, number * free, joined(pins, more)))
        return given

    def thresholds(self, book: Book) -> list[Threshold]:
        """Both ends of every hole, for each cable."""
        known = [book.items[code] for code in self.choose if code in book.items]
        ends = {end for item in known for hole in item.holes for end in hole}
        return [Threshold(DIAMETER, end) for end in sorted(ends)]


def placed(holes: Sequence[tuple[int, int]], cables: Cables) -> list[tuple[int, int]] | None:
    """The hole of each cable, each hole for one cable at most; None where they do not all go in.

    The tightest hole is tried first, and a cable makes way where it has another hole.

    >>> placed([(40, 60), (50, 90)], [("data", 55), ("meter", 45)])
    [(50, 90), (40, 60)]
    """
    order = sorted(range(len(holes)), key=lambda i: (holes[i][1] - holes[i][0], holes[i][1], i))
    held: dict[int, int] = {}

    def sit(cable: int, tried: set[int]) -> bool:
        for index in order:
            low, high = holes[index]
            if index in tried or not low <= cables[cable][1] <= high:
                continue
            tried.add(index)
            if index not in held or sit(held[index], tried):
                held[index] = cable
                return True
        return False

    if not all(sit(cable, set()) for cable in range(len(cables))):
        return None
    at = {cable: holes[index] for index, cable in held.items()}
    return [at[cable] for cable in range(len(cables))]


def _cables(task: Task) -> Cables:
    names = [name for name in task.demand.measures if name.startswith(THROUGH)]
    if names:
        return [(name.removeprefix(THROUGH), task.scope.number(name)) for name in names]
    return [(task.demand.of, task.scope.number("diameter"))]


def _rank(item: FamilyItem, hole: str) -> tuple[bool, int, int, str]:
    """The thread of the hole first, then the fewest holes, then the tightest ones."""
    wide = sum(high for _, high in item.holes)
    return item.thread != hole and bool(hole), len(item.holes), wide, item.code


def _words(item: FamilyItem, cables: Cables) -> str:
    at = placed(item.holes, cables) or []
    each = (
        f"{name} of {_mm(value)} lies in {_mm(low, '')} to {_mm(high)}"
        for (name, value), (low, high) in zip(cables, at, strict=True)
    )
    return f"{', '.join(each)} of {item.name}"


def _nothing(cables: Cables, taking: list[FamilyItem], listed: list[FamilyItem], hole: str) -> str:
    if taking:
        names = ", ".join(item.name for item in taking)
        return f"{names} would take the cables, but nothing seats it in the hole {hole}"
    asked = ", ".join(f"{name} {_mm(value)}" for name, value in cables)
    holes = "; ".join(f"{item.name} {_ranges(item)}" for item in listed)
    return f"no listed insert takes {asked} together; their holes: {holes}"


def _ranges(item: FamilyItem) -> str:
    return ", ".join(f"{_mm(low, unit='')} to {_mm(high)}" for low, high in item.holes)


def _mm(tenths: int, unit: str = " mm") -> str:
    return measured("diameter", tenths).removesuffix(" mm") + unit


def parse(table: Table, book: Book) -> Insert:
    """choose = ["insert"], pin = "pin"."""
    choose = table.texts("choose")
    for code in choose:
        if code in book.items and not book.items[code].holes:
            table.fault("choose", f"expected items with holes, got {code!r}")
    return Insert(choose, table.text("pin"))
