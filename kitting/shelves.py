"""Where things may be taken from: the van's own stock, the shelves, a kit's own places."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q
from django.utils import timezone

from inventory import charging
from inventory.ledger.steps import Standing
from inventory.models import Hold, Holding, Item, Kept, Lot, Place, PlaceKind, Tracking, Unit
from inventory.models.places import OUTSIDE
from inventory.queries import standing
from kitting.models import Kit

AWAY = (PlaceKind.STACK, PlaceKind.SITE, *OUTSIDE)  # most of what there ever was: not looked at
UP = "place__parent__parent__parent__parent"  # a place with everything it stands in


@dataclass(frozen=True, slots=True)
class Spot:
    """Where some of an item stands and may be taken from."""

    place: Place
    lot: Lot
    quantity: int  # base units
    unit: Unit | None = None  # for a thing with a serial: a suggestion, any other counts as well
    due: date | None = None  # when the unit has to be charged; None: no rule, or nobody knows
    note: str = ""  # what to look at before it is taken

    def expired(self, day: date) -> bool:
        """Whether its batch keeps no longer than before this day."""
        return self.lot.expires_on is not None and self.lot.expires_on < day


def in_its_places(kit: Kit, path: str = "") -> Q:
    """Restrict rows to the places a kit travels in and the boxes in them; `path` leads to them."""
    ours = f"{path}subject", f"{path}parent__subject"
    return Q((ours[0], kit.subject)) | Q((ours[1], kit.subject))


def on_the_van(
    van: Place | None, items: Iterable[int], *, serials: bool = True
) -> dict[int, list[Spot]]:
    """Return item id -> what of it the van always carries: loose on it, in no kit's parcel.

    serials: whether any of these items is followed by serial.
    """
    found: dict[int, list[Spot]] = defaultdict(list)
    if van is None:
        return found
    for spot in _spots(items, Standing.VAN, serials=serials):
        around = spot.place.within(PlaceKind.VAN)
        if around is not None and around.pk == van.pk:
            found[spot.lot.item_id].append(spot)
    return found


def on_vans(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what of it vans always carry, whichever van: loose, in no kit's parcel."""
    found: dict[int, list[Spot]] = defaultdict(list)
    for spot in _spots(items, Standing.VAN):
        found[spot.lot.item_id].append(spot)
    return found


def on_shelves(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> spots on our shelves: first expired first, then in walking order."""
    found: dict[int, list[Spot]] = defaultdict(list)
    for spot in _spots(items, Standing.SHELF):
        found[spot.lot.item_id].append(spot)
    return found


def on_vans_and_shelves(items: Iterable[int]) -> dict[int, list[Spot]]:
    """Return item id -> what vans always carry and what lies on our shelves, by one look."""
    found: dict[int, list[Spot]] = defaultdict(list)
    for spot in _spots(items, Standing.VAN, Standing.SHELF):
        found[spot.lot.item_id].append(spot)
    return found


def standing_on_shelves(item: Item) -> list[Spot]:
    """Return the single things of an item on our shelves, those that may not go out with them."""
    units = Unit.objects.filter(item=item).exclude(place=None).exclude(place__kind__in=AWAY)
    spots = [
        Spot(unit.place, unit.lot, 1, unit)
        for unit in units.select_related("item", "lot__item", UP)
        if unit.place is not None and standing(unit.place) is Standing.SHELF
    ]
    return sorted(spots, key=_order_of_taking)


def _spots(items: Iterable[int], *where: Standing, serials: bool = True) -> list[Spot]:
    """Every spot of these items that stands so and is not set aside, in the order of taking."""
    wanted = list(items)
    return _usable([*_held(wanted), *(_single(wanted) if serials else ())], *where)


def _held(wanted: list[int]) -> list[Spot]:
    """Where these items lie by number."""
    holdings = Holding.objects.filter(lot__item__in=wanted, quantity__gt=0, outside=False)
    holdings = holdings.exclude(lot__item__tracking=Tracking.SERIAL)
    return [
        Spot(holding.place, holding.lot, holding.quantity)
        for holding in holdings.exclude(place__kind__in=AWAY).select_related("lot__item", UP)
    ]


def _single(wanted: list[int]) -> list[Spot]:
    """Where single things of these items stand; none that has to be charged before it goes out."""
    units = Unit.objects.filter(item__in=wanted, item__tracking=Tracking.SERIAL)
    units = units.exclude(place=None).exclude(place__kind__in=AWAY)
    found = list(units.select_related("item", "lot__item", UP))
    today = timezone.now().date()
    states = {state.unit.pk: state for state in charging.states(found, today)}
    return [
        Spot(unit.place, unit.lot, 1, unit, states[unit.pk].due if unit.pk in states else None)
        for unit in found
        if unit.place is not None and not (unit.pk in states and states[unit.pk].stops(today))
    ]


def _usable(spots: list[Spot], *where: Standing) -> list[Spot]:
    """Those that stand so and are not set aside, in the order of taking."""
    if not spots:
        return []
    lots, places, units = _set_aside()
    usable = [
        spot
        for spot in spots
        if spot.lot.pk not in lots
        and not (spot.unit and spot.unit.pk in units)
        and places.isdisjoint(place.pk for place in spot.place.way_up())
        and standing(spot.place) in where
        # What came back, or stands apart, is no stock before somebody has looked at it.
        and not any(place.outside or place.purpose for place in spot.place.way_up())
    ]
    return sorted(usable, key=_order_of_taking)


def _set_aside() -> tuple[set[int], set[int], set[int]]:
    """Ids of the batches, places and units with an open hold."""
    aside: tuple[set[int], set[int], set[int]] = (set(), set(), set())
    for ids in Hold.objects.filter(release=None).values_list("lot_id", "place_id", "unit_id"):
        for found, pk in zip(aside, ids, strict=True):
            if pk is not None:
                found.add(pk)
    return aside


def _order_of_taking(spot: Spot) -> tuple[bool, bool, str, int, bool, int, str, str]:
    # A bag made ahead is taken whole or, when nothing loose is left, opened.
    bagged = spot.place.kind == PlaceKind.BAG
    # Of things with a serial what is due first; without a rule, what was charged first.
    expires = spot.due or spot.unit.last_charged if spot.unit else spot.lot.expires_on
    shelf = next((p for p in spot.place.way_up() if p.kind == PlaceKind.BIN), spot.place)
    serial = spot.unit.serial_key if spot.unit else spot.lot.key
    # A cable is one piece, never a sum of remnants: the longest piece is looked at first.
    longest = -spot.quantity if spot.lot.item.unit == "mm" else 0
    unopened = spot.lot.parent_id is None
    due = expires is None, str(expires)
    return (bagged, *due, longest, unopened, shelf.order, shelf.code, serial)


def stock_in(
    places: Sequence[Place], item: Item | None = None, first: Lot | None = None
) -> list[Holding]:
    """Return what is held by number in these places, in their order, first expired first.

    Things with a serial are left out: they are moved one by one. first: the batch whose label was
    scanned, before all others.
    """
    order = {place.pk: number for number, place in enumerate(places)}
    held = Holding.objects.filter(place__in=order, quantity__gt=0)
    held = held.exclude(lot__item__tracking=Tracking.SERIAL)
    if item is not None:
        held = held.filter(lot__item=item)
    return sorted(
        held.select_related("place", "lot__item"),
        key=lambda h: (
            first is not None and h.lot_id != first.pk,
            order[h.place_id],
            h.lot.expires_on is None,
            str(h.lot.expires_on),
            h.lot.item.code,
            h.lot.key,
        ),
    )


def proposed_place(item: Item) -> Place | None:
    """Return the first place to take this item from, None if the book knows none."""
    spots = _single([item.pk]) if item.tracking == Tracking.SERIAL else _held([item.pk])
    usable = _usable(spots, Standing.SHELF)
    return usable[0].place if usable else None


def usual_shelves(items: Iterable[int]) -> dict[int, Place]:
    """Return item id -> the shelf it is kept on: where some lies now, else where it was counted."""
    wanted = list(items)
    kept = Kept.objects.filter(item__in=wanted, place__kind=PlaceKind.BIN, place__purpose="")
    found = {one.item_id: one.place for one in kept.select_related("place").order_by("-pk")}
    for item, spots in on_shelves(wanted).items():
        shelf = spots[0].place.within(PlaceKind.BIN)
        if shelf is not None:
            found[item] = shelf
    return found
