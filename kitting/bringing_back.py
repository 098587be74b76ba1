"""Bringing back: what is not fitted or used goes to the van or to the depot's dock.

Nothing of it is stock again before somebody has looked at it, see inventory/returns.py.
"""

from __future__ import annotations

from collections import Counter

from inventory import carriage, returns
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Ruling, Standing, ruling
from inventory.models import (
    Finding,
    Hold,
    Holding,
    Item,
    Place,
    PlaceKind,
    ReturnKind,
    Role,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing
from inventory.two_claims import ended
from inventory.words import amount
from kitting import access, gates, packed_pieces, walking
from kitting.bag_picking import is_of
from kitting.models import Kit
from kitting.progress import places_of, taken_down
from kitting.shelves import stock_in


def bring_back(writes: Writing) -> Verdict:
    """Bring back a unit, bag, parcel, box or quantity; without a code, all that is left.

    The target is a van or a place of the depot; without one, the job's van.
    """
    kit = gates.open_kit(writes)
    thing, to = writes.thing, _target(writes, kit)
    if thing.place is not None:
        gates.not_claimed(writes, thing.place, kit)
        return _bring_package(writes, kit, thing.place, to)
    if thing.unit is not None or thing.kind == "serial":
        return _bring_unit(writes, kit, walking.unit_of(writes), to)
    if thing.item is not None:
        return _bring_quantity(writes, kit, thing.item, to)
    if thing.kind != "none":
        raise CannotMove(thing.question.rstrip(".") or "Scan what is brought back")
    places = [*places_of(kit), kit.job.site.place]
    stays = _undecided(places)
    brought = _empty(writes, kit, places, to)
    if not brought and stays:
        raise CannotMove(stays)
    if not brought:
        return Verdict("noted", "Nothing of it is left.")
    said = f"{brought} {'thing' if brought == 1 else 'things'} to {to.name}."
    return Verdict("problem", f"{said} {stays}.") if stays else Verdict("applied", said)


def _target(writes: Writing, kit: Kit) -> Place:
    if not writes.line.target:
        if kit.job.van is None:
            raise CannotMove("Say where it goes: scan the van or the dock")
        return kit.job.van
    place = Place.objects.filter(code=writes.line.target).first()
    if place is None or walking.where_stands(kit, place) not in (Standing.SHELF, Standing.VAN):
        raise CannotMove("Say where it goes: scan the van or the dock")
    return place


def _bring_package(writes: Writing, kit: Kit, place: Place, to: Place) -> Verdict:
    """A supplier's box or a bag made ahead goes as it is; the kit's own parcels are emptied."""
    if place.kind == PlaceKind.CARTON or is_of(kit, place):
        units = list(place.units.select_related("item", "lot"))
        carriage.may_go(*units)
        writes.container(place, to)
        for unit in units:
            returns.came(writes, kind_of(kit, unit), unit)
        return Verdict("applied", f"{place.name} brought to {to.name}.")
    if place.subject != kit.subject:
        raise CannotMove(f"{place.name} is a {place.get_kind_display()}. Scan what is brought back")
    inside = [p for p in places_of(kit) if place.pk in {around.pk for around in p.way_up()}]
    stays = _undecided(inside)
    brought = _empty(writes, kit, inside, to)
    said = f"{place.name}: {brought} things brought to {to.name}."
    return Verdict("problem", f"{said} {stays}.") if stays else Verdict("applied", said)


def _standing(places: list[Place]) -> list[Unit]:
    standing = Unit.objects.filter(place__in=places).select_related("item", "lot", "place")
    return list(standing.order_by("pk"))


def _undecided(places: list[Place]) -> str:
    """Say which batteries may not go on the road yet, "" for none."""
    return carriage.undecided_of(_standing(places))


def kind_of(kit: Kit, unit: Unit) -> str:
    """Why a unit comes back: recalled, or set aside for damage, else taken down or left over."""
    known = returns.open_of(unit)
    if known is not None:
        return known.kind
    if returns.recalled(unit):
        return ReturnKind.RECALLED
    if Hold.objects.filter(unit=unit, release=None).exists():
        return ReturnKind.DAMAGED
    return ReturnKind.DOWN if unit.pk in taken_down(kit) else ReturnKind.LEFT


def _empty(writes: Writing, kit: Kit, places: list[Place], to: Place) -> int:
    """Move all that stands in these places; return how many units and batches that were.

    A battery about whose carriage nobody has decided stays.
    """
    units = [unit for unit in _standing(places) if not carriage.undecided(unit)]
    for unit in units:
        writes.unit(unit, to)
        returns.came(writes, kind_of(kit, unit), unit)
    stock, damaged = stock_in(places), _told_damaged(kit)
    for holding, part in packed_pieces.at_hand(kit, stock):
        _lot_back(writes, holding, to, part, damaged)
    return len(units) + len(stock)


def _bring_unit(writes: Writing, kit: Kit, unit: Unit, to: Place) -> Verdict:
    where = walking.where_stands(kit, unit.place)
    if unit.place_id == to.pk or ruling("bring_back", where) is Ruling.LATE:
        return Verdict("noted", f"{unit} is back already.")
    if where is Standing.STACK:
        raise CannotMove(f"{unit} stands fitted. Take it down first")
    carriage.may_go(unit)
    return walking.walk(writes, kit, unit, lambda: _move(writes, kit, unit, to))


def _move(writes: Writing, kit: Kit, unit: Unit, to: Place) -> None:
    writes.unit(unit, to)
    returns.came(writes, kind_of(kit, unit), unit)


def _bring_quantity(writes: Writing, kit: Kit, item: Item, to: Place) -> Verdict:
    """Without a number, all that is left of the item."""
    if item.tracking == Tracking.SERIAL:
        raise CannotMove(f"{item.name} is followed by serial. Scan its serial")
    stock = stock_in([kit.job.site.place, *places_of(kit)], item, writes.thing.lot)
    there = sum(holding.quantity for holding in stock)
    quantity = left = min(writes.line.quantity or there, there)
    damaged = _told_damaged(kit)
    for holding, most in packed_pieces.at_hand(kit, stock):
        part = min(most, left)
        if part:
            _lot_back(writes, holding, to, part, damaged)
            left -= part
    if not quantity:
        return Verdict("noted", f"{item.name}: nothing of it is left by the book.")
    return Verdict("applied", f"{amount(quantity, item)} brought to {to.name}.")


def _told_damaged(kit: Kit) -> Counter[int]:
    """Return id of an item -> how much of it was told to be damaged and has not come back yet."""
    told = Finding.objects.filter(kind=Finding.Kind.DAMAGED, subject=kit.subject, unit=None)
    told = told.filter(event__reversed_by=None).exclude(event__step="undo")
    came = returns.standing().filter(kind=ReturnKind.DAMAGED, event__subject=kit.subject)
    found: Counter[int] = Counter()
    for item, quantity in told.exclude(item=None).values_list("item", "quantity"):
        found[item] += quantity
    for item, quantity in came.exclude(lot=None).values_list("lot__item", "quantity"):
        found[item] -= quantity
    return found


def _lot_back(writes: Writing, holding: Holding, to: Place, part: int, left: Counter[int]) -> None:
    """So much comes back, the damaged first. left: what of each item is told and to come."""
    item = holding.lot.item_id
    damaged = min(max(left[item], 0), part)
    left[item] -= damaged
    returns.lot_back(writes, holding.lot, holding.place, to, part, damaged)


BRING_BACK = Act(
    "bring_back", frozenset(Role.values), gates.decided(ended(bring_back)), allow=access.allow
)
