"""What the book had at a place while somebody counted there, not only what it has now.

A count names the record mark that its browser had last heard of (`since`). What the server received
between that mark and the count may have moved before the hand counted, or after it: a device's
clock never decides. So the book has a reading for each step of the way from that mark to now. What
the same device did earlier was done before the count; what was undone since, never.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q

from inventory.models import Item, Lot, Movement, Place
from inventory.moving import Writing
from inventory.queries import held, holds_mark, stock_at

PUT_RIGHT = frozenset({"count", "bring_in"})  # what they change was wrong all along: no thing moved


@dataclass(frozen=True, slots=True)
class Book:
    """Base units that the book has and had of an item, or of one lot of it, at a place."""

    had: tuple[int, ...]  # now, then back to the count's mark
    moved: int = 0  # base units that went in or out since
    changed: bool = False  # whether anything changed it since

    @property
    def now(self) -> int:
        """What it has now."""
        return self.had[0]


def read(writes: Writing, place: Place, item: Item, lot: Lot | None) -> Book:
    """Return the book of what a count has counted; lot None: of all lots of the item there.

    Only as it is now where the line names no mark, or one that the record does not know: it was put
    back from an old copy since.
    """
    now = held(place, lot) if lot else sum(h.quantity for h in stock_at(place, item))
    changes = _changes(writes, place, item, lot)
    had, moved = [now], 0
    for step, change in reversed(changes):
        if step not in PUT_RIGHT:
            had.append(had[-1] - change)
            moved += abs(change)
    return Book(tuple(had), moved, bool(changes))


def _changes(writes: Writing, place: Place, item: Item, lot: Lot | None) -> list[tuple[str, int]]:
    """Return step and difference of each event since the mark, in ledger order."""
    line, device = writes.line, writes.event.device
    if not line.since or not holds_mark(line.since):
        return []
    size = int(line.since.partition(":")[0])
    of = Q(lot=lot) if lot else Q(lot__item=item)
    at = Q(from_place=place) | Q(to_place=place)
    undone = Q(event__reversed_by__isnull=False) | Q(event__reversal__reversed__number__gt=size)
    moves = Movement.objects.filter(of, at, event__number__gt=size).exclude(undone)
    others = moves.exclude(event__device=device, event__seq__lt=line.seq)
    net = defaultdict[tuple[int, str], int](int)
    columns = ("event__number", "event__step", "event__reversal__reversed__step")
    for number, step, undid, to, much in others.values_list(*columns, "to_place", "quantity"):
        net[number, undid or step] += much if to == place.pk else -much
    return [(step, change) for (_, step), change in sorted(net.items()) if change]
