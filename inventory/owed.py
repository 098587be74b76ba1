"""Boxes whose serial cannot be read outside: received as "serial owed", named when it is seen.

A sealed box is never opened for a scan. Until its serial is seen the unit carries its box's code.
"""

from __future__ import annotations

from dataclasses import replace

from django.db.models import Q

from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.ledger.steps import Standing
from inventory.models import Item, Place, PlaceKind, Unit
from inventory.moving import CannotMove, Writing, outside
from inventory.queries import standing

PREFIX = "owed "
NOT_HERE = (Standing.NOWHERE, Standing.OUTSIDE)


def enter(writes: Writing, item: Item, code: str) -> Unit:
    """Return the unit in the box of this code, entered now if nobody has. Raises CannotMove."""
    try:
        key = serial_key(PREFIX + code)
    except CodeError as error:
        words = f"This code cannot stand in for a serial: {error.message}. Scan another one"
        raise CannotMove(words) from None
    known = Unit.objects.filter(item=item, serial_key=key).select_related("place", "lot").first()
    return known or writes.meet(item, PREFIX + code, key, evidence="owed")


def in_box(box: Place | None, item: Item | None) -> Unit | None:
    """Return the unit of this item in a box that still owes its serial."""
    if box is None or item is None:
        return None
    found = Unit.objects.filter(place=box, item=item, evidence="owed")
    return found.select_related("item", "lot", "place").order_by("pk").first()


def name(writes: Writing, unit: Unit, serial: str, evidence: str) -> None:
    """Give a unit the serial it owed. Raises CannotMove where another unit bears it."""
    key = serial_key(serial)
    if Unit.objects.filter(item=unit.item_id, serial_key=key).exclude(pk=unit.pk).exists():
        raise CannotMove(f"{serial[:40]} is the serial of another one")
    unit.serial, unit.serial_key, unit.evidence = serial, key, evidence
    unit.save(update_fields=["serial", "serial_key", "evidence"])
    writes.first.append(unit)  # what waited for this serial is judged again


def forget(unit: Unit) -> None:
    """The scan that named a unit was undone: it owes its serial again."""
    assert unit.place is not None, "it stands in its box"
    unit.serial, unit.evidence = PREFIX + unit.place.code, "owed"
    unit.serial_key = serial_key(unit.serial)
    unit.save(update_fields=["serial", "serial_key", "evidence"])


def named(writes: Writing) -> bool:
    """Let a serial that nobody has here be that of a box which owes one, where the subject's lie.

    Of several boxes the first takes it: which of them it was in cannot be told any more, and all
    travel together. A serial that was entered and undone is of a unit by the supplier's: that one
    lies in the box, and what stood in for it leaves the book.
    """
    thing, subject, known = writes.thing, writes.line.subject, writes.thing.unit
    away = thing.kind == "unit" and known and standing(known.place) in NOT_HERE
    if thing.item is None or not subject or not (away or thing.kind == "serial"):
        return False
    around = Q(place__subject=subject) | Q(place__parent__subject=subject)
    owing = Unit.objects.filter(around, item=thing.item, evidence="owed")
    unit = owing.select_related("item", "lot", "place").order_by("pk").first()
    if unit is None:
        return False
    if known is not None and unit.place is not None:
        box = unit.place
        writes.unit(unit, outside(PlaceKind.SUPPLIER))
        writes.unit(known, box, came_from=outside(PlaceKind.SUPPLIER))
        writes.learned.append(known)
        return True
    name(writes, unit, thing.serial, "seen")
    writes.thing = replace(thing, kind="unit", unit=unit)
    return True


def came_in(box: Place | None, item: Item) -> Unit | None:
    """Return a unit with a serial that was received in this box, or named in it, before."""
    if box is None:
        return None
    # All of one movement: an undo moves too, and is never undone itself.
    came = Unit.objects.filter(
        item=item,
        movements__to_place=box,
        movements__event__step="receive",
        movements__event__reversed_by=None,
    )
    return came.exclude(evidence="owed").order_by("pk").first()
