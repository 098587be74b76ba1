"""Another kit as donor: what it has packed and this one lacks. A manager takes it, with a reason.

What is taken is gone from the donor at once: its list says that it has to be picked again, and its
readiness follows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import Event, Holding, Item, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing
from inventory.queries import place_of_code
from inventory.words import amount, measure
from kitting import access, gates, lengths, packed_pieces, picking, still_needed, walking
from kitting.access import kit_of_subject
from kitting.models import Kit
from kitting.progress import fold, places_of
from kitting.shelves import stock_in
from kitting.tallies import LineProgress

STEP = packed_pieces.OVER
PREFIX = "kit:"


@dataclass(frozen=True, slots=True)
class Donor:
    """A kit that has packed what another lacks."""

    kit: Kit
    item: Item
    there: int  # base units of it at the depot
    free: int  # of these what it can give and still do its job: spares, and what is left over
    places: tuple[Place, ...]  # where it lies
    units: tuple[Unit, ...]  # of things with a serial
    pieces: tuple[int, ...] = ()  # of a length: mm of each

    @property
    def leaves(self) -> datetime | None:
        """When its van leaves the depot."""
        return self.kit.job.leaves_at


@dataclass(frozen=True, slots=True)
class Given:
    """What another kit took from this one."""

    event: Event
    to: str  # code of the kit that took it
    sentence: str
    reason: str


def donors(kit: Kit, items: Iterable[Item]) -> dict[int, list[Donor]]:
    """Return item id -> other kits that have it packed at the depot, the latest to leave first."""
    wanted = {item.pk: item for item in items}
    held = Holding.objects.filter(lot__item__in=wanted, quantity__gt=0).filter(
        Q(place__subject__startswith=PREFIX) | Q(place__parent__subject__startswith=PREFIX)
    )
    lots: dict[tuple[str, int], int] = defaultdict(int)
    for holding in held.select_related("lot", "place__parent__parent__parent__parent"):
        subject = holding.place.subject or (holding.place.parent or holding.place).subject
        if _at_depot(holding.place) and subject != kit.subject:
            lots[subject, holding.lot.item_id] += holding.quantity
    kits = {other.subject: other for other in still_needed.open_kits()}
    found: dict[int, list[Donor]] = defaultdict(list)
    for (subject, item), quantity in lots.items():
        if subject in kits:
            found[item].append(_donor(kits[subject], wanted[item], quantity))
    for some in found.values():
        some.sort(key=lambda one: (one.kit.job.date, str(one.leaves or "")), reverse=True)
    return found


def _donor(kit: Kit, item: Item, quantity: int) -> Donor:
    progress = fold(kit, item)
    total = {**progress.totals, **progress.others}[item.code]
    free = max(total.picked - total.done - max(total.planned - total.in_boxes, 0), 0)
    free = total.left_over if total.uncut is not None else free  # a piece is given whole
    places = [place for place in places_of(kit, item) if _at_depot(place)]
    units = Unit.objects.filter(place__in=places, item=item).select_related("item", "place")
    cut = packed_pieces.of(kit, [item])[item.pk] if item.unit == "mm" else []
    pieces = tuple(piece.mm for piece in cut)
    return Donor(kit, item, quantity, min(free, quantity), tuple(places), tuple(units), pieces)


def _at_depot(place: Place) -> bool:
    return place.within(PlaceKind.VAN, PlaceKind.SITE) is None


def given(kit: Kit) -> list[Given]:
    """Return what other kits took from this one and still have, the latest first."""
    from_it = Q(movements__from_place__subject=kit.subject)
    from_it |= Q(movements__from_place__parent__subject=kit.subject)
    from_it |= Q(container_moves__from_parent__subject=kit.subject)
    events = Event.objects.filter(from_it, step=STEP, reversed_by=None).distinct()
    events = events.select_related("person").prefetch_related("outcomes").order_by("-number")
    return [
        Given(
            event,
            event.subject.removeprefix(PREFIX),
            str(list(event.outcomes.all())[-1].sentence),
            parse(event.line).reason,
        )
        for event in events
    ]


def take_over(writes: Writing) -> Verdict:
    """Take a unit, a box or a quantity that is packed for another kit. "from": where it lies."""
    kit = gates.open_kit(writes)
    gates.not_cancelled(kit)
    if not writes.line.reason.strip():
        raise CannotMove("Say why it is taken from that kit")
    thing = writes.thing
    if thing.place is not None and thing.place.kind == PlaceKind.CARTON:
        unit = thing.place.units.select_related("item", "lot").order_by("pk").first()
        if unit is None:
            raise CannotMove(f"The book has nothing in {thing.place.name}")
        return _unit(writes, kit, unit)
    if thing.unit is not None:
        return _unit(writes, kit, thing.unit)
    if thing.item is not None and thing.item.tracking != Tracking.SERIAL:
        return _quantity(writes, kit, thing.item)
    raise CannotMove(thing.question.rstrip(".") or "Scan the thing itself")


def _lender(writes: Writing, kit: Kit, place: Place | None, name: str) -> Kit:
    """The other kit that has it; it is open and stands at the depot."""
    subject = gates.claimed_by(place, kit)
    other = kit_of_subject(subject) if subject else None
    if other is None or place is None:
        raise CannotMove(f"{name} is packed for no other kit. Pick it from where it lies")
    if not _at_depot(place):
        raise CannotMove(f"{name} is on its way with {other.code}. Unload it first")
    return other


def _needs(kit: Kit, item: Item) -> int:
    """Base units that a kit may still take; never none."""
    gates.needed(kit, item.pk)
    needed = fold(kit, item).totals[item.code].to_pick
    if not needed:
        raise CannotMove(f"{kit.code} needs no more of {item.name}. Leave it where it is")
    return needed


def _unit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    other = _lender(writes, kit, unit.place, str(unit))
    _needs(kit, unit.item)
    picking.may_go_along(writes, kit, unit)
    box, to = walking.box_around(unit), picking.bay(kit)
    if box is not None:
        writes.container(box, to)
    else:
        writes.unit(unit, to)
    return _said(f"{unit}", kit, other, unit.item)


def _quantity(writes: Writing, kit: Kit, item: Item) -> Verdict:
    place = place_of_code(writes.line.start)
    if place is None:
        raise CannotMove(f"Say from which kit {item.name} is taken")
    other, needed = _lender(writes, kit, place, place.name), _needs(kit, item)
    stock = stock_in([p for p in places_of(other, item) if _at_depot(p)], item)
    for holding in stock:
        gates.not_set_aside(holding.lot, holding.place)
    usable = [h for h in stock if not (h.lot.expires_on and h.lot.expires_on < kit.job.date)]
    rows = [row for row in fold(kit, item).lines if row.line.item_id == item.pk]
    if lengths.is_cut(rows):
        return _pieces(writes, kit, other, rows, usable)
    there = sum(holding.quantity for holding in usable)
    quantity = min(needed, there) if writes.line.quantity is None else writes.line.quantity
    if quantity > min(needed, there) or not quantity:
        raise CannotMove(
            f"{item.name}: expected at most {min(needed, there)}, as {kit.code} needs {needed} "
            f"and {other.code} has {there}, got {quantity}"
        )
    (parts,) = picking.bags(kit, item, rows, [quantity])
    for to, part in parts:
        left = part
        for holding in usable:
            some = min(holding.quantity, left)
            if some:
                writes.lot(holding.lot, holding.place, to, some)
                holding.quantity -= some
                left -= some
    return _said(amount(quantity, item), kit, other, item)


def _pieces(
    writes: Writing, kit: Kit, other: Kit, rows: list[LineProgress], usable: Sequence[Holding]
) -> Verdict:
    """Take cable in the pieces that it was cut into; nobody cuts one in two, or adds two up."""
    item = rows[0].line.item
    wanted = [mm for row in rows for mm in lengths.pieces_left(row)]
    packed = packed_pieces.of(other, [item])[item.pk]
    asked = writes.line.quantity
    able = [
        p
        for p in packed
        if asked in (None, p.mm) and lengths.lying(usable, p.lot, p.mm) is not None
    ]
    taken = [able[at] for at in lengths.whole_ones(wanted, [piece.mm for piece in able])]
    if not taken:
        got = f", got {measure(asked, item.unit)}" if asked is not None else ""
        raise CannotMove(
            f"{item.name}: expected a piece of at least {measure(min(wanted), item.unit)}, "
            f"{other.code} has {_listed([p.mm for p in packed], item)}{got}"
        )
    moved = []
    places = picking.bags(kit, item, rows, [piece.mm for piece in taken])
    for piece, [(to, mm)] in zip(taken, places, strict=True):
        holding = lengths.lying(usable, piece.lot, piece.mm)
        if holding is not None:
            writes.lot(holding.lot, holding.place, to, mm)
            holding.quantity -= mm
            moved.append(mm)
    return _said(f"{item.name}, {_listed(moved, item)}", kit, other, item)


def _listed(pieces: Sequence[int], item: Item) -> str:
    return " and ".join(measure(mm, item.unit) for mm in pieces) or "none"


def _said(what: str, kit: Kit, other: Kit, item: Item) -> Verdict:
    total = fold(other, item).totals.get(item.code)
    lacks = f" {other.code} now lacks {amount(total.to_pick, item)}." if total else ""
    return Verdict("applied", f"{what}: from {other.code} to {kit.code}.{lacks}")


TAKE_OVER = Act(STEP, frozenset({Role.MANAGER}), take_over, allow=access.allow)
