"""Small parts: one bag is opened, counted and noted; the others keep what their label says."""

from __future__ import annotations

from inventory import claims
from inventory.door import delivery_of
from inventory.intake import Act, Verdict
from inventory.models import About, Event, Finding, PlaceKind, Role
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.queries import held
from inventory.words import amount, measure


def sample_bag(writes: Writing) -> Verdict:
    """One bag of the scanned code holds "quantity" base units; it may say more or less.

    What this one bag lacks leaves the book of the dock again: it never came.
    """
    delivery = delivery_of(writes.line.subject)
    if delivery is None:
        raise CannotMove("Say which delivery this is about")
    item, said, counted = writes.thing.item, writes.thing.pack, writes.line.quantity
    if item is None or item.tracking == "serial":
        raise CannotMove("Scan the code on the bag")
    if counted is None:
        raise CannotMove("Open one bag, count, and say how many are in it")
    if said == 1:
        raise CannotMove(f"It is not known how many a bag of {item.name} should hold")
    if counted == said:
        return Verdict("applied", f"{amount(counted, item)}: as the bag says.")
    words = f"A bag of {item.name} says {measure(said, item.unit)}, holds {counted}."
    if counted > said:
        writes.finding(Finding.Kind.SURPLUS, words, item=item, quantity=counted - said)
        return Verdict("problem", words)
    lacking, lot = said - counted, writes.thing.lot or nameless(item)
    part = min(lacking, held(delivery.dock, lot))
    if part:
        writes.lot(lot, delivery.dock, outside(PlaceKind.SUPPLIER), part)
    writes.finding(Finding.Kind.MISSING, words, item=item, quantity=lacking)
    claims.open_claim(writes, delivery, delivery.supplier, About.SHORTAGE, words)
    return Verdict("problem", f"{words} Look into the other bags before they are used.")


def _undo(writes: Writing, done: Event) -> None:
    claims.undone(writes, done)


SAMPLE_BAG = Act("sample_bag", frozenset({Role.WAREHOUSE, Role.MANAGER}), sample_bag, undo=_undo)
