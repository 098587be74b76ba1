"""The only writer of stock. Every change is made for an event, inside its transaction.

Double entry: what leaves one place enters another in the same row. Holdings, a unit's place and
a container's parent stand beside the ledger and are changed here and nowhere else.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import F

from inventory.models import (
    ContainerMove,
    Event,
    Finding,
    FindingAnswer,
    Holding,
    Hold,
    HoldRelease,
    Item,
    Kept,
    Lot,
    Movement,
    Place,
    PlaceKind,
    Reversal,
    Unit,
    UnitAlias,
)
from inventory.models.places import DEPTH, MOVABLE

if TYPE_CHECKING:
    from inventory.ledger.line import Line
    from inventory.models import Person
    from inventory.scanning import Thing


class CannotMove(Exception):
    """An act asked for a movement that the laws forbid; the sentence says why."""


@dataclass(slots=True)
class Writing:
    """One event being carried out: the only handle through which stock changes."""

    event: Event
    line: Line
    person: Person
    thing: Thing

    def unit(self, unit: Unit, to: Place, came_from: Place | None = None) -> Movement:
        """Move a unit from wherever it stands; one that stood nowhere from `came_from`.

        Without that too it comes from `unexplained`.
        """
        start = unit.place or came_from or outside(PlaceKind.UNEXPLAINED)
        if start.pk == to.pk:
            raise CannotMove(f"{unit} stands at {to} already")
        movement = Movement.objects.create(
            event=self.event, unit=unit, lot=unit.lot, from_place=start, to_place=to, quantity=1
        )
        self._hold_change(start, unit.lot, -1)
        self._hold_change(to, unit.lot, 1)
        unit.place = to
        Unit.objects.filter(pk=unit.pk).update(place=to)
        return movement

    def lot(self, lot: Lot, start: Place, to: Place, quantity: int) -> Movement:
        """Move a quantity (base units, 1 up) of a lot. Raises CannotMove if it is not there."""
        if start.pk == to.pk or quantity < 1:
            raise CannotMove(f"expected another place and at least 1, got {start}, {quantity}")
        if not start.outside and held(start, lot) < quantity:
            raise CannotMove(f"expected {quantity} of {lot} at {start}, got {held(start, lot)}")
        movement = Movement.objects.create(
            event=self.event, lot=lot, from_place=start, to_place=to, quantity=quantity
        )
        self._hold_change(start, lot, -quantity)
        self._hold_change(to, lot, quantity)
        return movement

    def item(self, item: Item, start: Place, to: Place, quantity: int) -> int:
        """Move a quantity of an item, first expired first; the hand wins over the book.

        What the book lacks at `start` takes its other leg from `unexplained`, and one count of
        that place is asked for if the item is kept there. Returns that lacking quantity.
        """
        lacking = quantity
        for holding in stock_at(start, item):
            part = min(lacking, holding.quantity)
            if part:
                self.lot(holding.lot, start, to, part)
                lacking -= part
        if lacking:
            self.lot(nameless(item), outside(PlaceKind.UNEXPLAINED), to, lacking)
            if Kept.objects.filter(place=start, item=item).exists():
                self.finding(
                    Finding.Kind.COUNT,
                    f"Count {item.name} at {start.name}: the book had {quantity - lacking}, "
                    f"the hand took {quantity}.",
                    item=item,
                    place=start,
                    quantity=lacking,
                )
        return lacking

    def arrive(self, lot: Lot, start: Place, to: Place, quantity: int) -> None:
        """Book an arrival; what was taken before it was booked is paid back first."""
        self.lot(lot, start, to, quantity)
        if lot.item.tracking == "serial":
            return
        unexplained = outside(PlaceKind.UNEXPLAINED)
        for debt in Holding.objects.filter(
            place=unexplained, lot__item=lot.item, quantity__lt=0
        ).order_by("pk"):
            part = min(-debt.quantity, held(to, lot))
            if part:
                self.lot(lot, to, unexplained, part)

    def container(self, place: Place, to: Place) -> ContainerMove:
        """Move a box, parcel or bag with all that is in it. Raises CannotMove if it can't go."""
        if place.kind not in MOVABLE:
            raise CannotMove(f"expected a box, parcel or bag, got {place.get_kind_display()}")
        if place in to.way_up() or len(to.way_up()) >= DEPTH:
            raise CannotMove(f"{place} cannot stand in {to}")
        if place.parent_id == to.pk:
            raise CannotMove(f"{place} stands in {to} already")
        move = ContainerMove.objects.create(
            event=self.event, place=place, from_parent=place.parent, to_parent=to
        )
        place.parent = to
        Place.objects.filter(pk=place.pk).update(parent=to)
        return move

    def set_aside(self, thing: Unit | Lot | Place, reason: str) -> Hold:
        """Open a hold on a unit, a lot or a container; it stays where it is."""
        name = {Unit: "unit", Lot: "lot", Place: "place"}[type(thing)]
        return Hold.objects.create(event=self.event, reason=reason, **{name: thing})

    def release(self, hold: Hold) -> HoldRelease:
        """End a hold."""
        return HoldRelease.objects.create(event=self.event, hold=hold)

    def finding(
        self,
        kind: str,
        words: str,
        *,
        unit: Unit | None = None,
        item: Item | None = None,
        place: Place | None = None,
        quantity: int = 1,
    ) -> Finding:
        """Open a problem; photo and note are those the event names."""
        return Finding.objects.create(
            event=self.event,
            kind=kind,
            words=words[:300],
            unit=unit,
            item=item or (unit.item if unit else None),
            place=place,
            quantity=quantity,
            subject=self.line.subject,
            photo=self.line.photo,
            note=self.line.note,
        )

    def answer(self, finding: Finding, words: str) -> FindingAnswer:
        """Close a problem with what was done about it."""
        return FindingAnswer.objects.create(event=self.event, finding=finding, words=words[:300])

    def keep(self, place: Place, item: Item) -> None:
        """From this event on the item is kept at this place."""
        Kept.objects.get_or_create(place=place, item=item, defaults={"event": self.event})

    def meet(
        self, item: Item, serial: str, key: str, *, evidence: str, provisional: bool = False
    ) -> Unit:
        """Enter a unit that nobody has entered before; it stands nowhere until it is moved."""
        return Unit.objects.create(
            item=item,
            lot=nameless(item),
            serial=serial,
            serial_key=key,
            evidence=evidence,
            provisional=provisional,
        )

    def box(self, code: str, name: str, at: Place) -> Place:
        """Enter a box that has just been received and stands at `at`."""
        place = Place.objects.create(kind=PlaceKind.CARTON, code=code, name=name)
        self.container(place, at)
        return place

    def seen(self, unit: Unit) -> None:
        """Somebody read the serial on the unit itself."""
        if unit.evidence != "seen":
            unit.evidence = "seen"
            Unit.objects.filter(pk=unit.pk).update(evidence="seen")

    def link(self, unit: Unit, kind: str, text: str, key: str) -> UnitAlias:
        """Let another text mean this unit (a box label, our own label, a reported serial)."""
        alias, _ = UnitAlias.objects.get_or_create(
            key=key, defaults={"unit": unit, "kind": kind, "text": text}
        )
        return alias

    def undo(self, done: Event) -> None:
        """Put back everything that `done` moved. Raises CannotMove if something moved on since."""
        for move in done.movements.select_related("unit", "lot", "to_place", "from_place"):
            self._undo_movement(move)
        for box in done.container_moves.select_related("place", "from_parent"):
            if box.place.parent_id != box.to_parent_id or box.from_parent is None:
                raise CannotMove(f"{box.place.name} has moved on since")
            self.container(box.place, box.from_parent)
        for hold in done.holds.filter(release=None):
            self.release(hold)
        for finding in done.findings.filter(answer=None):
            self.answer(finding, "Undone.")
        Reversal.objects.create(event=self.event, reversed=done)

    def _undo_movement(self, move: Movement) -> None:
        if move.unit is None:
            self.lot(move.lot, move.to_place, move.from_place, move.quantity)
            return
        if move.unit.place_id != move.to_place_id:
            raise CannotMove(f"{move.unit} has moved on since")
        self.unit(move.unit, move.from_place)

    @staticmethod
    def _hold_change(place: Place, lot: Lot, change: int) -> None:
        changed = Holding.objects.filter(place=place, lot=lot).update(
            quantity=F("quantity") + change
        )
        if not changed:
            Holding.objects.create(place=place, lot=lot, quantity=change, outside=place.outside)


def outside(kind: str) -> Place:
    """Return the one place of this outside kind, made on first use."""
    place, _ = Place.objects.get_or_create(
        kind=kind, code=kind.upper(), defaults={"name": PlaceKind(kind).label.capitalize()}
    )
    return place


def nameless(item: Item) -> Lot:
    """Return the item's nameless lot, made on first use."""
    lot, _ = Lot.objects.get_or_create(item=item, key="", defaults={"number": ""})
    return lot


def batch(item: Item, number: str, key: str, expires_on: object = None) -> Lot:
    """Return the item's lot of this number, made on first use."""
    lot, _ = Lot.objects.get_or_create(
        item=item, key=key, defaults={"number": number, "expires_on": expires_on}
    )
    return lot


def held(place: Place, lot: Lot) -> int:
    """Return how many base units of the lot the book has at the place."""
    return (
        Holding.objects.filter(place=place, lot=lot).values_list("quantity", flat=True).first() or 0
    )


def stock_at(place: Place, item: Item) -> list[Holding]:
    """Return what the book has of an item at a place: first expired first, undated last."""
    found = Holding.objects.filter(place=place, lot__item=item, quantity__gt=0)
    return sorted(
        found.select_related("lot__item"),
        key=lambda h: (h.lot.expires_on is None, str(h.lot.expires_on), h.lot.key),
    )


def find_event(uid: uuid.UUID) -> Event | None:
    """Return the event of this id, if it ever came."""
    return Event.objects.filter(uid=uid).first()
