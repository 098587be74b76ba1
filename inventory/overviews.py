"""What the pages of the lower house list."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Count, Q, QuerySet, Sum

from inventory.models import Finding, Hold, Holding, Item, Person, Place, PlaceKind, Unit
from inventory.scanning import UP

AT_SITES = (PlaceKind.SITE, PlaceKind.STACK)


def stock_list(search: str = "") -> QuerySet[Item]:
    """Items with `total` (base units in depots, vans and parcels) and `places`, by code."""
    ours = Q(lots__holdings__outside=False, lots__holdings__quantity__gt=0)
    ours &= ~Q(lots__holdings__place__kind__in=AT_SITES)
    items = Item.objects.order_by("code")
    for word in search.split():
        items = items.filter(Q(code__icontains=word) | Q(name__icontains=word))
    return items.annotate(
        total=Sum("lots__holdings__quantity", filter=ours),
        places=Count("lots__holdings__place", filter=ours, distinct=True),
    )


def holdings_of(item: Item) -> QuerySet[Holding]:
    """What the book has of an item at places of ours and at sites, with lot and place."""
    found = Holding.objects.filter(lot__item=item, outside=False, quantity__gt=0)
    return found.select_related("lot", f"place__{UP}").order_by("place__order", "place__code")


def units_of(item: Item) -> QuerySet[Unit]:
    """An item's units with where they stand, newest first."""
    return item.units.select_related(f"place__{UP}").order_by("-pk")


def open_findings() -> QuerySet[Finding]:
    """Problems nobody has answered, newest first."""
    found = Finding.objects.filter(answer=None).order_by("-pk")
    return found.select_related("event__person", "unit__item", "item", "place")


def open_holds() -> QuerySet[Hold]:
    """What is set aside, oldest first, with where it stands."""
    found = Hold.objects.filter(release=None).order_by("pk")
    around = (
        "unit__item",
        f"unit__place__{UP}",
        "lot__item",
        f"place__{UP}",
        "event__person",
        "hit",
    )
    return found.select_related(*around)


def our_places() -> QuerySet[Place]:
    """Depots, docks, bins, bays of ours and vans, in walking order; none that belong to a kit."""
    kinds = (PlaceKind.DEPOT, PlaceKind.DOCK, PlaceKind.BIN, PlaceKind.BAY, PlaceKind.VAN)
    found = Place.objects.filter(kind__in=kinds, subject="")
    return found.select_related("parent").order_by("kind", "order", "code")


def docks() -> Sequence[Place]:
    """Where deliveries are received: docks first, else depots."""
    found = Place.objects.filter(kind=PlaceKind.DOCK).order_by("order", "code")
    return list(found) or list(Place.objects.filter(kind=PlaceKind.DEPOT).order_by("code"))


def shelves() -> QuerySet[Place]:
    """Places of ours where stock lies, in walking order; none for returns or what stands apart."""
    kinds = (PlaceKind.BIN, PlaceKind.BAY, PlaceKind.DOCK, PlaceKind.VAN)
    found = Place.objects.filter(kind__in=kinds, subject="", purpose="")
    return found.order_by("kind", "order", "code")


def people() -> QuerySet[Person]:
    """Everybody, those who work here first."""
    return Person.objects.order_by("-is_active", "name")


def asked_counts() -> QuerySet[Finding]:
    """What somebody should count, oldest first; how many the book has is not among it."""
    asked = Finding.objects.filter(kind=Finding.Kind.COUNT, answer=None).order_by("pk")
    return asked.select_related("place", "item")


def asked_refills() -> QuerySet[Finding]:
    """Empty bins that ask to be filled, oldest first."""
    asked = Finding.objects.filter(kind=Finding.Kind.REFILL, answer=None).order_by("pk")
    return asked.select_related("place", "item")


def known_at(place: Place) -> QuerySet[Item]:
    """What the book has at a place or that is kept there, by code, without how many."""
    held = Q(lots__holdings__place=place, lots__holdings__quantity__gt=0)
    here = Item.objects.exclude(tracking="serial").filter(held | Q(kept__place=place))
    return here.distinct().order_by("code")
