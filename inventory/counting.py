"""Counts: what the hand finds at a place goes against what the book had there."""

from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import Event, Finding, Item, Kept, Lot, Place, PlaceKind, Role
from inventory.moving import Writing, nameless, outside
from inventory.queries import held, stock_at


def count(writes: Writing) -> Verdict:
    """Set the book to what was counted at the target; kind "none" says the place is empty of it.

    What lacks goes to `unexplained`, what is found comes from there or from `elsewhere`; from its
    first count on an item is kept at the place.
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
        writes.found(lot or nameless(item), place, difference)
        return
    lacking = -difference
    for holding in stock_at(place, item):
        part = min(lacking, holding.quantity)
        if part and (lot is None or lot.pk == holding.lot_id):
            writes.lot(holding.lot, place, unexplained, part)
            lacking -= part


def _undo(writes: Writing, done: Event) -> None:
    """The item is no longer kept there, unless it was counted there again since."""
    begun = Kept.objects.filter(event=done).select_related("place", "item").first()
    if begun is None:
        return
    writes.unkeep(begun.place, begun.item)
    counts = Event.objects.filter(step="count", scan__item=begun.item, reversed_by=None)
    for event in counts.filter(outcomes__verdict="applied").order_by("number"):
        if parse(event.line).target == begun.place.code:
            writes.keep(begun.place, begun.item, since=event)
            return


COUNT = Act("count", frozenset({Role.WAREHOUSE, Role.MANAGER}), count, undo=_undo)
