"""A parcel is full: what is packed from now on goes into the next one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, QuerySet

from inventory.intake import Act, Verdict
from inventory.models import Holding, Place, PlaceKind, Role, Unit
from inventory.moving import CannotMove, Writing
from kitting import access, gates, packing
from kitting.models import Kit, Package


def parcel_full(writes: Writing) -> Verdict:
    """Close the kit's newest parcel for more: its bags that are still empty move to a new one."""
    kit = gates.open_kit(writes)
    gates.not_cancelled(kit)
    full = newest(kit)
    if full is None:
        raise CannotMove(f"{kit.code} has no parcel: all of it stands in the bay")
    if full.within(PlaceKind.VAN, PlaceKind.SITE) is not None:
        raise CannotMove(f"{full.name} has left the bench")
    if not _holds_something(full):
        raise CannotMove(f"{full.name} is empty by the book")
    fresh = _empty_one(kit) or packing.another_parcel(kit, full)
    for bag in bags_in(full):
        if not _holds_something(bag):
            writes.container(bag, fresh)
    return Verdict("applied", f"{full.name} is full. {fresh.name} is next: print its label.")


def newest(kit: Kit) -> Place | None:
    """Return the parcel that is packed now: the last one with bags or anything else in it."""
    return packed_now(with_use(kit.packages.filter(kind=Package.Kind.PARCEL)))


def packed_now(packages: Iterable[Any]) -> Place | None:
    """The same among packages that `with_use` gave."""
    parcels = [one for one in packages if one.kind == Package.Kind.PARCEL]
    last = max(parcels, key=lambda one: (one.used, one.number), default=None)
    return last.place if last else None


def _empty_one(kit: Kit) -> Place | None:
    """A parcel that was begun and taken back: nothing is in it, not even a bag."""
    parcels = with_use(kit.packages.filter(kind=Package.Kind.PARCEL)).order_by("number")
    begun = [package.place for package in parcels if not package.used]
    at_bench = [one for one in begun if one.within(PlaceKind.VAN, PlaceKind.SITE) is None]
    return next(iter(at_bench), None)


def with_use(packages: QuerySet[Package]) -> QuerySet[Any]:
    """The packages with their places; `used`: a bag or anything else is in it."""
    here = OuterRef("place")
    used = (
        Exists(Place.objects.filter(parent=here))
        | Exists(Unit.objects.filter(place=here))
        | Exists(Holding.objects.filter(place=here, quantity__gt=0))
    )
    found = packages.select_related("place__parent__parent")
    return found.annotate(used=ExpressionWrapper(used, output_field=BooleanField()))


def bags_in(parcel: Place) -> list[Place]:
    """Return the kit's bags in a parcel, by number."""
    bags = Place.objects.filter(parent=parcel, package__kind=Package.Kind.BAG)
    return list(bags.order_by("package__number"))


def _holds_something(place: Place) -> bool:
    inside = [place.pk, *Place.objects.filter(parent=place).values_list("pk", flat=True)]
    units = Unit.objects.filter(place__in=inside)
    return units.exists() or Holding.objects.filter(place__in=inside, quantity__gt=0).exists()


PARCEL_FULL = Act(
    "parcel_full", frozenset({Role.WAREHOUSE, Role.MANAGER}), parcel_full, allow=access.allow
)
