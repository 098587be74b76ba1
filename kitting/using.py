"""Used as planned: counted things at the site go to `used up`."""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.models import Item, Place, PlaceKind, Role, Tracking
from inventory.moving import CannotMove, Writing, outside
from inventory.queries import stock_at
from kitting import access, gates
from kitting.models import Kit
from kitting.progress import Progress, fold, places_of

NOT_USED_UP = (Tracking.SERIAL, Tracking.TOOL)


def use(writes: Writing) -> Verdict:
    """Use up one item, what a bag holds, or (without a code) everything as planned."""
    kit = gates.open_kit(writes)
    thing = writes.thing
    places = at_site(kit)
    if thing.place is not None:
        gates.not_anothers(writes, thing.place, kit)
        places = [place for place in places if thing.place.pk in {p.pk for p in place.way_up()}]
        if thing.place.subject != kit.subject or not places:
            raise CannotMove(f"{thing.place.name} is no bag of {kit.code} at the site")
    elif thing.item is not None and thing.unit is None:
        return _use_item(writes, kit, thing.item, places)
    elif thing.kind != "none":
        raise CannotMove(thing.question.rstrip(".") or "Scan a bag or a code of small parts")
    used = _use_as_planned(writes, fold(kit), places)
    if not used:
        return Verdict("noted", "Nothing is left to be used up.")
    return Verdict("applied", f"Used as planned: {used} {'item' if used == 1 else 'items'}.")


def at_site(kit: Kit) -> list[Place]:
    """Return the places of a kit that are with the crew: loose at the site, its bags, the van."""
    site = kit.job.site.place
    out = [p for p in places_of(kit) if p.within(PlaceKind.SITE, PlaceKind.VAN) is not None]
    return [site, *out]


def _use_item(writes: Writing, kit: Kit, item: Item, places: list[Place]) -> Verdict:
    """Without a number, as much as is planned and not used yet."""
    if item.tracking in NOT_USED_UP:
        raise CannotMove(f"{item.name} is not used up. Fit it or bring it back")
    planned = _planned(fold(kit), item)
    there = sum(h.quantity for place in places for h in stock_at(place, item))
    quantity = writes.line.quantity or min(planned, there)
    if quantity > there or not quantity:
        raise CannotMove(f"The book has {there} {item.get_unit_display()} of {item.name} here")
    _use_up(writes, item, places, quantity)
    return Verdict("applied", f"{quantity} {item.get_unit_display()} of {item.name} used.")


def _use_as_planned(writes: Writing, progress: Progress, places: list[Place]) -> int:
    """Use each counted item up to its plan; return how many items that were."""
    used = 0
    for total in progress.totals.values():
        if total.item.tracking in NOT_USED_UP:
            continue
        there = sum(h.quantity for place in places for h in stock_at(place, total.item))
        quantity = min(_planned(progress, total.item), there)
        if quantity > 0:
            _use_up(writes, total.item, places, quantity)
            used += 1
    return used


def _planned(progress: Progress, item: Item) -> int:
    """What the plan still lets be used of an item; damaged ones are brought back, not used."""
    total = progress.totals.get(item.code)
    return max(total.needed - total.used, 0) if total else 0


def _use_up(writes: Writing, item: Item, places: list[Place], quantity: int) -> None:
    for place in places:
        for holding in stock_at(place, item):
            part = min(holding.quantity, quantity)
            if part:
                writes.lot(holding.lot, place, outside(PlaceKind.USED), part)
                quantity -= part


USE = Act("use", frozenset(Role.values), use, allow=access.allow)
