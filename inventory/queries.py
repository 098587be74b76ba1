"""Every reading question of the lower house."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import Model, Q, QuerySet, Sum

from inventory.ledger.steps import Standing
from inventory.ledger.tree import root
from inventory.models import (
    Device,
    DeviceGap,
    Hold,
    Holding,
    Item,
    Lot,
    Place,
    PlaceKind,
    RecordMark,
    Unit,
)
from inventory.rows import Question, Slot, found

_SHELF = (PlaceKind.DEPOT, PlaceKind.DOCK, PlaceKind.BIN, PlaceKind.BAY)


EMPTY_LEDGER: dict[str, int | str] = {"size": 0, "root": root([]).hex()}
M = TypeVar("M", bound=Model)
_PLACE_OF_CODE = Question(
    lambda: Place.objects.filter(code=Slot(Place, "code")).select_related("parent")
)
_STOCK_AT = Question(
    lambda: Holding.objects.filter(
        place=Slot(Holding, "place"), lot__item=Slot(Lot, "item"), quantity__gt=0
    ).select_related("lot__item")
)
_HELD = "SELECT quantity FROM inventory_holding WHERE place_id = %s AND lot_id = %s"


def the_one(rows: QuerySet[M]) -> M | None:
    """Return the only row, None if there is none.

    `first` would sort one row, and building that statement costs more than reading the row.
    """
    return next(iter(rows.order_by()[:1]), None)


def place_of_code(code: str) -> Place | None:
    """Return the place whose label says this, with what it stands in; None for no such label."""
    return _PLACE_OF_CODE.one(code=code) if code else None


def standing(place: Place | None, subject: str = "", site: Place | None = None) -> Standing:
    """Return where a thing at `place` stands, seen from the kit `subject` whose site is `site`."""
    if place is None:
        return Standing.NOWHERE
    if place.kind in (PlaceKind.SUPPLIER, PlaceKind.CARRIER):
        return Standing.OUTSIDE
    if place.outside:
        return Standing.GONE
    stack, own_site = place.within(PlaceKind.STACK), place.within(PlaceKind.SITE)
    ours = site is not None and own_site is not None and own_site.pk == site.pk
    if stack is not None:
        return Standing.STACK if ours else Standing.OTHER_STACK
    packed = next((p for p in place.way_up() if p.subject), None)
    if packed is not None:
        return Standing.PARCEL if packed.subject == subject else Standing.OTHER_PARCEL
    if own_site is not None:
        return Standing.SITE if ours else Standing.OTHER_SITE
    return Standing.VAN if place.within(PlaceKind.VAN) else Standing.SHELF


def within(places: Iterable[Place]) -> list[Place]:
    """Return these places and everything that stands in them, at most five levels down."""
    level, found = list(places), list(places)
    while level:
        level = list(Place.objects.filter(parent__in=level).select_related("parent"))
        found += level
    return found


def open_hold(unit: Unit) -> Hold | None:
    """Return the oldest open hold that sets this unit aside: on it, its batch or its box."""
    around = unit.place.way_up() if unit.place else []
    on_it = Q(unit=unit) | Q(lot=unit.lot_id) | Q(place__in=around)
    return Hold.objects.filter(on_it, release=None).order_by("pk").first()


def holds_to_tell() -> QuerySet[Hold]:
    """Return what is set aside, but for the boxes of what a recall names: each thing in them is
    told by itself, and a box is free with it."""
    return Hold.objects.filter(release=None).exclude(place__isnull=False, hit__isnull=False)


def latest_mark() -> dict[str, int | str]:
    """Return the record mark as {"size", "root" (hex)}; of an empty ledger size 0."""
    mark = RecordMark.objects.order_by("-size").values("size", "root").first()
    return {"size": mark["size"], "root": mark["root"]} if mark else EMPTY_LEDGER


def holds_mark(noted: str) -> bool:
    """Whether the record is still the one that somebody noted as SIZE:ROOT, with more or not."""
    size, _, root = noted.partition(":")
    return size in ("", "0") or RecordMark.objects.filter(size=size, root=root).exists()


def gaps_of(event_ids: Iterable[str]) -> list[list[int]]:
    """Return the numbers that never came, as [first, last], of the devices that sent these."""
    gaps = DeviceGap.objects.filter(device__events__uid__in=list(event_ids)).distinct()
    return [[first, last] for first, last in gaps.order_by("first").values_list("first", "last")]


def numbers_of(device: UUID) -> tuple[int, list[list[int]]]:
    """Return the highest number that came from a device (0 of none) and its gaps, [first, last]."""
    highest = Device.objects.filter(uid=device).values_list("high_water", flat=True).first()
    gaps = DeviceGap.objects.filter(device__uid=device).order_by("first")
    return highest or 0, [list(gap) for gap in gaps.values_list("first", "last")]


def unexplained(item: Item) -> int:
    """Return the balance of `unexplained` in base units: below zero, more was taken than booked."""
    stock = Holding.objects.filter(place__kind=PlaceKind.UNEXPLAINED, lot__item=item)
    return stock.aggregate(total=Sum("quantity"))["total"] or 0


def held(place: Place, lot: Lot) -> int:
    """Return how many base units of the lot the book has at the place."""
    return sum(quantity for (quantity,) in found(_HELD, [place.pk, lot.pk]))


def stock_at(place: Place, item: Item) -> list[Holding]:
    """Return what the book has of an item at a place: first expired first, undated last.

    Of one day what was opened comes before what was not.
    """
    return sorted(
        _STOCK_AT.ask(place=place.pk, item=item.pk),
        key=lambda h: (
            h.lot.expires_on is None,
            str(h.lot.expires_on),
            h.lot.parent_id is None,
            h.lot.key,
        ),
    )
