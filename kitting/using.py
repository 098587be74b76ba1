"""Used as planned: counted things at the site go to `used up`."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from inventory.intake import Act, Verdict
from inventory.models import Holding, Item, Place, PlaceKind, Role, Tracking
from inventory.moving import CannotMove, Writing, outside
from inventory.words import amount
from kitting import access, gates
from kitting.models import Kit
from kitting.progress import fold, places_of
from kitting.shelves import Spot, stock_in
from kitting.tallies import Progress, Total

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
    progress = fold(kit)
    # A bag is used with what is in it; all of the kit with what the standing lists cover.
    van = _with_the_crew(progress.totals.values()) if thing.place is None else {}
    used = _use_as_planned(writes, progress, places, van)
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
    total = fold(kit, item).totals.get(item.code)
    stock: list[Holding | Spot] = [*stock_in(places, item, writes.thing.lot)]
    stock += _with_the_crew([total] if total else [])[item.code]
    there = sum(holding.quantity for holding in stock)
    quantity = writes.line.quantity or min(_planned(total), max(there - _aside(total), 0))
    if quantity > there or not quantity:
        raise CannotMove(f"The book has {amount(there, item)} here")
    _use_up(writes, stock, quantity)
    return Verdict("applied", f"{amount(quantity, item)} used.")


def _with_the_crew(totals: Iterable[Total]) -> dict[str, list[Spot]]:
    """Item code -> what of it the kit takes from the crew's own bags and the van's own stock."""
    covered = [t for t in totals if t.on_van and t.item.tracking not in NOT_USED_UP]
    return defaultdict(list, {total.item.code: list(total.carried) for total in covered})


def _use_as_planned(
    writes: Writing, progress: Progress, places: list[Place], van: Mapping[str, list[Spot]]
) -> int:
    """Use each counted item up to its plan; return how many items that were."""
    stock: dict[str, list[Holding | Spot]] = defaultdict(list)
    for holding in stock_in(places):
        if holding.lot.item.tracking not in NOT_USED_UP:
            stock[holding.lot.item.code].append(holding)
    for code, spots in van.items():
        stock[code] += spots
    used = 0
    for code, holdings in stock.items():
        total = progress.totals.get(code)
        there = max(sum(holding.quantity for holding in holdings) - _aside(total), 0)
        # What hangs on an open question is used by its own scan: only then is the answer known.
        quantity = min(max(total.sure - total.used, 0) if total else 0, there)
        _use_up(writes, holdings, quantity)
        used += quantity > 0
    return used


def _aside(total: Total | None) -> int:
    """Base units that are damaged: they stay where they are until they are brought back."""
    return max(total.damaged - total.back, 0) if total else 0


def _planned(total: Total | None) -> int:
    """What the plan still lets be used of an item."""
    return max(total.planned - total.used, 0) if total else 0


def _use_up(writes: Writing, stock: Sequence[Holding | Spot], quantity: int) -> None:
    for holding in stock:
        part = min(holding.quantity, quantity)
        if part:
            writes.lot(holding.lot, holding.place, outside(PlaceKind.USED), part)
            quantity -= part


USE = Act("use", frozenset(Role.values), use, allow=access.allow)
