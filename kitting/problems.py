"""Problems told on the spot: missing, damaged, one too many, the wrong one."""

from __future__ import annotations

from typing import Final

from inventory import carriage, claiming, claims, returns
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Finding, Hold, Item, Place, PlaceKind, ReturnKind, Role, Tracking, Unit
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.words import amount
from kitting import access, gates, walking
from kitting.models import Kit
from kitting.progress import places_of
from kitting.shelves import stock_in

TELL = "Scan it, or choose it from the list"
SIGNS: Final = (
    "cracked or broken",
    "bent or dented",
    "scratched",
    "wet or rusty",
    "swollen, leaking, warm or smelling",
    "a piece of it is gone",
)
"""What one sees of damage, each told by one touch of a glove. Common practice, no source."""


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
        units = part.units.select_related("item", "lot")
        lost += [_lose_unit(writes, unit) for unit in units.order_by("pk")]
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
    lost: dict[str, int] = {}
    items: dict[str, Item] = {}
    for holding in stock_in([place]):
        item = holding.lot.item
        items[item.code] = item
        lost[item.code] = lost.get(item.code, 0) + holding.quantity
        writes.lot(holding.lot, place, outside(PlaceKind.UNEXPLAINED), holding.quantity)
    for code, quantity in lost.items():
        words = f"{amount(quantity, items[code])} missing with {place.name}."
        writes.finding(
            Finding.Kind.MISSING, words, item=items[code], place=place, quantity=quantity
        )
    return [amount(quantity, items[code]) for code, quantity in lost.items()]


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
    stock = stock_in([*places_of(kit), kit.job.site.place], item, writes.thing.lot)
    packed = sum(holding.quantity for holding in stock)
    quantity = left = writes.line.quantity or packed or writes.thing.pack
    for holding in stock:
        part = min(holding.quantity, left)
        if part:
            writes.lot(holding.lot, holding.place, outside(PlaceKind.UNEXPLAINED), part)
            left -= part
    said = amount(quantity, item)
    writes.finding(Finding.Kind.MISSING, f"{said} missing.", item=item, quantity=quantity)
    return Verdict("problem", f"{said} missing.")


def damaged(writes: Writing) -> Verdict:
    """A unit, box or quantity is damaged: set aside where it is; photo and reason are demanded.

    Not of the desk, which writes down what a crew without signal tells it by telephone.
    """
    kit = gates.open_kit(writes)
    thing = writes.thing
    by_phone = writes.line.via == "told" and access.at_desk(writes.person)
    if not writes.line.photo and not by_phone:
        raise CannotMove("Take a photo of the damage first")
    if not _reason(writes) and not by_phone:
        raise CannotMove("Touch what one sees first")
    unit = thing.unit
    if thing.place is not None and thing.place.kind == PlaceKind.CARTON:
        unit = thing.place.units.select_related("item", "lot").order_by("pk").first()
    if unit is not None:
        return _damaged_unit(writes, kit, unit)
    if thing.item is None:
        raise CannotMove(TELL)
    gates.needed(kit, thing.item.pk)
    quantity = writes.line.quantity or thing.pack
    said = amount(quantity, thing.item)
    why = _reason(writes)
    words = f"{said} damaged{f': {why}' if why else ''}."[:300]
    writes.finding(Finding.Kind.DAMAGED, words, item=thing.item, quantity=quantity)
    it = "it" if quantity == 1 or thing.item.unit != "piece" else "them"
    return Verdict("problem", f"{said} told as damaged. Keep {it} apart and bring {it} back.")


def _damaged_unit(writes: Writing, kit: Kit, unit: Unit) -> Verdict:
    subject = gates.claimed_by(unit.place, kit)
    if subject:
        raise CannotMove(gates.foreign(writes.person, subject))
    if Hold.objects.filter(unit=unit, release=None).exists():
        return Verdict("noted", f"{unit} is set aside already.")
    reason = _reason(writes) or "damaged"
    writes.set_aside(unit, reason)
    writes.finding(Finding.Kind.DAMAGED, f"{unit} is damaged: {reason}."[:300], unit=unit)
    back = returns.open_return(writes, _kind(writes), unit=unit, hold=False)
    said = f"{unit} is set aside as {back.get_kind_display()}. Do not fit it"
    claimed = claiming.while_it_runs(writes, unit, back.kind, reason)
    if carriage.battery(unit.item):
        travels = f"{carriage.AT_ONCE} The office decides how it travels."
        return Verdict("problem", f"{said}. {travels}{claimed}")
    return Verdict("problem", f"{said}; bring it back.{claimed}")


def _reason(writes: Writing) -> str:
    """What is wrong with it as it was told; that it never worked is reason enough."""
    dead = "never worked" if writes.line.kind == ReturnKind.DEAD else ""
    return writes.line.reason.strip() or dead


def _kind(writes: Writing) -> str:
    """Damaged, unless it was told to be dead on arrival."""
    return ReturnKind.DEAD if writes.line.kind == ReturnKind.DEAD else ReturnKind.DAMAGED


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
        said = f"{amount(quantity, thing.item)}: {words}."
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
        return Verdict("dispute", f"{gates.foreign(writes.person, subject)}.")
    where = walking.where_stands(kit, unit.place)
    if where in (Standing.STACK, Standing.OTHER_STACK, Standing.OTHER_SITE):
        return walking.dispute(writes, kit, unit)
    if where is not Standing.SITE:
        writes.unit(unit, kit.job.site.place)
    return Verdict("problem", f"{unit}: {words}. Bring it back.")


ANYBODY = frozenset(Role.values)
MISSING = Act("missing", ANYBODY, missing, allow=access.allow)
DAMAGED = Act("damaged", ANYBODY, damaged, allow=access.allow, undo=claims.undone)
SURPLUS = Act("surplus", ANYBODY, surplus, allow=access.allow)
WRONG = Act("wrong", ANYBODY, wrong, allow=access.allow)
