"""Loading: parcels, boxes and long things onto the job's van, one scan each."""

from __future__ import annotations

from inventory import carriage
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Item, Lot, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing
from inventory.odd import note_odd
from inventory.queries import stock_at
from inventory.words import amount
from kitting import (
    access,
    gates,
    hand_wins,
    marks,
    packing,
    rechecking,
    travelling,
    vans_out,
    walking,
    whereto,
)
from kitting.bag_picking import is_of
from kitting.has_come import noticed
from kitting.leading import heard
from kitting.models import Kit, Package
from kitting.picking import bay, take
from kitting.shelves import is_own_bag, with_the_crew


def load(writes: Writing) -> Verdict:
    """Put a parcel, bag, box, unit or quantity of the kit on its van."""
    kit = gates.open_kit(writes)
    van = _goes_with(writes, kit)
    hand_wins.cancelled(writes, kit)
    gates.all_signed(kit)
    waiting = walking.waits(writes)
    if waiting is not None:
        return waiting
    thing = writes.thing
    if thing.place is not None and thing.place.kind != PlaceKind.CARTON:
        return _load_package(writes, kit, thing.place, van)
    if thing.place is not None:
        unit = thing.place.units.select_related("item", "lot").order_by("pk").first()
        if unit is None:
            raise CannotMove(f"The book has nothing in {thing.place.name}. Scan what is in it")
        gates.not_claimed(writes, thing.place, kit)
        return _load_unit(writes, kit, unit, van)
    if thing.unit is not None:
        return _load_unit(writes, kit, thing.unit, van)
    if thing.item is not None:
        return _load_quantity(writes, kit, thing.item, thing.lot, van)
    raise CannotMove(thing.question.rstrip(".") or "Scan a parcel, box or thing of this kit")


def _goes_with(writes: Writing, kit: Kit) -> Place:
    """The van it goes with: the one scanned as the target, else the parcel's own, else the job's.

    Another one than the kit's, or one that is out of service, is told: the hand wins.
    """
    vans, target = travelling.vans_of(kit), writes.line.target
    own = whereto.own_van(kit, writes.thing.place) if len(vans) > 1 else kit.job.van
    van = Place.objects.filter(kind=PlaceKind.VAN, code=target).first() if target else own
    if van is None:
        raise CannotMove("Scan the van it is loaded on")
    if van not in vans:
        names = " and ".join(one.name for one in vans) or "no van yet"
        note_odd(writes, f"{kit.code} leaves with {names}. {van.name} has it now.", place=van)
    out = vans_out.standing(van, kit.job.date)
    if out is not None:
        note_odd(writes, f"{van.name} is out of service: {out.reason}.", place=van)
    return van


def on_van(kit: Kit, van: Place) -> Place:
    """Return the kit's own place on a van, for what travels in no parcel; made if it has none."""
    loads = Package.objects.filter(kit=kit, kind=Package.Kind.LOAD, place__parent=van)
    loads = loads.select_related("place__parent__parent")
    found = loads.first()
    if found is None:
        packing.goes_with(kit, van, besides=True)
        found = loads.get()
    return found.place


def _load_package(writes: Writing, kit: Kit, place: Place, van: Place) -> Verdict:
    gates.not_set_aside(place)
    gates.not_claimed(writes, place, kit)
    if place.subject != kit.subject and not is_of(kit, place):
        raise CannotMove(f"{place.name} is a {place.get_kind_display()}. Scan what is loaded")
    if place.kind == PlaceKind.BAY:
        raise CannotMove("Scan the boxes that stand in the bay, one by one")
    now = place.within(PlaceKind.VAN)
    if now is not None and now.pk == van.pk:
        return Verdict("noted", f"{place.name} is on the van already.")
    if place.within(PlaceKind.SITE) is not None:
        marks.fill(writes, "load", place=place)
        return Verdict("noted", f"{place.name} is at the site already; this scan is kept.")
    hand_wins.left_overs_in(writes, kit, place)
    hand_wins.expired_in(writes, kit, place)
    gates.nothing_set_aside_in(place)
    rechecking.may_go(kit, place)
    writes.container(place, on_van(kit, van) if place.kind == PlaceKind.BAG else van)
    over = f", over from {now.name}" if now is not None else ""
    return Verdict("applied", f"{place.name} loaded on {van.name}{over}.")


def _load_unit(writes: Writing, kit: Kit, unit: Unit, van: Place) -> Verdict:
    dispute = walking.claimed(writes, kit, unit)
    if dispute is not None:
        return dispute
    gates.not_set_aside(unit)
    carriage.may_go(unit)
    gates.no_barred_mix(kit, unit)
    hand_wins.listed(writes, kit, unit.item)
    hand_wins.left_over(writes, kit, unit.item)
    where = walking.where_stands(kit, unit.place)
    if where is Standing.PARCEL and unit.place is not None:
        onward = unit.place.within(PlaceKind.VAN, PlaceKind.SITE)
        if onward is not None and (onward.kind == PlaceKind.SITE or onward.pk == van.pk):
            return walking.late(writes, unit)
    gates.not_overdue(writes, unit)
    box, to = walking.box_around(unit), on_van(kit, van)

    def move() -> None:
        if box is not None:
            writes.container(box, to)
        else:
            writes.unit(unit, to)

    return walking.walk(writes, kit, unit, move, thing=box)


def _load_quantity(writes: Writing, kit: Kit, item: Item, lot: Lot | None, van: Place) -> Verdict:
    """Load what stands loose in the bay, else on another van: all of it unless a number is said."""
    if item.tracking == Tracking.SERIAL:
        raise CannotMove(f"{item.name} is followed by serial. Scan the serial code")
    gates.not_set_aside(lot)
    if gates.same_look(writes):
        return Verdict("noted", f"{item.name}: the same look at the code, counted once.")
    to = on_van(kit, van)
    start = _loose(kit, item, to)
    hand_wins.left_overs_in(writes, kit, start, item)
    gates.no_batch_set_aside(item, lot, start)
    there = sum(holding.quantity for holding in stock_at(start, item))
    quantity = writes.line.quantity or there
    if not quantity:
        if stock_at(to, item):
            return Verdict("noted", f"{item.name} is on the van already.")
        along = with_the_crew(kit, [item.pk])[item.pk]
        if along and is_own_bag(along[0].place):
            return Verdict("noted", f"{item.name} is in {along[0].place.name} already.")
        if along:
            return Verdict("noted", f"{item.name}: the van has it, loose.")
        # Nobody picked it, and it is in somebody's hand: what the kit still lacks of it.
        quantity = hand_wins.total_of(kit, item).to_pick or writes.thing.pack
    hand_wins.listed(writes, kit, item, quantity)
    book = min(quantity, there)
    if book:
        take(writes, item, lot, start, to, book)
    beyond = quantity - book
    if not beyond:
        return Verdict("applied", f"{amount(quantity, item)} loaded.")
    take(writes, item, lot, None, to, beyond)
    marked = marks.skip(writes, ("pick",), item=item, quantity=beyond)
    return Verdict("problem", f"{amount(quantity, item)} loaded. {marked}")


def _loose(kit: Kit, item: Item, to: Place) -> Place:
    """Where the kit has some of an item loose: the bay, or its place on a van it left."""
    others = Package.objects.filter(kit=kit, kind=Package.Kind.LOAD).exclude(place=to)
    left = [row.place for row in others.select_related("place") if stock_at(row.place, item)]
    start = bay(kit)
    return left[0] if left and not stock_at(start, item) else start


LOAD = Act("load", frozenset(Role.values), noticed(gates.decided(heard(load))), allow=access.allow)
