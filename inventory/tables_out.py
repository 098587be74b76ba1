"""Rows of the tables handed out that this house knows; the columns are those of bringing/."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date

from django.db.models import QuerySet

from inventory.codes.serials import ENDS, look_up_key
from inventory.handing_out import AT_ONCE, LeftOut, Row
from inventory.models import (
    Holding,
    Item,
    ItemCode,
    Kept,
    ListedSerial,
    Partner,
    Place,
    Tracking,
    Unit,
)
from inventory.models.places import OUTSIDE, OWN_KINDS

NO_COUNT = "no"  # of a quantity: it is the book's, nobody has counted it


def items(left: LeftOut) -> Iterator[Row]:
    """Every item; what nobody entered stays empty."""
    for item in Item.objects.iterator(chunk_size=AT_ONCE):
        yield {
            "code": item.code,
            "name": item.name,
            "followed": item.tracking,
            "unit": item.unit,
            "grams": item.mass_g or None,
            "opened days": item.opened_days,
            "cost": item.cost / 100 if item.cost else None,
            "cost for": item.cost_for if item.cost else None,
        }


def codes(left: LeftOut) -> Iterator[Row]:
    """Every printed text that means an item."""
    rows = ItemCode.objects.filter(label_pattern=False).select_related("item")
    for code in rows.order_by("item__code", "key").iterator(chunk_size=AT_ONCE):
        yield {"item": code.item.code, "code": code.text, "quantity": code.pack_quantity}


def labels(left: LeftOut) -> Iterator[Row]:
    """Every pattern of a maker's label."""
    rows = ItemCode.objects.filter(label_pattern=True).select_related("item")
    for code in rows.order_by("item__code", "key").iterator(chunk_size=AT_ONCE):
        yield {"item": code.item.code, "pattern": code.text, "symbol": code.symbology or None}


def suppliers(left: LeftOut) -> Iterator[Row]:
    """Every supplier and carrier."""
    for partner in Partner.objects.order_by("code").iterator(chunk_size=AT_ONCE):
        yield {"code": partner.code, "name": partner.name, "kind": partner.kind}


def places(left: LeftOut) -> Iterator[Row]:
    """Places and vans of ours, each below what it stands in."""
    own = list(_own().filter(in_use=True).select_related("parent"))
    left.add("places that are no longer used", _own().filter(in_use=False).count())
    named = words_for(own)
    for place in sorted(own, key=lambda one: (len(one.way_up()), one.order, one.code)):
        yield {
            "name": place.name,
            "kind": place.kind,
            "inside": named.get(place.parent_id) if place.parent_id else None,
            "code": place.code,
            "order": place.order,
            "time zone": place.time_zone or None,
        }


def _own() -> QuerySet[Place]:
    return Place.objects.filter(kind__in=OWN_KINDS, subject="")


def words_for(places: Iterable[Place]) -> dict[int, str]:
    """Return id -> the name of each place where it alone bears it, else its label code."""
    rows = list(places)
    names = Counter(place.name.casefold() for place in rows)
    labels = {place.code for place in rows}
    return {
        place.pk: place.name
        if names[place.name.casefold()] == 1 and plain(place.name, labels)
        else place.code
        for place in rows
    }


def plain(name: str, codes: set[str]) -> bool:
    """Whether a name is read back as it stands, and as no code of something else."""
    return name != "" and name == " ".join(name.split()) and look_up_key(name) not in codes


def stock(left: LeftOut) -> Iterator[Row]:
    """What lies loose at places of ours by batch, then what stands there by its serial."""
    named = words_for(_own())
    yield from _quantities(named, left)
    units = Unit.objects.filter(place__in=named).select_related("item", "lot")
    elsewhere = Unit.objects.exclude(place__in=named).exclude(place__kind__in=_NOT_HERE)
    left.add("things in boxes, parcels and bags", elsewhere.exclude(place=None).count())
    for unit in units.order_by("place", "item__code", "serial_key").iterator(chunk_size=AT_ONCE):
        yield {
            "place": named[unit.place_id or 0],
            "item": unit.item.code,
            "batch": serial_of(unit.lot.number) or None,
            "serial": serial_of(unit.serial),
            "revision": unit.revision or None,
            "made on": iso(unit.made_on),
            "last charged": iso(unit.last_charged),
        }


_NOT_HERE = (*OUTSIDE, "site", "stack")


def _quantities(named: dict[int, str], left: LeftOut) -> Iterator[Row]:
    counted = Item.objects.exclude(tracking__in=(Tracking.SERIAL, Tracking.SUPPLY))
    held = Holding.objects.filter(lot__item__in=counted, quantity__gt=0, outside=False)
    boxed = held.exclude(place__in=named).exclude(place__kind__in=_NOT_HERE)
    left.add("quantities in boxes, parcels and bags", boxed.count())
    kept = set(Kept.objects.filter(item__in=counted).values_list("place", "item"))
    empty = {one for one in kept if one[0] in named}
    rows = held.filter(place__in=named).select_related("lot__item")
    for row in rows.order_by("place", "lot__item__code", "lot__key").iterator(chunk_size=AT_ONCE):
        item, lot = row.lot.item, row.lot
        empty.discard((row.place_id, item.pk))
        yield {
            "place": named[row.place_id],
            "item": item.code,
            "quantity": row.quantity,
            "unit": item.unit,
            "counted": None if (row.place_id, item.pk) in kept else NO_COUNT,
            "batch": serial_of(lot.number) or None,
            "use by": iso(lot.expires_on),
        }
    codes = dict(Item.objects.filter(pk__in={item for _, item in empty}).values_list("pk", "code"))
    for place, item_id in sorted(empty, key=lambda one: (one[0], codes[one[1]])):
        yield {"place": named[place], "item": codes[item_id], "quantity": 0}


def serials(left: LeftOut) -> Iterator[Row]:
    """What suppliers said they sent, delivery by delivery, as it counts now."""
    rows = ListedSerial.objects.current().select_related("delivery", "item")
    ordered = rows.order_by("delivery", "item__code", "key")
    for row in ordered.iterator(chunk_size=AT_ONCE):
        yield {
            "delivery": row.delivery.code,
            "item": row.item.code,
            "serial": serial_of(row.serial),
            "box": row.box or None,
        }


def serial_of(raw: str) -> str:
    """Return a serial as it came, without what a scanner left at its ends."""
    return raw.strip(ENDS)


def iso(day: date | None) -> str | None:
    """Return a day as 2027-03-31."""
    return day.isoformat() if day else None


TABLES = {
    "items": items,
    "codes": codes,
    "labels": labels,
    "suppliers": suppliers,
    "places": places,
    "stock": stock,
    "serials": serials,
}
