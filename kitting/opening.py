"""Opening a supplier's box and counting one thing in it: as told, or not.

Nothing moves: what came in the box is counted where it is unboxed. One box that held something
else stops every kit from relying on the others of its batch, one that holds what is told lets
them again.
"""

from __future__ import annotations

from inventory import boxes
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.models import CartonContent, Item, Lot, Person, PlaceKind, Role
from inventory.moving import CannotMove, Writing, nameless
from inventory.scanning import Thing, resolve
from inventory.words import amount
from kitting.access import allow, at_desk

ALL = "as_told"  # kind: everything in the box was there


def open_box(writes: Writing) -> Verdict:
    """`text` is the box or the thing in it, `with` what was counted, `quantity` how many it held.

    kind "none": nothing of it was there; kind "as_told": the whole box held what is told.
    """
    lot = _lot_of(writes.thing)
    if lot is None:
        raise CannotMove("Scan the box, or the thing that came in it")
    told = boxes.of_box(lot.item, writes.event.received_at.date())
    if writes.line.kind == ALL:
        return _whole(writes, lot, [row for row in told if row.quantity])
    item = resolve(writes.line.companion).item
    if item is None or item.pk == lot.item_id:
        raise CannotMove("Then scan or choose what was counted in it")
    if writes.line.quantity is None and writes.line.kind != "none":
        raise CannotMove(f"Say how many {item.name} were in it")
    found = 0 if writes.line.kind == "none" else int(writes.line.quantity or 0)
    return _one(
        writes, lot, item, next((row for row in told if row.item_id == item.pk), None), found
    )


def _one(writes: Writing, lot: Lot, item: Item, told: CartonContent | None, found: int) -> Verdict:
    if found != (told.quantity if told else 0):
        words = boxes.differs(writes, lot, item, told, found)
        return Verdict("problem", f"{words} Kits take it from the shelf until one box is as told.")
    ended = boxes.as_told(writes, lot, [told] if told else [])
    return _seen(lot, f"{amount(found, item)} in the box", bool(ended))


def _whole(writes: Writing, lot: Lot, told: list[CartonContent]) -> Verdict:
    if not told:
        raise CannotMove(f"Nothing is told of what a box of {lot.item.name} holds")
    ended = boxes.as_told(writes, lot, told)
    held = ", ".join(amount(row.quantity, row.item) for row in told)
    return _seen(lot, f"{held} in the box", bool(ended))


def _seen(lot: Lot, held: str, ended: bool) -> Verdict:
    more = f" Boxes of {lot.item.name} are relied on again." if ended else ""
    return Verdict("applied", f"{held}, as told.{more}")


def _lot_of(thing: Thing) -> Lot | None:
    """The batch of the box: of the unit in it, of what lies in it, or the one on its label."""
    if thing.unit is not None:
        return thing.unit.lot
    if thing.place is not None and thing.place.kind == PlaceKind.CARTON:
        unit = thing.place.units.select_related("lot__item").order_by("pk").first()
        held = thing.place.holdings.filter(quantity__gt=0).select_related("lot__item")
        first = held.order_by("pk").first()
        return unit.lot if unit else first.lot if first else None
    return thing.lot or (nameless(thing.item) if thing.item is not None else None)


def _allow(person: Person, line: Line) -> str:
    """The desk opens boxes at the bench; a crew those of its own jobs."""
    return "" if not line.subject and at_desk(person) else allow(person, line)


OPEN_BOX = Act("open_box", frozenset(Role.values), open_box, allow=_allow, undo=boxes.undo)
