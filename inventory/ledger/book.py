"""A ledger in memory: folds movements and container moves into what stands where.

`audit` recomputes the side tables with it; the laws are tried on it. It applies whatever it is
given and returns what was wrong with it, so one bad row does not hide the next. Keys of places,
lots and units are whatever the caller uses, as long as they are distinct and hashable.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Move(Generic[Key]):
    """What left one place and entered another."""

    lot: Key
    start: Key
    to: Key
    quantity: int  # base units, 1 up; exactly 1 for a unit
    unit: Key | None = None  # None: a quantity of the lot


@dataclass(frozen=True, slots=True)
class Carry(Generic[Key]):
    """A box, parcel or bag that went to stand somewhere else."""

    box: Key
    start: Key | None  # None: it stood nowhere
    to: Key


@dataclass(slots=True)
class Book(Generic[Key]):
    """What the movements so far amount to.

    >>> book = Book(outside=lambda place: place == "supplier")
    >>> book.move(Move("MOD", "supplier", "dock", 1, unit="A1"))
    []
    >>> book.move(Move("MOD", "shelf", "van", 1, unit="A1"))
    ['unit A1 moved from shelf, it stood at dock', 'lot MOD at shelf is -1']
    """

    outside: Callable[[Key], bool]  # places that are none of ours may run below zero
    holdings: defaultdict[tuple[Key, Key], int] = field(default_factory=lambda: defaultdict(int))
    units: dict[Key, Key] = field(default_factory=dict)  # unit -> place
    parents: dict[Key, Key] = field(default_factory=dict)  # box -> what it stands in

    def move(self, move: Move[Key]) -> list[str]:
        """Apply a movement; return what was wrong with it, in words."""
        wrong = []
        if move.start == move.to:
            wrong.append(f"lot {move.lot} moved from {move.start} to itself")
        if move.quantity < 1 or (move.unit is not None and move.quantity != 1):
            wrong.append(f"lot {move.lot} moved by {move.quantity}")
        if move.unit is not None:
            stood = self.units.get(move.unit)
            if stood is None and not self.outside(move.start):
                wrong.append(f"unit {move.unit} moved from {move.start}, it stood nowhere")
            if stood is not None and stood != move.start:
                wrong.append(f"unit {move.unit} moved from {move.start}, it stood at {stood}")
            self.units[move.unit] = move.to
        self.holdings[move.start, move.lot] -= move.quantity
        self.holdings[move.to, move.lot] += move.quantity
        left = self.holdings[move.start, move.lot]
        if left < 0 and not self.outside(move.start):
            wrong.append(f"lot {move.lot} at {move.start} is {left}")
        return wrong

    def carry(self, carry: Carry[Key]) -> list[str]:
        """Apply a container move; return what was wrong with it, in words."""
        wrong = []
        stood = self.parents.get(carry.box)
        if stood is not None and stood != carry.start:
            wrong.append(f"box {carry.box} moved from {carry.start}, it stood in {stood}")
        if carry.box == carry.to or carry.start == carry.to:
            wrong.append(f"box {carry.box} moved to where it was")
        self.parents[carry.box] = carry.to
        return wrong

    def stock(self) -> dict[tuple[Key, Key], int]:
        """Return (place, lot) -> base units, without the zeros."""
        return {at: quantity for at, quantity in self.holdings.items() if quantity}

    def faults(self) -> list[str]:
        """Return the breaches of the laws that hold at any moment."""
        totals: defaultdict[Key, int] = defaultdict(int)
        wrong = []
        for (place, lot), quantity in self.holdings.items():
            totals[lot] += quantity
            if quantity < 0 and not self.outside(place):
                wrong.append(f"lot {lot} at {place} is {quantity}")
        return wrong + [f"lot {lot} sums to {total}" for lot, total in totals.items() if total]
