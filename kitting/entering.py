"""A unit that nobody entered before, met where it stands: by the serial read on it."""

from __future__ import annotations

from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.models import Item, Unit
from inventory.moving import CannotMove, Writing
from inventory.scanning import Thing, resolve


def unit_standing(writes: Writing, text: str, item: Item | None) -> Unit:
    """Return the unit that a text read on it names; a bare serial is of the kind of its place.

    item: what kind belongs at its place; None where the record does not say.
    """
    thing = writes.thing if text == writes.line.text else resolve(text, writes.line.via)
    named = writes.unit_of(thing, evidence="seen")
    if named is not None:
        return named
    if thing.place is not None or thing.item is not None or item is None:
        raise CannotMove(_question(thing))
    try:
        wanted = serial_key(text)
    except CodeError:
        raise CannotMove("Type its serial as it is printed") from None
    units = Unit.objects.filter(item=item, serial_key=wanted).select_related("item", "lot")
    known = units.first()
    if known is not None:
        return known
    return writes.meet(item, text.strip()[:90], wanted, evidence="seen", provisional=True)


def _question(thing: Thing) -> str:
    return thing.question.rstrip(".") or "Scan the label on the thing itself"
