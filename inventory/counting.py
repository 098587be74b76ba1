"""Counts: what the hand finds at a place goes against what the book had there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from inventory import book_then, counts, moving_many
from inventory.intake import Act, Verdict
from inventory.models import Event, Finding, Item, Kept, Lot, Place, PlaceKind, Role
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.pieces import left_on_reel
from inventory.queries import stock_at
from inventory.words import amount, measure

SAMPLE = 10  # pieces that are weighed first
LIGHTEST_TEN = 20  # grams: under that, half a gram is more than one piece in forty


def count(writes: Writing) -> Verdict:
    """Set the book to what was counted at the target; kind says how, see `_found`.

    Work goes on meanwhile: it is compared with the book as it was from the moment that the count
    names until now, see `book_then`. Where the book changed on that way and had the number at no
    step of it, nobody can tell the difference: nothing is booked and a count is asked for. Else
    what lacks goes to `unexplained`, what is found comes from there or from `elsewhere`; from its
    first count on an item is kept at the place.
    """
    place = Place.objects.filter(code=writes.line.target).first()
    item = writes.thing.item
    if place is None or place.outside or item is None or item.tracking == "serial":
        return Verdict("stopped", "Scan the place, then a code of the item, then say how many.")
    found = _found(writes, item)
    lot = writes.thing.lot
    book = book_then.read(writes, place, item, lot)
    # Within what a scale cannot tell apart the book is as good.
    near = [had for had in book.had if abs(found.counted - had) <= found.spread]
    asked = Finding.objects.filter(kind="count", place=place, item=item, answer=None)
    if book.changed and not near:
        why = _why_again(book, item)
        if not asked.exists():
            words = f"Count {item.name} at {place.name} again: {why} while it was counted."
            writes.finding(Finding.Kind.COUNT, words, item=item, place=place)
        said = f"{amount(found.counted, item)}, but {why} since it was counted."
        return Verdict("problem", f"{said} Nothing is booked: count it again.")
    if not near:
        _settle(writes, item, lot, place, found.counted - book.now)
    writes.keep(place, item)
    counted = near[0] if near else found.counted
    for finding in asked:
        writes.answer(finding, f"Counted: {measure(counted, item.unit)}.")
    return Verdict("applied", f"{amount(counted, item)}: {_compared(counted, book, item)}.")


def _why_again(book: book_then.Book, item: Item) -> str:
    if not book.moved:
        return "somebody else counted there"
    return f"{measure(book.moved, item.unit)} moved in or out"


def _compared(counted: int, book: book_then.Book, item: Item) -> str:
    if counted == book.now:
        return "as the book has it"
    if counted in book.had:
        return "as the book had it when it was counted"
    return f"the book had {measure(book.now, item.unit)} and is put right"


@dataclass(frozen=True, slots=True)
class _Found:
    """What the hand found."""

    counted: int  # base units
    spread: int = 0  # base units that it may be off either way


def _found(writes: Writing, item: Item) -> _Found:
    """Return what a count says. Raises CannotMove.

    kind "" : quantity, in base units. "none": there is none. "bags": number of full bags of the
    scanned code, and quantity loose. "weight": quantity grams of all, number grams of ten.
    "mark": number is the metre mark at a reel's open end.
    """
    kind, quantity, number = writes.line.kind, writes.line.quantity, writes.line.number
    if kind == "none":
        return _Found(0)
    if kind == "bags" and number is not None:
        if writes.thing.pack == 1 and number:
            raise CannotMove("It is not known how many are in a bag. Scan the code on the bag")
        return _Found(number * writes.thing.pack + (quantity or 0))
    if kind == "weight" and quantity and number:
        return _weighed(item, quantity, number)
    if kind == "mark" and number is not None:
        return _Found(left_on_reel(writes.thing.lot, number))
    if quantity is None or kind in ("weight", "mark"):
        raise CannotMove("Say how many there are")
    return _Found(quantity)


def _weighed(item: Item, grams: int, ten: int) -> _Found:
    """Count by weight; a scale shows whole grams, so each weighing may be half a gram off."""
    if item.unit != "piece":
        raise CannotMove(f"{item.name} is not counted in pieces")
    if ten < LIGHTEST_TEN:
        raise CannotMove(f"Ten of them weigh under {LIGHTEST_TEN} g: too light to count by weight")
    counted = (2 * SAMPLE * grams + ten) // (2 * ten)
    most = math.ceil(SAMPLE * (grams + 0.5) / (ten - 0.5))
    least = math.floor(SAMPLE * (grams - 0.5) / (ten + 0.5))
    return _Found(counted, max(most - counted, counted - least))


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
    forget(list(Kept.objects.filter(event=done).select_related("place")), done)


def forget(begun: Sequence[Kept], done: Event) -> None:
    """The count that began the keeping is undone: a later one that stands begins it instead."""
    later: dict[tuple[str, int], Event] = {}
    for event, place, item in counts.standing({one.item_id for one in begun}, done.number):
        later.setdefault((place, item), event)
    moving_many.unkeep(begun, [later.get((one.place.code, one.item_id)) for one in begun])


COUNT = Act("count", frozenset({Role.WAREHOUSE, Role.MANAGER}), count, undo=_undo)
