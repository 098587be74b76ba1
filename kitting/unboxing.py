"""Unboxing at the site: each thing seen itself, not its box."""

from __future__ import annotations

from collections import Counter

from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import (
    Finding,
    Holding,
    Item,
    Lot,
    Movement,
    Place,
    PlaceKind,
    Role,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.words import amount
from kitting import access, bag_picking, bags, gates, hand_wins, marks, missing, walking
from kitting.has_come import noticed
from kitting.models import Kit
from kitting.picking import take
from kitting.progress import places_of
from kitting.shelves import is_own_bag, stock_in, with_the_crew


def unbox(writes: Writing) -> Verdict:
    """See a unit by its own label, a bag or parcel by its label, a quantity by its code."""
    kit = gates.open_kit(writes)
    waiting = walking.waits(writes)
    if waiting is not None:
        return waiting
    thing = writes.thing
    if thing.kind == "box":
        raise CannotMove(gates.BOX_LABEL)
    if thing.place is not None:
        return _unbox_package(writes, kit, thing.place)
    if thing.unit is not None:
        return unbox_unit(writes, kit, thing.unit)
    if thing.item is not None:
        return _unbox_quantity(writes, kit, thing.item, thing.lot)
    raise CannotMove(thing.question.rstrip(".") or "Scan a thing or bag of this kit")


def _unbox_package(writes: Writing, kit: Kit, place: Place) -> Verdict:
    gates.not_claimed(writes, place, kit)
    if place.kind == PlaceKind.CARTON:
        raise CannotMove(gates.BOX_LABEL)
    if bags.is_ours(place):
        return _unpack(writes, kit, place)
    if place.subject != kit.subject or place.kind == PlaceKind.BAY:
        raise CannotMove(f"{place.name} is a {place.get_kind_display()}. Scan the thing itself")
    gates.not_set_aside(place)
    site = kit.job.site.place
    back = _bag_found(writes, place)
    if place.kind == PlaceKind.BAG:
        gates.nothing_set_aside_in(place)
    if place.parent_id == site.pk:
        return Verdict("applied" if back else "noted", back or f"{place.name} was seen before.")
    skipped = () if place.within(PlaceKind.VAN, PlaceKind.SITE) else ("load",)
    writes.container(place, site)
    marked = marks.skip(writes, skipped, place=place)
    done = f"{place.name}: seen at the site."
    sentence = " ".join(part for part in (done, back, marked) if part)
    return Verdict("problem" if marked else "applied", sentence)


def _unpack(writes: Writing, kit: Kit, bag: Place) -> Verdict:
    gates.not_set_aside(bag)
    gates.nothing_set_aside_in(bag)
    back = _bag_found(writes, bag)
    skipped = () if bag.within(PlaceKind.VAN, PlaceKind.SITE) else ("load",)
    done = bag_picking.unpack(writes, kit, bag)
    if not done:
        return Verdict("noted", f"{bag.name} was seen before; nothing is in it.")
    marked = marks.skip(writes, skipped, place=bag)
    sentence = " ".join(part for part in (done, back, marked) if part)
    return Verdict("problem" if marked else "applied", sentence)


def _bag_found(writes: Writing, bag: Place) -> str:
    """A bag that was reported missing turns up: what left it as missing goes back into it."""
    found = Finding.objects.filter(kind="missing", place=bag, answer=None).order_by("pk")
    events = {finding.event_id for finding in found}
    lost = Movement.objects.filter(event__in=events, from_place=bag).order_by("pk")
    for move in lost.select_related("lot"):
        writes.lot(move.lot, move.to_place, bag, move.quantity)
    for finding in found:
        writes.answer(finding, f"{bag.name} was found.")
    return f"{bag.name} was missing and is found." if events else ""


def unbox_unit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    """See one unit; one from the van's own stock stands in for a damaged or missing one."""
    dispute = walking.claimed(writes, kit, unit)
    if dispute is not None:
        return dispute
    gates.not_set_aside(unit)
    gates.no_barred_mix(kit, unit)
    hand_wins.listed(writes, kit, unit.item)
    from_van = walking.where_stands(kit, unit.place) is Standing.VAN
    verdict = walking.walk(writes, kit, unit, lambda: _to_site(writes, kit, unit))
    if verdict.word in ("applied", "problem", "noted"):
        writes.seen(unit)
    if not from_van or verdict.word not in ("applied", "problem"):
        return verdict
    replaced = _stand_in(writes, unit.item, f"Replaced by {unit.serial} from the van.")
    return Verdict(verdict.word, f"{verdict.sentence}{replaced}")


def _to_site(writes: Writing, kit: Kit, unit: Unit) -> None:
    writes.unit(unit, kit.job.site.place)


def _stand_in(writes: Writing, item: Item, words: str) -> str:
    open_ones = Finding.objects.filter(
        kind__in=(Finding.Kind.DAMAGED, Finding.Kind.MISSING),
        subject=writes.line.subject,
        item=item,
        answer=None,
    )
    # A missing bag stays missing until its place is searched; only single things are replaced.
    replaced = open_ones.filter(place=None).order_by("pk").first()
    if replaced is None:
        return ""
    writes.answer(replaced, words)
    return " It stands in for the one that was reported."


def _unbox_quantity(writes: Writing, kit: Kit, item: Item, lot: Lot | None) -> Verdict:
    """Confirm a quantity; without a number, all that the kit's parcels hold of it."""
    if item.tracking == Tracking.SERIAL:
        raise CannotMove(f"{item.name} is followed by serial. Scan the label on the thing itself")
    gates.not_set_aside(lot)
    if gates.same_look(writes):
        return Verdict("noted", f"{item.name}: the same look at the code, counted once.")
    site, total = kit.job.site.place, hand_wins.total_of(kit, item)
    packed, boxed = _packed(kit, item, lot), max(total.in_boxes - total.out_of_boxes, 0)
    for place in {holding.place for holding in packed}:
        gates.no_batch_set_aside(item, lot, place)
    in_parcels = sum(holding.quantity for holding in packed)
    lost = missing.told(writes, item)
    told = sum(finding.quantity for finding in lost)
    quantity = writes.line.quantity or in_parcels or boxed or _on_van(kit, item) or told
    if not kit.lines.filter(item=item).exists():
        quantity = quantity or writes.thing.pack
        hand_wins.listed(writes, kit, item, quantity)
    if not quantity:
        return Verdict("noted", f"{item.name}: nothing of it is left in the parcels.")
    left = quantity - _from_parcels(writes, packed, site, quantity)
    left -= _from_boxes(writes, item, site, min(left, boxed))
    taken = _from_the_crew(writes, kit, item, left)
    left -= sum(taken.values())
    again = _found_again(writes, item, lost, min(left, told), site)
    left -= again
    words = ", ".join(f"{number} taken from {name}" for name, number in taken.items())
    replaced = _stand_in(writes, item, f"{words}.") if taken else ""
    back = f" Of what was missing is found: {amount(again, item)}." if again else ""
    done = f"{amount(quantity, item)}: seen at the site.{replaced}{back}"
    if not left:
        return Verdict("problem" if again else "applied", done)
    take(writes, item, lot, None, site, left)
    marked = marks.skip(writes, ("pick",), item=item, quantity=left)
    return Verdict("problem", f"{done} {marked}")


def _found_again(
    writes: Writing, item: Item, lost: list[Finding], quantity: int, site: Place
) -> int:
    """So much of what was missing is there; what is not stays missing. Returns the quantity."""
    for finding, part in missing.settle(writes, item, lost, quantity, "of it was found"):
        _come_back(writes, finding, item, part, site)
    return quantity


def _come_back(writes: Writing, finding: Finding, item: Item, quantity: int, site: Place) -> None:
    """The batches that went missing come back; what was never packed is of no batch we know."""
    left = quantity
    gone = Movement.objects.filter(event=finding.event, unit=None, lot__item=item)
    for move in gone.select_related("lot", "to_place").order_by("pk"):
        part = min(left, move.quantity)
        if part and move.to_place.kind == PlaceKind.UNEXPLAINED:
            writes.lot(move.lot, move.to_place, site, part)
            left -= part
    if left:
        take(writes, item, None, None, site, left)


def _from_parcels(writes: Writing, packed: list[Holding], site: Place, most: int) -> int:
    """Take up to `most` out of the kit's parcels; return how much that was."""
    left = most
    for holding in packed:
        part = min(left, holding.quantity)
        if part:
            writes.lot(holding.lot, holding.place, site, part)
            left -= part
    return most - left


def _from_the_crew(writes: Writing, kit: Kit, item: Item, most: int) -> dict[str, int]:
    """Take up to `most` from what crew and van always carry; return how much that was of which."""
    left, taken = most, Counter[str]()
    for spot in with_the_crew(kit, [item.pk])[item.pk]:
        part = min(left, spot.quantity)
        if part:
            writes.lot(spot.lot, spot.place, kit.job.site.place, part)
            taken[spot.place.name if is_own_bag(spot.place) else "the van"] += part
            left -= part
    return taken


def _packed(kit: Kit, item: Item, lot: Lot | None) -> list[Holding]:
    """What the kit's places hold of an item and nobody has confirmed at the site yet."""
    site = kit.job.site.place
    return stock_in([place for place in places_of(kit) if not _opened(place, site)], item, lot)


def _opened(place: Place, site: Place) -> bool:
    return place.kind == PlaceKind.BAG and place.parent_id == site.pk


def _on_van(kit: Kit, item: Item) -> int:
    spots = with_the_crew(kit, [item.pk])[item.pk]
    needed = sum(kit.lines.filter(item=item).values_list("quantity", flat=True))
    return min(sum(spot.quantity for spot in spots), needed)


def _from_boxes(writes: Writing, item: Item, site: Place, quantity: int) -> int:
    """It came in the box of another thing, straight from the supplier."""
    if not quantity:
        return 0
    writes.lot(nameless(item), outside(PlaceKind.SUPPLIER), site, quantity)
    return quantity


UNBOX = Act("unbox", frozenset(Role.values), noticed(gates.decided(unbox)), allow=access.allow)
