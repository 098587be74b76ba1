"""Counts: what the hand finds at a place goes against what the book had there."""

from inventory.intake import Act, Verdict
from inventory.models import Finding, Item, Lot, Place, PlaceKind, Role
from inventory.moving import Writing, held, nameless, outside, stock_at


def count(writes: Writing) -> Verdict:
    """Set the book to what was counted at the target; kind "none" says the place is empty of it.

    The difference is a movement from or to `unexplained`; from its first count on an item is
    kept at the place.
    """
    place = Place.objects.filter(code=writes.line.target).first()
    item = writes.thing.item
    if place is None or place.outside or item is None or item.tracking == "serial":
        return Verdict("stopped", "Scan the place, then a code of the item, then say how many.")
    if writes.line.quantity is None and writes.line.kind != "none":
        return Verdict("stopped", "Say how many there are.")
    counted = 0 if writes.line.kind == "none" else int(writes.line.quantity or 0)
    lot = writes.thing.lot
    book = held(place, lot) if lot else sum(h.quantity for h in stock_at(place, item))
    _settle(writes, item, lot, place, counted - book)
    writes.keep(place, item)
    for asked in Finding.objects.filter(kind="count", place=place, item=item, answer=None):
        writes.answer(asked, f"Counted: {counted}.")
    if counted == book:
        return Verdict("applied", f"{counted} x {item.name}: as the book has it.")
    return Verdict("applied", f"{counted} x {item.name}: the book had {book} and is put right.")


def _settle(writes: Writing, item: Item, lot: Lot | None, place: Place, difference: int) -> None:
    unexplained = outside(PlaceKind.UNEXPLAINED)
    if difference > 0:
        writes.lot(lot or nameless(item), unexplained, place, difference)
        return
    lacking = -difference
    for holding in stock_at(place, item):
        part = min(lacking, holding.quantity)
        if part and (lot is None or lot.pk == holding.lot_id):
            writes.lot(holding.lot, place, unexplained, part)
            lacking -= part


COUNT = Act("count", frozenset({Role.WAREHOUSE, Role.MANAGER}), count)
