"""Sealant: bead section in mm2 x metres = ml; times (1 + waste), rounded up once to whole ul.

Source: geometry (ml per metre = section in mm2): rectangle w x d, triangle w x d / 2, half round pi
/ 8 x w2,
round pi / 4 x w2. A cartridge once opened is not stock, so cartridges are counted whole.
"""

import math
from dataclasses import dataclass
from typing import Final

from kitting.plan import linear
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.linear import Linear
from kitting.plan.reading import Table

DEEP: Final = ("rectangle", "triangle")
SHAPES: Final = (*DEEP, "half round", "round")


@dataclass(frozen=True, slots=True)
class Bead:
    """The section of a bead."""

    shape: str
    width: float
    """mm"""
    depth: float
    """mm; 0 for the round ones."""

    def section(self) -> float:
        """mm2, which is also ml per metre.

        >>> Bead("triangle", 10, 5).section()
        25.0
        """
        if self.shape == "half round":
            return math.pi / 8 * self.width**2
        if self.shape == "round":
            return math.pi / 4 * self.width**2
        return self.width * self.depth / (2 if self.shape == "triangle" else 1)


@dataclass(frozen=True, slots=True)
class Volume:
    """A bead along a seam."""

    item: str
    bead: Bead
    seam: Linear
    """mm per need"""
    waste: int
    """Per cent added."""
    pack: int
    """ul in one cartridge."""

    def items(self) -> tuple[str, ...]:
        """The sealant."""
        return (self.item,)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The need's count times the seam, in ul."""
        seam = self.seam.value(task.scope) * task.demand.number
        if seam < 0:
            raise CannotCount(f"expected a seam of 0 mm or more, got {seam}")
        if not seam:
            return []
        amount = microlitres(self.bead, seam, self.waste)
        of_seam = self.seam.words(task.scope)
        if self.seam.terms:
            of_seam = f"({of_seam})"
        if task.demand.number > 1:
            of_seam = f"{task.demand.number} x {of_seam}"
        words = f"bead of {self.bead.section():g} mm2 x {of_seam} mm"
        if self.waste:
            words += f" x {(100 + self.waste) / 100:g} with waste"
        words += f" = {amount / 1000:g} ml"
        return [Given(self.item, amount, words)]

    def thresholds(self, book: Book) -> list[Threshold]:
        """Nothing is given for no seam, and below 0 nothing can be counted."""
        return [Threshold(self.seam, 0)]


def microlitres(bead: Bead, seam_mm: float, waste: float) -> int:
    """ul of a bead along a seam with waste in per cent, rounded up.

    >>> microlitres(Bead("round", 6, 0), 4000, 15)
    130062
    """
    exact = bead.section() * seam_mm * (100 + waste) / 100
    # A whole result may come out a hair above itself in binary; that hair is no drop of sealant.
    return math.ceil(exact - 1e-6)


def cartridges(amount_ul: int, pack_ul: int) -> int:
    """Cartridges to open for an amount.

    >>> cartridges(310_000, 310_000), cartridges(310_001, 310_000)
    (1, 2)
    """
    return -(-amount_ul // pack_ul)


def parse(table: Table, book: Book) -> Volume:
    """item in ul, bead = { shape, width, depth }, seam (a figure in mm), waste in per cent."""
    item = table.text("item")
    known = book.items.get(item)
    if known is not None and known.unit != "ul":
        table.fault("item", f"expected an item in ul, got {item!r} in {known.unit}")
    seam = linear.parse(table, "seam", book.names)
    waste = table.whole("waste", 0, 100, 0)
    return Volume(item, _bead(table), seam, waste, 1 if known is None else known.pack)


def _bead(table: Table) -> Bead:
    inner = table.inner("bead")
    if inner is None:
        table.fault("bead", "expected { shape, width }, got nothing")
        return Bead("round", 1, 0)
    shape = inner.text("shape", among=SHAPES)
    depth = inner.whole("depth", 1, 100) if shape in DEEP else 0
    bead = Bead(shape, inner.whole("width", 1, 100), depth)
    inner.finish()
    return bead
