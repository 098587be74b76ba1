"""What the book would not have had and the hand did: it counts, the page says so, somebody looks.

Nothing here stops a person; that is for the gates. What is noted by `note_odd` is added to
the answer and opens a problem, if the scan moved something.
"""

from __future__ import annotations

from inventory.models import Finding, Item, Lot, Place, Unit
from inventory.moving import Writing
from inventory.odd import note_odd
from inventory.words import amount
from kitting import rechecking, standing_beside
from kitting.access import may_see
from kitting.models import Kit, Pin, Substitute
from kitting.progress import fold, places_of
from kitting.shelves import stock_in
from kitting.tallies import Total


def listed(writes: Writing, kit: Kit, item: Item, quantity: int = 1, where: str = "") -> bool:
    """Whether a line of the kit names the item; if none does, say so. where: "" or "in Bag 7"."""
    if kit.lines.filter(item=item).exists():
        return True
    rows = Substitute.objects.for_job(kit.job).filter(instead=item, item__kit_lines__kit=kit)
    row, what = rows.first(), " ".join(part for part in (item.name, where) if part)
    if row is None:
        note_odd(
            writes,
            f"{what} is not in {kit.code}. Put it back, or tell the office why it goes along.",
            Finding.Kind.SURPLUS,
            item=item,
            quantity=quantity,
        )
    else:
        note_odd(
            writes,
            f"{what} is not in {kit.code}: it may stand for {row.item.name}, "
            f"by {row.decided_by.name}.",
            Finding.Kind.SURPLUS,
            item=item,
            quantity=quantity,
        )
    return False


def total_of(kit: Kit, item: Item) -> Total:
    """How far a kit has come with an item, though no line may name it."""
    progress = fold(kit, item)
    found = {**progress.others, **progress.totals}.get(item.code)
    return found if found is not None else Total(item)


def cancelled(writes: Writing, kit: Kit) -> None:
    """Something is taken or loaded for a job that is cancelled."""
    if kit.job.cancelled_at is not None:
        note_odd(writes, f"{kit.job.code} is cancelled: nothing of it goes out. Put it back.")


def made_apart(writes: Writing, kit: Kit, unit: Unit) -> None:
    """A unit was made too long before or after those it would stand with in a stack."""
    if unit.made_on is None:
        return
    reason = standing_beside.case_of(kit, unit.item).made_apart(unit).rstrip(".")
    if reason:
        note_odd(writes, f"{unit}: {reason}. Take another one, if there is one.", unit=unit)


def pinned_elsewhere(writes: Writing, kit: Kit, unit: Unit) -> None:
    """A manager keeps the unit for another kit."""
    pin = Pin.objects.standing().filter(unit=unit).select_related("kit__job").first()
    if pin is not None and pin.kit_id != kit.pk:
        known = may_see(writes.person, pin.kit.job)
        whose = f"{pin.kit.code}: {pin.reason.rstrip('.')}" if known else "another job"
        note_odd(
            writes, f"{unit} is kept for {whose}. Take another one, if there is one.", unit=unit
        )


def expired(writes: Writing, kit: Kit, lot: Lot | None) -> None:
    """A batch expires before the day of the job."""
    if lot is not None and lot.expires_on is not None and lot.expires_on < kit.job.date:
        note_odd(
            writes,
            f"{lot} expires on {lot.expires_on}, before the job. "
            "Take another batch, if there is one.",
            item=lot.item,
        )


def expired_in(writes: Writing, kit: Kit, place: Place) -> None:
    """A parcel or bag holds a batch that expires before the day of the job."""
    for words in rechecking.expired(inside(kit, place), kit.job.date):
        note_odd(writes, f"{words}. It is in {place.name}: take it out.", place=place)


def left_over(writes: Writing, kit: Kit, item: Item) -> None:
    """A change of the kit no longer wants it: it goes back to the shelf, not on the van."""
    if not kit.changes.exists():
        return
    total = total_of(kit, item)
    over = total.left_over
    if over and total.at_depot - 1 < over:
        note_odd(
            writes,
            f"{kit.code} was changed: {amount(over, item)} too many. Put it back.",
            Finding.Kind.SURPLUS,
            item=item,
            quantity=over,
        )


def left_overs_in(writes: Writing, kit: Kit, place: Place, only: Item | None = None) -> None:
    """A parcel, bag or bay holds what a change of the kit no longer wants."""
    if not kit.changes.exists():
        return
    held = {holding.lot.item_id for holding in stock_in(inside(kit, place), only)}
    over = [t for t in fold(kit).to_put_back if t.at_depot and t.item.pk in held]
    told = ", ".join(amount(total.left_over, total.item) for total in over)
    if told:
        note_odd(
            writes,
            f"{kit.code} was changed: {told} too many in {place.name}. Put it back.",
            Finding.Kind.SURPLUS,
            place=place,
        )


def not_packed(writes: Writing, kit: Kit, bag: Place) -> None:
    """A bag made ahead is opened for a kit that it did not travel with."""
    note_odd(
        writes,
        f"{bag.name} is not in {kit.code}. Put it back, or tell the office why it goes along.",
        place=bag,
    )


def inside(kit: Kit, place: Place) -> list[Place]:
    """The places of the kit that stand in a place, and itself."""
    return [one for one in places_of(kit) if place.pk in {around.pk for around in one.way_up()}]
