"""What every look at a kit asks: its places, what lies in them, which steps its events had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db.models import Q, QuerySet

from inventory.models import (
    CartonContent,
    Event,
    Finding,
    Holding,
    Item,
    Lot,
    Place,
    Tracking,
    Unit,
)
from inventory.rows import Among, Question, Slot
from inventory.scanning import UP
from kitting import shelves
from kitting.models import AsBuilt, Kit, KitLine, OwnBag
from kitting.shelves import Spot


@dataclass(frozen=True, slots=True)
class Asked:
    """What `fold` asks of a kit first of all, where it was asked of several at once."""

    lines: tuple[list[KitLine], dict[int, int]]  # with the tools of the van's earlier visits
    steps: set[str]
    around: list[Place]
    held: list[Sequence[Any]]
    findings: list[Sequence[Any]]
    boxes: list[CartonContent]
    tools: dict[int, list[Spot]]  # that go along with the crew


def _held() -> QuerySet[Holding, tuple[int, int, int]]:
    held = Holding.objects.filter(place__in=Among(Holding, "place"), quantity__gt=0)
    return held.values_list("place", "lot__item", "quantity")


STEPS = Question(
    lambda: (
        Event.objects.filter(subject=Slot(Event, "subject"))
        .values_list("step")
        .order_by()
        .distinct()
    )
)
HELD = Question(_held)
HELD_OF_ITEM = Question(lambda: _held().filter(lot__item=Slot(Lot, "item")))


def places(kit: Kit, only: Item | None, *, bags: bool) -> list[Place]:
    """Return the places a kit travels in and the boxes in them; only those that hold an item.

    bags: with the own bags of its crew.
    """
    item = only.pk if only is not None else 0
    found = _around(bags, only is not None).ask(subject=kit.subject, job=kit.job_id, item=item)
    return _in_order(found)


def places_of_each(kits: Sequence[Kit]) -> list[list[Place]]:
    """Return the places of each kit with the own bags of its crew, by one statement."""
    many = [{"subject": kit.subject, "job": kit.job_id, "item": 0} for kit in kits]
    return [_in_order(found) for found in _around(True, False).ask_each(many)]


def _in_order(places: Iterable[Place]) -> list[Place]:
    # Sorted here: a database that sorts such wide rows has Django weigh each of their columns.
    return sorted(places, key=lambda place: (place.order, place.code))


@cache
def _around(bags: bool, of_item: bool) -> Question[Place]:
    """The places of a kit; with the own bags of its crew, and only those that hold an item."""

    def asked() -> QuerySet[Place]:
        which = shelves.in_places_of(Slot(Place, "subject"))
        if bags:
            own = OwnBag.objects.filter(person__jobs=Slot(Kit, "job"))
            which |= Q(pk__in=own.values("place"))
        found = Place.objects.filter(which)
        if of_item:
            some = Holding.objects.filter(lot__item=Slot(Lot, "item"), quantity__gt=0)
            found = found.filter(pk__in=some.values("place"))
        return found.select_related("package", UP).order_by()

    return Question(asked)


def findings(kit: Kit, only: Item | None, around: Iterable[Place]) -> list[Sequence[Any]]:
    """Return (item, kind, quantity, step, answer, unit) of what is missing, damaged or in dispute.

    around: its places and its site, where things stand that others claim.
    """
    claims = only is None or only.tracking == Tracking.SERIAL
    item = only.pk if only is not None else 0
    places = [place.pk for place in around]
    which = _found(claims, only is not None)
    return which.tuples(subject=kit.subject, item=item, places=places)


def findings_of_each(
    kits: Sequence[Kit], around: Sequence[Iterable[Place]]
) -> list[list[Sequence[Any]]]:
    """Return the same of each kit, by one statement. around: of each."""
    many = [
        {"subject": kit.subject, "item": 0, "places": [place.pk for place in places]}
        for kit, places in zip(kits, around, strict=True)
    ]
    return _found(True, False).tuples_each(many)


@cache
def _found(claims: bool, of_item: bool) -> Question[Any]:
    def asked() -> QuerySet[Finding, Any]:
        about = Q(subject=Slot(Finding, "subject"))
        if claims:
            # Of two claims on one thing both kits are in dispute: who has it and who asks.
            standing = AsBuilt.objects.filter(until=None, since__subject=Slot(Event, "subject"))
            ours = Q(unit__place__in=Among(Unit, "place", "places"))
            about |= Q(kind=Finding.Kind.CLASH) & (ours | Q(unit__in=standing.values("unit")))
        found = Finding.objects.filter(
            about,
            kind__in=(Finding.Kind.MISSING, Finding.Kind.DAMAGED, Finding.Kind.CLASH),
            event__reversed_by=None,
            item__isnull=False,
        )
        found = found.filter(item=Slot(Finding, "item")) if of_item else found
        return found.values_list("item", "kind", "quantity", "event__step", "answer", "unit")

    return Question(asked)
