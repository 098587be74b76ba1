"""Problems told on the spot: missing, damaged, one too many, the wrong one."""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Finding, Hold, Item, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.queries import stock_at
from kitting import access, gates, walking
from kitting.models import Kit
from kitting.progress import places_of

TELL = "Scan it, or choose it from the list"


def missing(writes: Writing) -> Verdict:
    """A bag, parcel, box, unit or quantity is not there: it leaves the kit for `unexplained`."""
    kit = gates.open_kit(writes)
    thing = writes.thing
    if thing.place is not None:
        gates.not_anothers(writes, thing.place, kit)
        return _missing_place(writes, kit, thing.place)
    if thing.unit is not None:
        return _missing_unit(writes, kit, thing.unit)
    if thing.item is not None:
        return _missing_quantity(writes, kit, thing.item)
    raise CannotMove(TELL)


def _missing_place(writes: Writing, kit: Kit, place: Place) -> Verdict:
    within = [p for p in places_of(kit) if place.pk in {around.pk for around in p.way_up()}]
    if place.kind == PlaceKind.BAY or not within:
        raise CannotMove(f"{place.name} is no parcel, bag or box of {kit.code}")
    known = Finding.objects.filter(
        kind=Finding.Kind.MISSING, place__in=within, answer=None, subject=kit.subject
    )
    if known.exists():
        return Verdict("noted", f"{place.name} was reported missing before.")
    lost = []
    for part in within:
        lost += [_lose_unit(writes, unit) for unit in part.units.select_related("item", "lot")]
        lost += _lose_stock(writes, part)
    if not lost:
        writes.finding(
            Finding.Kind.MISSING, f"{place.name} is missing; the book has it empty.", place=place
        )
    named = ", ".join(lost[:4]) + (f" and {len(lost) - 4} more" if len(lost) > 4 else "")
    return Verdict("problem", f"{place.name} is missing: {named or 'it was empty by the book'}.")


def _lose_unit(writes: Writing, unit: Unit) -> str:
    writes.unit(unit, outside(PlaceKind.UNEXPLAINED))
    writes.finding(Finding.Kind.MISSING, f"{unit} is missing.", unit=unit)
    return str(unit)


def _lose_stock(writes: Writing, place: Place) -> list[str]:
    """All that is held by number at a place leaves it; one finding for each item."""
    lost = []
    for item in Item.objects.filter(lots__holdings__in=place.holdings.filter(quantity__gt=0)):
        if item.tracking == Tracking.SERIAL or f"{item.pk}" in lost:
            continue
        quantity = _take_away(writes, item, place, None)
        if quantity:
            said = f"{quantity} {item.get_unit_display()} of {item.name}"
            words = f"{said} missing with {place.name}."
            writes.finding(Finding.Kind.MISSING, words, item=item, place=place, quantity=quantity)
            lost.append(said)
    return lost


def _take_away(writes: Writing, item: Item, place: Place, most: int | None) -> int:
    """Move up to `most` (None: all) of an item from a place to `unexplained`; return how much."""
    moved = 0
    for holding in stock_at(place, item):
        part = holding.quantity if most is None else min(holding.quantity, most - moved)
        if part > 0:
            writes.lot(holding.lot, place, outside(PlaceKind.UNEXPLAINED), part)
            moved += part
    return moved


def _missing_unit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    where = walking.where_stands(kit, unit.place)
    known = Finding.objects.filter(kind=Finding.Kind.MISSING, unit=unit, answer=None)
    if known.exists():
        return Verdict("noted", f"{unit} was reported missing before.")
    if where not in (Standing.PARCEL, Standing.SITE, Standing.VAN):
        raise CannotMove(f"{unit} is not with {kit.code} by the book")
    return Verdict("problem", f"{_lose_unit(writes, unit)} is missing.")


def _missing_quantity(writes: Writing, kit: Kit, item: Item) -> Verdict:
    """By number: what the kit's places hold leaves them; what was never packed is only told."""
    gates.needed(kit, item.pk)
    if item.tracking == Tracking.SERIAL:
        raise CannotMove(f"Choose which {item.name} is missing")
    places = [*places_of(kit), kit.job.site.place]
    packed = sum(h.quantity for place in places for h in stock_at(place, item))
    quantity = writes.line.quantity or packed or writes.thing.pack
    left = quantity
    for place in places:
        left -= _take_away(writes, item, place, left)
    said = f"{quantity} {item.get_unit_display()} of {item.name}"
    writes.finding(Finding.Kind.MISSING, f"{said} missing.", item=item, quantity=quantity)
    return Verdict("problem", f"{said} missing.")


def damaged(writes: Writing) -> Verdict:
    """A unit, box or quantity is damaged: set aside where it is; a photo is demanded."""
    kit = gates.open_kit(writes)
    thing = writes.thing
    if not writes.line.photo:
        raise CannotMove("Take a photo of the damage first")
    unit = thing.unit
    if thing.place is not None and thing.place.kind == PlaceKind.CARTON:
        unit = thing.place.units.select_related("item", "lot").order_by("pk").first()
    if unit is not None:
        return _damaged_unit(writes, kit, unit)
    if thing.item is None:
        raise CannotMove(TELL)
    gates.needed(kit, thing.item.pk)
    quantity = writes.line.quantity or thing.pack
    said = f"{quantity} {thing.item.get_unit_display()} of {thing.item.name}"
    writes.finding(Finding.Kind.DAMAGED, f"{said} damaged.", item=thing.item, quantity=quantity)
    return Verdict("problem", f"{said} damaged. Keep them apart and bring them back.")


def _damaged_unit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    subject = gates.claimed_by(unit.place, kit)
    if subject:
        raise CannotMove(gates.foreign(writes.person, subject))
    if Hold.objects.filter(unit=unit, release=None).exists():
        return Verdict("noted", f"{unit} is set aside already.")
    reason = writes.line.reason or "damaged"
    writes.set_aside(unit, reason)
    writes.finding(Finding.Kind.DAMAGED, f"{unit} is damaged: {reason}."[:300], unit=unit)
    return Verdict("problem", f"{unit} is set aside as damaged. Do not fit it; bring it back.")


def surplus(writes: Writing) -> Verdict:
    """More came than the book has: it is booked in at the site so that it can be brought back."""
    return _extra(writes, Finding.Kind.SURPLUS, "more than expected")


def wrong(writes: Writing) -> Verdict:
    """Something else came than was needed: booked in at the site, to be brought back."""
    return _extra(writes, Finding.Kind.WRONG, "not what is needed here")


def _extra(writes: Writing, kind: str, words: str) -> Verdict:
    kit = gates.open_kit(writes)
    thing, site = writes.thing, kit.job.site.place
    if thing.place is not None:
        gates.not_anothers(writes, thing.place, kit)
    if thing.unit is not None or thing.kind == "serial":
        return _extra_unit(writes, kit, walking.unit_of(writes), kind, words)
    if thing.item is not None and thing.item.tracking != Tracking.SERIAL:
        quantity = writes.line.quantity or thing.pack
        said = f"{quantity} {thing.item.get_unit_display()} of {thing.item.name}: {words}."
        writes.finding(kind, said, item=thing.item, quantity=quantity)
        lot = thing.lot or nameless(thing.item)
        writes.lot(lot, outside(PlaceKind.UNEXPLAINED), site, quantity)
        return Verdict("problem", f"{said} Bring it back.")
    writes.finding(kind, f"Code {writes.line.text[:60] or '(none)'}: {words}.")
    return Verdict("problem", "It is kept for the office to look at. Bring it back.")


def _extra_unit(writes: Writing, kit: Kit, unit: Unit, kind: str, words: str) -> Verdict:
    subject = gates.claimed_by(unit.place, kit)
    writes.finding(kind, f"{unit}: {words}.", unit=unit)
    if subject:
        return Verdict("problem", f"{gates.foreign(writes.person, subject)}.")
    where = walking.where_stands(kit, unit.place)
    if where in (Standing.STACK, Standing.OTHER_STACK, Standing.OTHER_SITE):
        return walking.dispute(writes, kit, unit)
    if where is not Standing.SITE:
        writes.unit(unit, kit.job.site.place)
    return Verdict("problem", f"{unit}: {words}. Bring it back.")


ANYBODY = frozenset(Role.values)
MISSING = Act("missing", ANYBODY, missing, allow=access.allow)
DAMAGED = Act("damaged", ANYBODY, damaged, allow=access.allow)
SURPLUS = Act("surplus", ANYBODY, surplus, allow=access.allow)
WRONG = Act("wrong", ANYBODY, wrong, allow=access.allow)
