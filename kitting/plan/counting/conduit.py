"""The smallest conduit that takes the cables of its run by fill, in sticks coupled together.

Source: NEC chapter 9 tables 1, 4 and 5 with notes 4, 6, 7 and 9 (`kitting/plan/conduit.py`). A
stick of 3,000 mm, where the rule says no other, is common practice, no published source. The local
code and a licensed electrician have the last word.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kitting.plan import conduit, linear
from kitting.plan.conductors import insulated
from kitting.plan.counting.length import CARRIED
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.items import FamilyItem, Raise, couples, ends
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

NIPPLE = 609
"""mm: 24 inch, beyond which a conduit is no nipple."""


@dataclass(frozen=True, slots=True)
class Conduit:
    """What lies in it and what may be chosen."""

    cables: tuple[str, ...]
    """Items counted beside it, of the same run at the same place."""
    choose: tuple[str, ...]
    path: Linear
    """mm"""
    stick: int
    """mm of one piece."""
    nipples: bool
    """Whether a path of at most 24 inch may be filled to 60 %."""
    couples: tuple[Raise, ...]
    """What each piece after the first raises."""
    ends: tuple[Raise, ...]
    """What each run raises, however many pieces it has: its two connectors."""

    def items(self) -> tuple[str, ...]:
        """Every conduit that may be chosen."""
        return self.choose

    def counted(self) -> tuple[str, ...]:
        """The cables, which must be settled first."""
        return self.cables

    def count(self, task: Task) -> list[Given]:
        """Pieces of the smallest conduit that takes all of them."""
        held = {item: number for item in self.cables if (number := task.beside(item))}
        path, runs = self.path.value(task.scope), task.demand.number
        if not held:
            raise CannotCount("none of its cables is settled, so no conduit can be chosen")
        inside = [task.book.items[item] for item, number in held.items() for _ in range(number)]
        nipple = self.nipples and path <= NIPPLE
        listed = [task.book.items[code] for code in self.choose]
        taking = [item for item in listed if takes(item.bore, inside, nipple)]
        named = " + ".join(f"{number} x {task.book.items[i].name}" for i, number in held.items())
        if not taking:
            raise CannotCount(_nothing(named, listed, inside, nipple))
        best = min(taking, key=lambda item: (item.bore, item.code))
        pieces = max(1, -(-path // self.stick))
        words = (
            f"{named} fill {conduit.filled(best.bore, areas(inside)):.1f} % of {best.name}, "
            f"{conduit.percent(len(inside), nipple)} % may be filled; "
            f"{path} mm / {self.stick} mm, rounded up = {pieces}"
        )
        joints = (pieces - 1) * runs
        raises = tuple(
            Raise(r.need, r.of, r.count * times)
            for found, times in ((self.couples, joints), (self.ends, runs))
            for r in found
            if times
        )
        if runs > 1:
            words += f"; {runs} x {pieces} = {runs * pieces}"
        return [Given(best.code, pieces * runs, words, raises=raises)]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Where a second piece begins, and where a nipple ends; which conduit hangs on the cables
        chosen, and so on their own thresholds."""
        ends = [self.stick, *([NIPPLE] if self.nipples else [])]
        return [Threshold(self.path, end) for end in ends]


def areas(inside: Sequence[FamilyItem]) -> list[float]:
    """Square inch of each."""
    return [_area(item) for item in inside]


def takes(bore: float, inside: Sequence[FamilyItem], nipple: bool) -> bool:
    """Whether a conduit takes them; a measured sheath is never rounded in its favour."""
    sheathed = any(item.outer for item in inside)
    return conduit.takes(bore, areas(inside), nipple, cables=sheathed)


def _area(item: FamilyItem) -> float:
    if item.outer:
        return conduit.circle(item.outer / 10)
    assert item.conductor is not None
    return insulated(item.conductor.awg, item.conductor.insulation)[1]


def _nothing(
    named: str, listed: Sequence[FamilyItem], inside: Sequence[FamilyItem], nipple: bool
) -> str:
    widest = max(listed, key=lambda item: item.bore)
    filled = conduit.filled(widest.bore, areas(inside))
    allowed = f"{conduit.percent(len(inside), nipple)} % may be filled"
    return f"{named} fill {filled:.1f} % of {widest.name}, the widest listed; {allowed}"


def parse(table: Table, book: Book) -> Conduit:
    """cables, choose, optional path (a figure), stick (mm), nipples, couples, ends."""
    cables, choose = table.texts("cables"), table.texts("choose")
    for code in cables:
        item = book.items.get(code)
        if item is None or not (item.outer or (item.conductor and item.conductor.insulation)):
            wanted = "expected items with outer or an insulated conductor"
            table.fault("cables", f"{wanted}, got {code!r}")
    for code in choose:
        if code in book.items and not book.items[code].bore:
            table.fault("choose", f"expected items with conduit, got {code!r}")
        elif code in book.items and book.items[code].unit != "piece":
            table.fault("choose", f"expected items by the piece, got {code!r}")
    return Conduit(
        cables,
        choose,
        linear.parse(table, "path", book.names, CARRIED),
        table.whole("stick", 100, default=3000),
        table.flag("nipples", default=False),
        couples(table),
        ends(table),
    )
