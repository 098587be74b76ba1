"""Cables and other lengths: each piece of a line from one stick on the shelf, never from two.

A piece kept (a remnant with our label) comes before an opened reel, that before a new one, as
`plan.cutting` weighs them. What bears no label of its own counts as one new reel.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.models import Item, Lot, Place
from inventory.moving import CannotMove
from inventory.words import amount, measure
from kitting.plan import cutting
from kitting.plan.cutting import KEPT, NEW, REEL, Stick
from kitting.shelves import Spot, on_shelves
from kitting.tallies import LineProgress


@dataclass(frozen=True, slots=True)
class Cut:
    """One piece and the stick it is cut from; no spot: nothing on the shelves holds it."""

    piece: int  # mm
    spot: Spot | None = None
    kind: str = ""  # kept, reel or new
    room: int = 0  # mm on the stick before this kit cuts from it


class Rack:
    """What lies on the shelves of some lengths; what one kit cuts is gone for the next."""

    def __init__(self, spots: Mapping[int, Sequence[Spot]]) -> None:
        """spots: item id -> its spots."""
        self._spots: dict[int, list[Spot]] = {}
        self._rooms: dict[int, list[int]] = {}
        self._kinds: dict[int, list[str]] = {}
        for item, found in spots.items():
            self.lay(item, found)

    def lay(self, item: int, spots: Sequence[Spot]) -> None:
        """Let an item lie as these spots have it, whatever was cut of it in thought."""
        self._spots[item] = list(spots)
        self._rooms[item] = [spot.quantity for spot in spots]
        self._kinds[item] = [kind_of(spot.lot) for spot in spots]

    def longest(self, item: int) -> int:
        """mm of the longest piece that can still be cut of an item, 0 for none."""
        return max(self._rooms.get(item, ()), default=0)

    def holds(self, item: int, pieces: Sequence[int]) -> bool:
        """Whether all of these pieces (mm each) can still be cut; nothing is."""
        return None not in cutting.plan(pieces, self._sticks(item)).of

    def _sticks(self, item: int) -> list[Stick]:
        pairs = zip(self._rooms.get(item, ()), self._kinds.get(item, ()), strict=True)
        return [Stick(*pair) for pair in pairs]

    def cut(self, item: int, pieces: Sequence[int], most: int = cutting.EXACT) -> list[Cut]:
        """Cut pieces (mm each) in thought; those cut earlier are not there any more.

        most: see `cutting.plan`.
        """
        spots, rooms = self._spots.get(item, []), self._rooms.get(item, [])
        kinds = self._kinds.get(item, [])
        before = list(rooms)
        found = []
        of = cutting.plan(pieces, self._sticks(item), most).of
        for piece, at in zip(pieces, of, strict=True):
            if at is None:
                found.append(Cut(piece))
                continue
            found.append(Cut(piece, spots[at], kinds[at], before[at]))
            rooms[at] -= piece
        for at, room in enumerate(before):
            if rooms[at] < room and kinds[at] == NEW:
                kinds[at] = REEL  # it is open from now on
        return found


def kind_of(lot: Lot) -> str:
    """Return what a length lies there as: kept, reel or new."""
    if lot.parent_id is None:
        return NEW
    return REEL if lot.end_mark_m is not None else KEPT


def left(rows: Iterable[LineProgress]) -> dict[int, list[int]]:
    """Return item id -> mm of each piece that these lines still take; only of lengths."""
    found: dict[int, list[int]] = defaultdict(list)
    for row in rows:
        if row.line.item.unit == "mm" and row.to_pick:
            found[row.line.item_id] += pieces_left(row)
    return found


def pieces_left(row: LineProgress) -> list[int]:
    """Return mm of each piece of a line that nobody has picked yet, in the line's order."""
    pieces = list(row.line.pieces) or [row.needed]
    gone = row.needed - row.to_pick
    for piece in sorted(pieces, reverse=True):
        if piece <= gone:
            pieces.remove(piece)
            gone -= piece
    return pieces


def from_label(rows: Iterable[LineProgress], item: Item, lot: Lot, room: int) -> int:
    """Return mm that one scan of a labelled stick stands for: the pieces it holds of the lines.

    room: mm that the book has on it. Raises CannotMove where it holds none of them.
    """
    pieces = left(rows).get(item.pk, [])
    cuts = cutting.plan(pieces, [Stick(room, kind_of(lot))]).of
    taken = sum(piece for piece, at in zip(pieces, cuts, strict=True) if at is not None)
    if taken or not pieces:
        return taken
    shortest = measure(min(pieces), item.unit)
    held = amount(room, item) if room else f"no {item.name}"
    raise CannotMove(
        f"{lot.number} holds {held} by the book, needed is {shortest} in one piece. "
        "Take another, or say how much you cut"
    )


def cuts_for(
    rows: Iterable[LineProgress], item: Item, quantity: int, at: Place | None = None
) -> list[Cut]:
    """Return how a scan of so many mm is cut, at one place or anywhere on the shelves.

    All that these lines still take is cut piece by piece; any other quantity is one piece. Under
    the ledger's lock, where nothing is weighed for long.
    """
    pieces = left(rows).get(item.pk, [])
    spots = on_shelves([item.pk])[item.pk]
    if at is not None:
        spots = [spot for spot in spots if spot.place.pk == at.pk]
    if sum(pieces) != quantity:
        pieces = [quantity]
    return Rack({item.pk: spots}).cut(item.pk, pieces, most=1)
