"""What the pages of the lower house list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from django.db.models import Case, Count, F, OuterRef, Q, QuerySet, Subquery, Sum, When

from inventory.models import Finding, Hold, Holding, Item, Person, Place, PlaceKind, Unit
from inventory.models.places import LEFT_US, OUTSIDE, OWN_KINDS
from inventory.queries import holds_to_tell
from inventory.scanning import UP

AT_SITES = (PlaceKind.SITE, PlaceKind.STACK)
FEW_FIRST = (PlaceKind.DEPOT, PlaceKind.DOCK, PlaceKind.VAN, PlaceKind.BAY, PlaceKind.BIN)
HERE = tuple(kind for kind in PlaceKind if kind not in {*OUTSIDE, *AT_SITES})


def stock_list(search: str = "") -> QuerySet[Item]:
    """Items by code; `search` names parts of code and name."""
    items = Item.objects.order_by("code")
    for word in search.split():
        items = items.filter(Q(code__icontains=word) | Q(name__icontains=word))
    return items


def here() -> dict[int, tuple[int, int]]:
    """Of each item we have: base units in depots, vans and parcels, and in how many places.

    Asked from the places, which are few beside the sites: it costs what lies there now.
    """
    there = Holding.objects.filter(place__kind__in=HERE, quantity__gt=0).order_by()
    # Not Count("place", distinct=True): with it SQLite walks every batch there ever was.
    rows = there.values_list("lot__item", "place").annotate(Sum("quantity"))
    found: dict[int, tuple[int, int]] = {}
    for item, _, quantity in rows:
        total, places = found.get(item, (0, 0))
        found[item] = (total + quantity, places + 1)
    return found


def holdings_of(item: Item, *, sites: bool = False) -> QuerySet[Holding]:
    """What the book has of an item at places of ours, or at sites, with lot and place."""
    there = Holding.objects.filter(quantity__gt=0)
    if sites:
        found = there.filter(lot__item=item, place__kind__in=AT_SITES)
    else:  # a sum, so that no database begins with all batches the item ever had
        of = F("lot__item") + 0
        found = there.alias(of=of).filter(of=item.pk, place__kind__in=HERE)
    whole = found.select_related("lot", f"place__{UP}")
    return whole.order_by("place__order", "place__code", "lot__key", "pk")


def units_of(item: Item) -> QuerySet[Unit]:
    """An item's units with where they stand, newest first."""
    return item.units.select_related(f"place__{UP}").order_by("-pk")


def numbered(found: QuerySet[Finding]) -> QuerySet[Finding]:
    """Problems with `nth`: which of those of their event, 1 up."""
    same = Finding.objects.filter(event=OuterRef("event"), pk__lte=OuterRef("pk")).order_by()
    return found.annotate(nth=Subquery(same.values("event").annotate(n=Count("pk")).values("n")))


def open_findings() -> QuerySet[Finding]:
    """Problems nobody has answered, newest first, each with `nth`."""
    found = numbered(Finding.objects.filter(answer=None)).order_by("-pk")
    return found.select_related("event__person", "unit__item", "item", "place")


def open_holds() -> QuerySet[Hold]:
    """What is set aside and has not left us, oldest first, with where it stands."""
    found = holds_to_tell().exclude(unit__place__kind__in=LEFT_US).order_by("pk")
    around = (
        "unit__item",
        f"unit__place__{UP}",
        "lot__item",
        f"place__{UP}",
        "event__person",
        "hit",
    )
    return found.select_related(*around)


class Aside(NamedTuple):
    """A thing that is set aside, for one reason or several."""

    hold: Hold  # the oldest
    reasons: tuple[str, ...]
    of_recall: bool  # one of them is a recall's


def things_aside() -> list[Aside]:
    """Each thing that is set aside, once, the oldest first."""
    found: dict[tuple[int | None, ...], list[Hold]] = {}
    for hold in open_holds():
        found.setdefault((hold.unit_id, hold.lot_id, hold.place_id), []).append(hold)
    return [
        Aside(
            holds[0],
            tuple(dict.fromkeys(hold.reason for hold in holds)),
            any(hasattr(hold, "hit") for hold in holds),
        )
        for holds in found.values()
    ]


def every_place(search: str = "") -> QuerySet[Place]:
    """Depots, docks, bins, bays of ours and vans, those in use first, in walking order.

    None that belong to a kit. What is kept for returns comes last of its kind. Each word of
    `search` is part of the name, of the label's code, or of what it stands in.
    """
    found = Place.objects.filter(kind__in=OWN_KINDS, subject="")
    for word in search.split():
        there = Q(parent__name__icontains=word) | Q(code__icontains=word)
        found = found.filter(Q(name__icontains=word) | there)
    return found.select_related("parent").order_by("-in_use", "kind", "purpose", "order", "code")


def places_few_first(search: str = "") -> QuerySet[Place]:
    """The same, depots, docks and vans before the many bins."""
    turn = Case(*(When(kind=kind, then=n) for n, kind in enumerate(FEW_FIRST)))
    found = every_place(search)
    return found.order_by("-in_use", turn, "purpose", "order", "name", "code")


def our_places() -> QuerySet[Place]:
    """Every place of ours that is in use."""
    return every_place().filter(in_use=True)


def our_vans(also: str | int | None = None) -> QuerySet[Place]:
    """Return the vans in use by name, and the one of this id whether it is or not."""
    return Place.objects.filter(Q(in_use=True) | Q(pk=also or None), kind=PlaceKind.VAN).order_by(
        "name"
    )


def docks() -> Sequence[Place]:
    """Where deliveries are received: docks first, else depots."""
    found = our_places().filter(kind=PlaceKind.DOCK)
    return list(found) or list(our_places().filter(kind=PlaceKind.DEPOT))


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
