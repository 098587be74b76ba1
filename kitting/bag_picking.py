"""A bag made ahead on its way: one scan takes it for a kit, one scan at the site unpacks it."""

from __future__ import annotations

from inventory.intake import Verdict
from inventory.ledger.steps import Standing
from inventory.models import Finding, Holding, Place, PlaceKind
from inventory.moving import CannotMove, Writing
from inventory.words import amount
from kitting import bags, gates, hand_wins
from kitting.models import Kit
from kitting.progress import places_of
from kitting.shelves import stock_in
from kitting.tallies import Total


def pick(writes: Writing, kit: Kit, bag: Place, to: Place, where: Standing) -> Verdict:
    """Take a bag whole into the kit's parcel or bay; it fills every line that needs what it holds.

    to: where it goes, a bag of the kit stands for the parcel it is in. where: it stands now.
    """
    if any(place.subject == kit.subject for place in bag.way_up()):
        return Verdict("noted", f"{bag.name} is packed for {kit.code} already.")
    gates.not_claimed(writes, bag, kit)
    gates.not_set_aside(bag)
    held = stock_in([bag])
    if not held:
        raise CannotMove(f"{bag.name} is empty by the book. Scan what is in it")
    for holding in held:
        gates.not_set_aside(holding.lot)
        hand_wins.expired(writes, kit, holding.lot)
    before = {holding.lot.item_id: _total(kit, holding) for holding in held}
    writes.container(bag, to.parent if to.kind == PlaceKind.BAG and to.parent else to)
    done = f"{bag.name}: picked, {_said(held)}."
    found = []
    if where not in (Standing.SHELF, Standing.VAN):
        found.append(f"The book had {bag.name} elsewhere.")
        writes.finding(Finding.Kind.SURPLUS, found[0], place=bag)
    for item, quantity in bags.held_in(tuple(held)).items():
        total = before[item]
        if not hand_wins.listed(writes, kit, total.item, quantity, f"in {bag.name}"):
            continue
        over = min(quantity - total.to_pick - total.damaged - total.missing, quantity)
        if over > 0:
            found.append(f"{amount(over, total.item)} more than this kit needs.")
            writes.finding(Finding.Kind.SURPLUS, found[-1], item=total.item, quantity=over)
    return Verdict("problem" if found else "applied", " ".join([done, *found]))


def _total(kit: Kit, holding: Holding) -> Total:
    return hand_wins.total_of(kit, holding.lot.item)


def unpack(writes: Writing, kit: Kit, bag: Place) -> str:
    """See a bag at the site: what it holds lies loose there. Returns what to say, "" if empty."""
    if not is_of(kit, bag):
        hand_wins.not_packed(writes, kit, bag)
    site, held = kit.job.site.place, stock_in([bag])
    for holding in held:
        writes.lot(holding.lot, bag, site, holding.quantity)
    return f"{bag.name}: seen at the site, {_said(held)}." if held else ""


def is_of(kit: Kit, bag: Place) -> bool:
    """Whether a bag made ahead travels with the kit."""
    return bags.is_ours(bag) and bag.pk in {place.pk for place in places_of(kit)}


def _said(held: list[Holding]) -> str:
    return ", ".join(amount(holding.quantity, holding.lot.item) for holding in held)
