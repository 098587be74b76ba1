"""Supply in two bins: an empty one is scanned and asks to be filled; the other carries on."""

from __future__ import annotations

from django.db.models import QuerySet

from inventory.intake import Act, Verdict
from inventory.models import Finding, Item, Place, Role, Tracking
from inventory.moving import CannotMove, Writing
from inventory.queries import place_of_code


def empty_bin(writes: Writing) -> Verdict:
    """The bin of the scanned supply item at the target is empty."""
    place, item = place_of_code(writes.line.target), writes.thing.item
    if place is None or place.outside:
        raise CannotMove("Scan the bin that is empty")
    if item is None or item.tracking != Tracking.SUPPLY:
        raise CannotMove(
            "Only what is used up from the shelf is kept in two bins. Count it instead"
        )
    if open_ones(place, item).exists():
        return Verdict("noted", f"{item.name} at {place.name}: asked for already.")
    words = f"{item.name}: fill {place.name} again."
    writes.finding(Finding.Kind.REFILL, words, item=item, place=place)
    return Verdict("applied", words)


def filled(writes: Writing, place: Place, item: Item) -> None:
    """Something of a supply item was put at a place: nobody asks for it there any more."""
    if item.tracking == Tracking.SUPPLY:
        for asked in open_ones(place, item):
            writes.answer(asked, "Filled.")


def open_ones(place: Place, item: Item) -> QuerySet[Finding]:
    """Return who asks for this item at this place."""
    return Finding.objects.filter(
        kind=Finding.Kind.REFILL, place=place, item=item, answer=None
    ).order_by("pk")


EMPTY_BIN = Act("empty_bin", frozenset({Role.WAREHOUSE, Role.MANAGER}), empty_bin)
