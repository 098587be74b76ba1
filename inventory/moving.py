"""The only writer of stock. Every change is made for an event, inside its transaction.

Double entry: what leaves one place enters another in the same row. Holdings, a unit's place and
a container's parent stand beside the ledger and are changed here and nowhere else.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from inventory.codes.serials import key as serial_key
from inventory.models import (
    ContainerMove,
    Event,
    Finding,
    FindingAnswer,
    Hold,
    Holding,
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
from inventory.models.places import DEPTH, moves
from inventory.odd import Odd
from inventory.queries import held, stock_at, unexplained
from inventory.rows import Question, Slot, add, add_all, change, found

if TYPE_CHECKING:
    from datetime import date

    from inventory.ledger.line import Line
    from inventory.models import Person
    from inventory.newcomers import New
    from inventory.scanning import Thing

# Compare and set: the row must still say what the event believes. 0 stands for nowhere.
_TAKE_UNIT = "UPDATE inventory_unit SET place_id = %s WHERE id = %s AND COALESCE(place_id, 0) = %s"
_CHANGE_HOLDINGS = """\
UPDATE inventory_holding SET quantity = quantity + CASE place_id WHEN %s THEN %s ELSE %s END
WHERE lot_id = %s AND place_id IN (%s, %s)"""
_WHERE_HELD = "SELECT place_id FROM inventory_holding WHERE lot_id = %s AND place_id IN (%s, %s)"
MOVED = ("event_id", "unit_id", "lot_id", "from_place_id", "to_place_id", "quantity")
_OUTSIDE = Question(
    lambda: Place.objects.filter(kind=Slot(Place, "kind"), code=Slot(Place, "code"))
)
_NAMELESS = Question(lambda: Lot.objects.filter(item=Slot(Lot, "item"), key=""))


class CannotMove(Exception):
    """An act asked for a movement that the laws forbid; the sentence says why."""


@dataclass(slots=True)
class Writing:
    """One event being carried out: the only handle through which stock changes."""

    event: Event
    line: Line
    person: Person
    thing: Thing
    first: list[Unit] = field(default_factory=list)  # units that stood nowhere before this event
    learned: list[New] = field(default_factory=list)  # of which more is known than before
    odd: list[Odd] = field(default_factory=list)  # counts all the same, and somebody is told

    def unit(self, unit: Unit, to: Place, came_from: Place | None = None) -> None:
        """Move a unit from wherever it stands; one that stood nowhere from `came_from`.

        Without that too it comes from `unexplained`.
        """
        start = unit.place or came_from or outside(PlaceKind.UNEXPLAINED)
        if start.pk == to.pk:
            raise CannotMove(f"{unit} stands at {to} already")
        if not change(_TAKE_UNIT, [to.pk, unit.pk, unit.place_id or 0]):
            raise CannotMove(f"{unit} was moved by somebody else just now")
        if unit.place is None:
            self.first.append(unit)
        self._move(unit.pk, unit.lot, start, to, 1)
        unit.place = to

    def lot(
        self, lot: Lot, start: Place, to: Place, quantity: int, there: int | None = None
    ) -> None:
        """Move a quantity (base units, 1 up) of a lot. Raises CannotMove if it is not there.

        there: what the book has at `start`, where this event has read it already.
        """
        if start.pk == to.pk:
            raise CannotMove(f"{lot} is at {to} already")
        if quantity < 1:
            raise ValueError(f"quantity: expected 1 or more, got {quantity}")
        if there is None and not start.outside:
            there = held(start, lot)
        if there is not None and there < quantity:
            raise CannotMove(f"{lot}: {quantity} asked for at {start}, the book has {there}")
        self._move(None, lot, start, to, quantity)

    def item(self, item: Item, start: Place, to: Place, quantity: int) -> int:
        """Move a quantity of an item, first expired first; the hand wins over the book.

        What the book lacks at `start` takes its other leg from `unexplained`, and one count of
        that place is asked for if the item is kept there. Returns that lacking quantity.
        """
        lacking = quantity
        for holding in stock_at(start, item):
            part = min(lacking, holding.quantity)
            if part:
                self.lot(holding.lot, start, to, part, holding.quantity)
                lacking -= part
        if lacking:
            self.lot(nameless(item), outside(PlaceKind.UNEXPLAINED), to, lacking)
            had = f"the book had {quantity - lacking}, the hand took {quantity}."
            self.ask_count(item, start, lacking, had)
        return lacking

    def ask_count(self, item: Item, place: Place, lacking: int, why: str) -> None:
        """Ask for one count of a place whose book lacked so much, if the item is kept there."""
        kept = Kept.objects.filter(place=place, item=item).exists()
        asked = Finding.objects.filter(kind="count", place=place, item=item, answer=None)
        if kept and not asked.exists():
            words = f"Count {item.name} at {place.name}: {why}"
            self.finding(Finding.Kind.COUNT, words, item=item, place=place, quantity=lacking)

    def arrive(self, lot: Lot, start: Place, to: Place, quantity: int) -> None:
        """Book an arrival; what was taken before it was booked is paid back first."""
        self.lot(lot, start, to, quantity)
        part = min(-unexplained(lot.item), quantity)
        if part > 0:
            self.lot(lot, to, outside(PlaceKind.UNEXPLAINED), part)

    def found(self, lot: Lot, at: Place, quantity: int) -> None:
        """Book what a count found above the book.

        It takes back what went missing without a reason; the rest was never in the book. Were that
        rest owed by `unexplained`, the next delivery would be swallowed to pay for it.
        """
        back = min(max(unexplained(lot.item), 0), quantity)
        for kind, part in (
            (PlaceKind.UNEXPLAINED, back),
            (PlaceKind.ELSEWHERE, quantity - back),
        ):
            if part:
                self.lot(lot, outside(kind), at, part)

    def container(self, place: Place, to: Place) -> ContainerMove:
        """Move a box, parcel or bag with all that is in it. Raises CannotMove if it can't go."""
        if not moves(place.kind, place.subject):
            raise CannotMove(f"{place} is a {place.get_kind_display()} and stays where it is")
        if place.parent_id == to.pk:
            raise CannotMove(f"{place} stands in {to} already")
        if place in to.way_up() or len(to.way_up()) + _levels(place) > DEPTH:
            raise CannotMove(f"{place} cannot stand in {to}")
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
        subject: str = "",
        photo: str = "",
    ) -> Finding:
        """Open a problem; photo and subject are the event's unless given, the note is."""
        return Finding.objects.create(
            event=self.event,
            kind=kind,
            words=words[:300],
            unit=unit,
            item=item or (unit.item if unit else None),
            place=place,
            quantity=quantity,
            subject=subject or self.line.subject,
            photo=photo or self.line.photo,
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
        return add(
            Unit(
                item=item,
                lot=nameless(item),
                serial=serial,
                serial_key=key,
                evidence=evidence,
                provisional=provisional,
            )
        )

    def unit_of(
        self, thing: Thing, *, evidence: str = "box", provisional: bool = True
    ) -> Unit | None:
        """Return the unit that a scan names; a serial nobody entered before is entered now.

        provisional: nobody has received it, goods-in has to confirm it. None: it names no unit.
        """
        if thing.unit is not None or thing.kind != "serial" or thing.item is None:
            return thing.unit
        unit = self.meet(
            thing.item,
            thing.serial,
            serial_key(thing.serial),
            evidence=evidence,
            provisional=provisional,
        )
        if thing is self.thing:
            self.thing = replace(thing, unit=unit)
        return unit

    def box(self, code: str, name: str, at: Place) -> Place:
        """Enter a box that comes from the supplier and is received at `at`."""
        supplier = outside(PlaceKind.SUPPLIER)
        place = Place.objects.create(
            kind=PlaceKind.CARTON, code=code, name=name[:120], parent=supplier
        )
        self.container(place, at)
        return place

    def seen(self, unit: Unit) -> None:
        """Somebody read the serial on the unit itself."""
        if unit.evidence != "seen":
            unit.evidence = "seen"
            Unit.objects.filter(pk=unit.pk).update(evidence="seen")

    def read(self, unit: Unit, **told: str | date | None) -> None:
        """Somebody read this on the unit itself: its revision, made_on."""
        for name, value in told.items():
            setattr(unit, name, value)
        Unit.objects.filter(pk=unit.pk).update(**told)

    def link(self, unit: Unit, kind: str, text: str, key: str) -> UnitAlias:
        """Let another text mean this unit (a box label, our own label, a reported serial).

        Raises CannotMove where the text means another unit already.
        """
        alias, _ = UnitAlias.objects.get_or_create(
            key=key, defaults={"unit": unit, "kind": kind, "text": text}
        )
        if alias.unit_id != unit.pk:
            raise CannotMove(f"{text[:40]} is the label of another unit")
        return alias

    def undo(self, done: Event) -> None:
        """Put back what `done` did beside its movements, which `moving_many.put_back` moves back.

        Raises CannotMove if something moved on since.
        """
        moves = done.container_moves.select_related("place", "from_parent", "to_parent")
        for box in moves.order_by("-pk"):
            if box.place.parent_id != box.to_parent_id:
                raise CannotMove(f"{box.place.name} has moved on since")
            if box.from_parent is None:
                raise CannotMove(f"{box.place.name} stood nowhere before")
            self.container(box.place, box.from_parent)
        # a recall names it all the same
        for hold in done.holds.filter(release=None, hit=None).order_by("pk"):
            self.release(hold)
        released = done.hold_releases.select_related("hold__unit", "hold__lot", "hold__place")
        for ended in released.order_by("pk"):
            hold = ended.hold
            on = hold.unit or hold.lot or hold.place
            assert on is not None, "a hold is on one thing"
            self.set_aside(on, hold.reason)
        for finding in done.findings.filter(answer=None).order_by("pk"):
            self.answer(finding, "Undone.")
        settled = done.answers.select_related("finding__unit", "finding__item", "finding__place")
        for answer in settled.order_by("pk"):
            self._ask_again(answer.finding)
        Reversal.objects.create(event=self.event, reversed=done)

    def _ask_again(self, settled: Finding) -> None:
        self.finding(
            settled.kind,
            settled.words,
            unit=settled.unit,
            item=settled.item,
            place=settled.place,
            quantity=settled.quantity,
            subject=settled.subject,
            photo=settled.photo,
        )

    def _move(self, unit: int | None, lot: Lot, start: Place, to: Place, quantity: int) -> None:
        moved = (self.event.pk, unit, lot.pk, start.pk, to.pk, quantity)
        add_all(Movement, MOVED, [moved])
        values = [start.pk, -quantity, quantity, lot.pk, start.pk, to.pk]
        if change(_CHANGE_HOLDINGS, values) == 2:
            return
        there = {place for (place,) in found(_WHERE_HELD, values[3:])}
        for place, by in ((start, -quantity), (to, quantity)):
            if place.pk not in there:
                add(Holding(place=place, lot=lot, quantity=by, outside=place.outside))


def outside(kind: str) -> Place:
    """Return the one place of this outside kind, made on first use."""
    known = _OUTSIDE.one(kind=kind, code=kind.upper())
    if known is not None:
        return known
    place, _ = Place.objects.get_or_create(
        kind=kind, code=kind.upper(), defaults={"name": PlaceKind(kind).label.capitalize()}
    )
    return place


def nameless(item: Item) -> Lot:
    """Return the item's nameless lot, made on first use."""
    known = _NAMELESS.one(item=item.pk)
    if known is not None:
        return known
    lot, _ = Lot.objects.get_or_create(item=item, key="", defaults={"number": ""})
    return lot


def batch(item: Item, number: str, key: str, expires_on: str | None = None) -> Lot:
    """Return the item's lot of this number, made on first use."""
    lot, _ = Lot.objects.get_or_create(
        item=item, key=key, defaults={"number": number, "expires_on": expires_on}
    )
    return lot


def _levels(place: Place) -> int:
    """How many levels a container and what stands in it take; 1 for one that holds no other."""
    levels, within = 1, list(Place.objects.filter(parent=place))
    while within and levels <= DEPTH:
        levels, within = levels + 1, list(Place.objects.filter(parent__in=within))
    return levels


def find_event(uid: uuid.UUID) -> Event | None:
    """Return the event of this id, if it ever came."""
    return Event.objects.filter(uid=uid).first()
