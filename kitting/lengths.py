"""Cables and other lengths: each piece of a line from one stick on the shelf, never from two.

A piece kept (a remnant with our label) comes before an opened reel, that before a new one, as
`plan.cutting` weighs them. What bears no label of its own is known as a sum alone: it counts as
reels of the length in which the item comes, and what is over as one opened reel. How long these are
its codes say, or the longest that ever arrived in one scan; where both are silent nobody knows how
long one piece of it is, and nothing is promised.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import Max

from inventory.models import Holding, Item, ItemCode, Lot, Movement, Place, PlaceKind
from inventory.moving import CannotMove
from inventory.words import amount, measure
from kitting.plan import cutting
from kitting.plan.cutting import KEPT, NEW, REEL, Stick
from kitting.shelves import Spot, on_shelves
from kitting.tallies import LineProgress

SENDERS: Final = (PlaceKind.SUPPLIER, PlaceKind.CARRIER)
MOST: Final = 20
"""Reels without a label that are looked at, of one place."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One piece and the stick it is cut from; no spot: nothing on the shelves holds it."""

    piece: int  # mm
    spot: Spot | None = None
    kind: str = ""  # kept, reel or new
    room: int = 0  # mm on the stick before this kit cuts from it
    sure: bool = True  # False: it bears no label, and nobody knows how long one piece of it is


@dataclass(slots=True)
class OnRack:
    """One stick and what is still on it, in thought."""

    spot: Spot
    room: int  # mm
    kind: str
    sure: bool = True


class Rack:
    """What lies on the shelves of some lengths; what one kit cuts is gone for the next."""

    def __init__(
        self, spots: Mapping[int, Sequence[Spot]], reels: Mapping[int, int] | None = None
    ) -> None:
        """spots: item id -> its spots. reels: in what these items come, where somebody asked."""
        self._sticks: dict[int, list[OnRack]] = {}
        self._reels = reels_of(spots) if reels is None else reels
        for item in _lengths_of(spots):
            self.lay(item, spots[item])

    def lay(self, item: int, spots: Sequence[Spot]) -> None:
        """Let an item lie as these spots have it, whatever was cut of it in thought."""
        reel = self._reels.get(item, 0)
        self._sticks[item] = [stick for spot in spots for stick in _sticks_of(spot, reel)]

    def longest(self, item: int) -> int:
        """mm of the longest piece that can surely still be cut of an item, 0 for none."""
        sticks = self._sticks.get(item, ())
        return max((stick.room for stick in sticks if stick.sure), default=0)

    def sticks(self, item: int, pieces: Sequence[int]) -> list[tuple[int, OnRack]]:
        """Each stick of an item with the mm that a plan of these pieces may cut of it."""
        return list(_weighed(self._sticks.get(item, ()), pieces))

    def holds(self, item: int, pieces: Sequence[int]) -> bool:
        """Whether all of these pieces (mm each) can still be cut; nothing is."""
        return None not in self._plan(item, pieces, cutting.EXACT)

    def _plan(self, item: int, pieces: Sequence[int], most: int) -> list[int | None]:
        """The place of each piece's stick; one of unknown length only where no other holds it."""
        sticks = self._sticks.get(item, [])
        rooms = [Stick(room, stick.kind) for room, stick in self.sticks(item, pieces)]
        found = list(cutting.plan(pieces, rooms, most).of)
        loose = {at: stick.room for at, stick in enumerate(sticks) if not stick.sure}
        for number, mm in enumerate(pieces):
            able = [at for at, room in loose.items() if room >= mm]
            if found[number] is None and able:
                found[number] = able[0]
                loose[able[0]] -= mm
        return found

    def cut(self, item: int, pieces: Sequence[int], most: int = cutting.EXACT) -> list[Cut]:
        """Cut pieces (mm each) in thought; those cut earlier are not there any more.

        most: see `cutting.plan`.
        """
        sticks = self._sticks.get(item, [])
        before = [stick.room for stick in sticks]
        found = []
        for piece, at in zip(pieces, self._plan(item, pieces, most), strict=True):
            if at is None:
                found.append(Cut(piece))
                continue
            stick = sticks[at]
            found.append(Cut(piece, stick.spot, stick.kind, before[at], stick.sure))
            stick.room -= piece
        for stick, room in zip(sticks, before, strict=True):
            if stick.room < room and stick.kind == NEW:
                stick.kind = REEL  # it is open from now on
        return found


def _weighed(sticks: Sequence[OnRack], pieces: Sequence[int]) -> Iterator[tuple[int, OnRack]]:
    """Each stick with the mm that a plan may cut of it: none where nobody knows, nor of more whole
    reels alike than these pieces can touch, one after the other or one for each."""
    seen: Counter[int] = Counter()
    for stick in sticks:
        untouched = stick.kind == NEW
        seen[stick.room] += untouched
        enough = min(len(pieces), 2 * sum(pieces) // max(stick.room, 1) + 1)
        able = stick.sure and not (untouched and seen[stick.room] > enough)
        yield (stick.room if able else 0), stick


def _sticks_of(spot: Spot, reel: int) -> list[OnRack]:
    """What lies at a spot. reel: mm in which the item comes; 0: nobody knows."""
    kind = kind_of(spot.lot)
    if kind != NEW:
        return [OnRack(spot, spot.quantity, kind)]
    if not reel:
        return [OnRack(spot, spot.quantity, kind, sure=False)]
    full, rest = divmod(spot.quantity, reel)
    # No kit cuts more than MOST pieces: the rest of a mountain of reels is not looked at.
    found = [OnRack(spot, reel, NEW) for _ in range(min(full, MOST))]
    return [OnRack(spot, rest, REEL), *found] if rest else found


def _lengths_of(spots: Mapping[int, Sequence[Spot]]) -> set[int]:
    return {item for item, some in spots.items() if some and some[0].lot.item.unit == "mm"}


def reels_of(spots: Mapping[int, Sequence[Spot]]) -> dict[int, int]:
    """Item id -> mm in which it comes: the longest package that its codes name, else the longest
    that ever arrived from outside in one scan; items of which neither is known are left out."""
    items = _lengths_of(spots)
    packs = ItemCode.objects.filter(item__in=items, pack_quantity__gt=1).order_by()
    found = dict(packs.values_list("item").annotate(Max("pack_quantity")))
    others = items - found.keys()
    if others:
        came = Movement.objects.filter(lot__item__in=others, lot__parent=None)
        came = came.filter(from_place__kind__in=SENDERS).order_by()
        found |= dict(came.values_list("lot__item").annotate(Max("quantity")))
    return found


def kind_of(lot: Lot) -> str:
    """Return what a length lies there as: kept, reel or new."""
    if lot.parent_id is None:
        return NEW
    return REEL if lot.end_mark_m is not None else KEPT


def is_cut(rows: Iterable[LineProgress]) -> bool:
    """Whether pieces are wanted; what is joined from bars is a sum, as what is counted."""
    return any(row.line.whole for row in rows)


def left(rows: Iterable[LineProgress]) -> dict[int, list[int]]:
    """Return item id -> mm of each piece that these lines still take; only of what is cut."""
    found: dict[int, list[int]] = defaultdict(list)
    for row in rows:
        if row.line.whole and row.to_pick:
            found[row.line.item_id] += pieces_left(row)
    return found


def pieces_left(row: LineProgress) -> list[int]:
    """Return mm of each piece of a line that nothing packed or in a box holds, in its order."""
    return row.line.whole if row.uncut is None else list(row.uncut)


def rows_for(rows: Sequence[LineProgress], pieces: Iterable[int]) -> list[LineProgress]:
    """Return for each piece (mm) the line that it is for: one that wants just that, else the one
    that wants the longest it holds, else the last. rows: all of one item, one or more."""
    wanted = [(row, mm) for row in rows if row.to_pick for mm in pieces_left(row)]
    found = []
    for piece in pieces:
        able = [one for one in wanted if one[1] <= piece]
        best = max(able, key=lambda one: one[1], default=None)
        if best is not None:
            wanted.remove(best)
        found.append(best[0] if best is not None else rows[-1])
    return found


def whole(rows: Iterable[LineProgress], item: Item, quantity: int) -> list[int]:
    """Return mm of each piece that so many mm are: all that these lines still take, else one."""
    pieces = left(rows).get(item.pk, [])
    return pieces if sum(pieces) == quantity else [quantity]


def whole_ones(wanted: Sequence[int], pieces: Sequence[int]) -> list[int]:
    """Return the places of the pieces that meet what is wanted, mm each, none of them cut: one of
    the very length first, else the shortest that holds it; the longest wanted is served first."""
    left = dict(enumerate(pieces))
    found = []
    for mm in sorted(wanted, reverse=True):
        able = [at for at, piece in left.items() if piece >= mm]
        if able:
            best = min(able, key=lambda at: left[at])
            found.append(best)
            del left[best]
    return found


def lying(stock: Iterable[Holding], lot: int, mm: int) -> Holding | None:
    """Return where a piece of so many mm of a batch (its id) lies, None where it does not."""
    return next((h for h in stock if h.lot_id == lot and h.quantity >= mm), None)


def from_label(rows: Iterable[LineProgress], item: Item, lot: Lot, room: int) -> list[int]:
    """Return mm of each piece that one scan of a labelled stick stands for: those it holds.

    room: mm that the book has on it. Raises CannotMove where it holds none of them.
    """
    pieces = left(rows).get(item.pk, [])
    cuts = cutting.plan(pieces, [Stick(room, kind_of(lot))]).of
    taken = [piece for piece, at in zip(pieces, cuts, strict=True) if at is not None]
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
    spots = on_shelves([item.pk])[item.pk]
    if at is not None:
        spots = [spot for spot in spots if spot.place.pk == at.pk]
    return Rack({item.pk: spots}).cut(item.pk, whole(rows, item, quantity), most=1)
