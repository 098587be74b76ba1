"""Where things may be taken from: boxes of other things, the van's own stock, the shelves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.ledger.steps import Standing
from inventory.models import (
    CartonContent,
    Hold,
    Holding,
    Item,
    Lot,
    Place,
    PlaceKind,
    Tracking,
    Unit,
)
from inventory.queries import standing
from kitting.models import Kit

UP = "place__parent__parent__parent__parent"  # a place with everything it stands in


@dataclass(frozen=True, slots=True)
class Spot:
    """Where some of an item stands and may be taken from."""

    place: Place
    lot: Lot
    quantity: int  # base units
    unit: Unit | None = None  # for a thing with a serial: a suggestion, any other counts as well


def in_boxes(kit: Kit) -> dict[int, list[tuple[Item, int]]]:
    """Return item id -> (item whose box brings it, base units) for what the boxes of the kit hold.

    Only contents dated on or before the day of the job and not in doubt count; of several dates
    the latest.
    """
    lines = list(kit.lines.select_related("item"))
    boxes: dict[int, int] = defaultdict(int)
    for line in lines:
        boxes[line.item_id] += line.quantity
    needed = {line.item_id for line in lines}
    contents = CartonContent.objects.filter(
        box_of__in=boxes, item__in=needed, since__lte=kit.job.date
    ).select_related("box_of")
    latest: dict[tuple[int, int], CartonContent] = {}
    for content in contents.order_by("since"):
        latest[content.box_of_id, content.item_id] = content
    brought: dict[int, list[tuple[Item, int]]] = defaultdict(list)
    for (box_of, item), content in sorted(latest.items()):
        if not content.doubted:
            brought[item].append((content.box_of, content.quantity * boxes[box_of]))
    return brought


def on_the_van(van: Place | None, items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what of it the van always carries: loose on it, in no kit's parcel."""
    found: dict[int, list[Spot]] = defaultdict(list)
    if van is None:
        return found
    for spot in _spots(items, Standing.VAN):
        around = spot.place.within(PlaceKind.VAN)
        if around is not None and around.pk == van.pk:
            found[spot.lot.item_id].append(spot)
    return found


def on_shelves(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> spots on our shelves: first expired first, then in walking order."""
    found: dict[int, list[Spot]] = defaultdict(list)
    for spot in _spots(items, Standing.SHELF):
        found[spot.lot.item_id].append(spot)
    return found


def _spots(items: Iterable[int], where: Standing) -> list[Spot]:
    """Every spot of these items that stands so and is not set aside, in the order of taking."""
    wanted = list(items)
    holds = Hold.objects.filter(release=None)
    lots = set(holds.exclude(lot=None).values_list("lot_id", flat=True))
    places = set(holds.exclude(place=None).values_list("place_id", flat=True))
    units_aside = holds.exclude(unit=None).values_list("unit_id", flat=True)
    holdings = Holding.objects.filter(lot__item__in=wanted, quantity__gt=0, outside=False)
    holdings = holdings.exclude(lot__item__tracking=Tracking.SERIAL)
    spots = [
        Spot(holding.place, holding.lot, holding.quantity)
        for holding in holdings.select_related("lot__item", UP)
    ]
    units = Unit.objects.filter(item__in=wanted, place__isnull=False).exclude(pk__in=units_aside)
    spots += [
        Spot(unit.place, unit.lot, 1, unit)
        for unit in units.select_related("item", "lot__item", UP)
        if unit.place is not None
    ]
    usable = [
        spot
        for spot in spots
        if spot.lot.pk not in lots
        and places.isdisjoint(place.pk for place in spot.place.way_up())
        and standing(spot.place) is where
        and not any(place.outside for place in spot.place.way_up())
    ]
    return sorted(usable, key=_order_of_taking)


def _order_of_taking(spot: Spot) -> tuple[bool, str, int, str, str]:
    expires = spot.lot.expires_on
    shelf = next((p for p in spot.place.way_up() if p.kind == PlaceKind.BIN), spot.place)
    serial = spot.unit.serial_key if spot.unit else spot.lot.key
    return (expires is None, str(expires), shelf.order, shelf.code, serial)


def stock_in(places: Sequence[Place], item: Item | None = None) -> list[Holding]:
    """Return what is held by number in these places, in their order, first expired first.

    Things with a serial are left out: they are moved one by one.
    """
    order = {place.pk: number for number, place in enumerate(places)}
    held = Holding.objects.filter(place__in=order, quantity__gt=0)
    held = held.exclude(lot__item__tracking=Tracking.SERIAL)
    if item is not None:
        held = held.filter(lot__item=item)
    return sorted(
        held.select_related("place", "lot__item"),
        key=lambda h: (
            order[h.place_id],
            h.lot.expires_on is None,
            str(h.lot.expires_on),
            h.lot.item.code,
            h.lot.key,
        ),
    )


def proposed_place(item: Item) -> Place | None:
    """Return the first place to take this item from, None if the book knows none."""
    spots = on_shelves([item.pk])[item.pk]
    return spots[0].place if spots else None
